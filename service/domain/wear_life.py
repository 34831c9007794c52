"""The life of one wearing dimension of one part: its readings on its own kilometres or days, filtered, up to now."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, time, timedelta
from math import hypot, inf, sqrt
from typing import Literal

from service.domain.ahead import DAYS_A_UNIT, METRES_A_UNIT, Ahead
from service.domain.bicycle import WearMeasurement
from service.domain.condition import Answer, judge
from service.domain.desk import Desk
from service.domain.ends import end_in
from service.domain.history import Subject
from service.domain.limit import Governing, Reading, new_reading, reading_of, sign
from service.domain.odometer import Weighing
from service.domain.procedure import Rate, Wear
from service.domain.used import mix_of
from service.domain.wear import Prior, Worn, running_in

DOUBT_SD = 4.0
"""A reading further than this from what was expected is doubted until another one agrees with it."""
IMPROVES_SD = 1.5
"""A reading better than the one before by more than this, of both their errors, is a question, not a slope."""
AGREES_SD = 2.0
"""Two doubted readings that are no further apart than this outweigh what was expected."""
Doubt = Literal["improves", "unexpected"]


@dataclass(frozen=True, slots=True)
class Seen:
    """A reading where it stands on the part's own distance: units are a thousand km, or thirty days.

    `part_metres` is what the part had run by then, `expected` what the filter expected, in the sense that wear grows;
    None for the first of a part whose past is not known.
    """

    measurement: WearMeasurement
    reading: Reading
    distance: float
    part_metres: int
    expected: float | None = None
    doubt: Doubt | None = None


@dataclass(frozen=True, slots=True)
class Life:
    """What is known of a dimension now: the filter's state, the readings with their doubts, and why there is no more.

    `known_past`: it counts from new, or from a known distance. `worn` is None where nothing can be said of it.
    `run_metres`: what the part has run by now.
    """

    wear: Wear
    prior: Prior | None
    rate: Rate | None
    limit: Governing | None
    seen: tuple[Seen, ...]
    worn: Worn | None
    ahead: Ahead | None
    known_past: bool
    now: datetime
    run_metres: int
    refused: str | None = None

    @property
    def trusted(self) -> Seen | None:
        """The last reading that is not doubted."""
        return next((each for each in reversed(self.seen) if each.doubt is None), None)

    @property
    def chance(self) -> float | None:
        """How likely it is past the limit by now; None where that cannot be said."""
        if self.ahead is None or self.ahead.worn is None:
            return None
        return self.ahead.worn.chance_past(self.ahead.limit)

    @property
    def prior_share(self) -> float | None:
        """How much of the rate is still common practice, 1 to 0: what is left of its variance."""
        if self.prior is None or self.worn is None or self.prior.rate_sd == 0:
            return None
        return self.worn.rate_var / (self.prior.rate_sd * self.prior.rate_sd)


@dataclass(frozen=True, slots=True)
class _Clock:
    """How far a part has come between two instants, in units of its rate."""

    subject: Subject
    desk: Desk
    weighing: Weighing
    by_days: bool

    def units(self, from_at: datetime, to_at: datetime) -> float:
        if self.by_days:
            return (to_at - from_at) / timedelta(days=DAYS_A_UNIT)
        ridden = self.desk.history.ridden
        return ridden.equivalent_metres(self.subject.part_id, from_at, to_at, self.weighing) / METRES_A_UNIT


@dataclass(frozen=True, slots=True)
class _Start:
    """Since when a dimension counts; `before`: units run before that. Not `known`: from its first reading on.

    `renewed`: what was read before then was another filling's. `exact`: it was new on that very day, as marked on it.
    """

    at: datetime
    before: float
    known: bool
    renewed: bool = False
    exact: bool = False

    def counts(self, reading: WearMeasurement, now: datetime) -> bool:
        """Does a reading belong to what is worn now?"""
        return reading.at <= now and not (self.renewed and reading.at < self.at)


def life_of(
    subject: Subject, wear: Wear, readings: Sequence[WearMeasurement], limit: Governing | None, desk: Desk
) -> Life:
    """The life of a dimension of a fitted part; `readings` are its own at one place, oldest first."""
    rate, why = _rate(subject, wear)
    by_days = rate is not None and rate.per_1000_km is None
    clock = _Clock(subject, desk, _weighing(subject, wear, desk), by_days)
    start = _start(subject, wear, desk, by_days)
    seen = tuple(_placed(wear, each, start, clock) for each in readings if start.counts(each, desk.history.now))
    prior = _prior(wear, subject, rate, limit)
    now = desk.history.now
    run = desk.history.ridden.of_part(subject.part_id, now).metres if subject.part_id is not None else 0
    bare = Life(wear, prior, rate, limit, seen, None, None, start.known, now, run)
    if wear.scale != "amount":
        return replace(bare, refused="What is felt or passed has no rate: it is looked at again, with no date.")
    if rate is None or prior is None or limit is None:
        return replace(bare, refused=why or _why_no_prior(limit))
    if not seen and (not start.known or prior.new == -inf):
        return replace(bare, refused="Never read, and its former life is not known: measure once, then it counts.")
    return _filtered(bare, prior, clock, start)


def _why_no_prior(limit: Governing | None) -> str:
    if limit is None:
        return "No limit is known: there is nothing to count to."
    return "Its limit is no further than new, or no rate is known: it is looked at, with no date."


def _rate(subject: Subject, wear: Wear) -> tuple[Rate | None, str]:
    """The first rate that holds at this end, else one that may hold; or why there is none."""
    end = end_in(subject.placed.place) if subject.placed else None
    here = [each for each in wear.rates if each.end is None or end is None or each.end == end]
    judged = [(each, judge(each.when, subject.here).answer if each.when else Answer.YES) for each in here]
    for wanted in (Answer.YES, Answer.UNKNOWN):
        for each, answer in judged:
            if answer is wanted:
                return each, ""
    return None, "No rate is known for it: it is looked at, with no date."


def _weighing(subject: Subject, wear: Wear, desk: Desk) -> Weighing:
    factors = desk.history.library.factors.get(wear.factors) if wear.factors else None
    return Weighing(wear.factors or "", factors=factors)


def _prior(wear: Wear, subject: Subject, rate: Rate | None, limit: Governing | None) -> Prior | None:
    """From common practice; a part of which newness is not known begins at its first reading."""
    if rate is None or limit is None:
        return None
    speed = rate.per_1000_km if rate.per_1000_km is not None else rate.per_30_days
    new = new_reading(wear, subject.here)
    turned = -inf if new is None else sign(wear) * new
    life = sign(wear) * limit.reading - turned
    if speed is None or life <= 0:
        return None
    spread = wear.new_spread or 0.0
    # where new is not known a life is as long as a typical one of a thousand kilometres' wear
    return Prior(turned, spread, speed, speed * rate.spread, speed if life == inf else life)


def _start(subject: Subject, wear: Wear, desk: Desk, by_days: bool) -> _Start:
    began = subject.began
    if began is None:
        return _Start(desk.history.now, 0.0, known=False)
    if by_days:
        return _start_by_days(subject, desk)
    before = subject.metres_before
    return _Start(began.at, (before or 0) / METRES_A_UNIT, before is not None)


def _start_by_days(subject: Subject, desk: Desk) -> _Start:
    """What runs by days begins when it was last renewed, made, or fitted new."""
    placed, began = subject.placed, subject.began
    if placed is None or began is None:
        return _Start(desk.history.now, 0.0, known=False)
    part = placed.part
    events = desk.history.bicycle.events
    renewed = [each.at for each in events if each.part_id == part.id and each.kind == "renewed"]
    past = [at for at in renewed if at <= desk.history.now]
    if past:
        return _Start(max(past), 0.0, known=True, renewed=True)
    if part.made_on is not None:
        made = datetime.combine(part.made_on, time(12), desk.history.now.tzinfo)
        return _Start(made, 0.0, known=True, exact=True)
    return _Start(began.at, 0.0, part.origin == "new")


def _placed(wear: Wear, each: WearMeasurement, start: _Start, clock: _Clock) -> Seen:
    distance = clock.units(start.at, each.at) if each.at >= start.at else -clock.units(each.at, start.at)
    run = clock.desk.history.ridden.of_part(each.part_id, each.at).metres
    return Seen(each, _beddable(wear, reading_of(wear, each), run), start.before + distance, run)


def _beddable(wear: Wear, reading: Reading, run: int) -> Reading:
    """A reading taken while the part beds in is less sure of what comes after."""
    if not reading.exact or not 0 < run < wear.running_in_km * 1000:
        return reading
    return replace(reading, sd=running_in(reading.sd, wear.new_spread or 0.0))


def _filtered(bare: Life, prior: Prior, clock: _Clock, start: _Start) -> Life:
    prior = replace(prior, new_sd=0.0) if start.exact else prior
    worn = prior.begin() if start.known and prior.new != -inf else None
    filtering = _Filtering(prior, worn)
    limit = sign(bare.wear) * bare.limit.reading if bare.limit else inf
    looks = [start.before + clock.units(start.at, at) for at in _looks(clock, start)]
    seen = tuple(filtering.take_all(bare.seen, looks, limit))
    now = filtering.at_distance(start.before + clock.units(start.at, clock.desk.history.now))
    if now is None:
        return replace(bare, seen=seen, refused="Never read: measure once, then it counts.")
    subject, history = clock.subject, clock.desk.history
    mix, reach = (1.0, 1.0) if clock.by_days else mix_of(subject, history, clock.weighing)
    ahead = Ahead(
        weighing=clock.weighing,
        mix=mix,
        reach=reach,
        worn=now,
        limit=limit,
        uneven=prior.uneven,
        typical=prior.typical,
        by_days=clock.by_days,
    )
    refused = _question(seen)
    return Life(
        bare.wear, bare.prior, bare.rate, bare.limit, seen, now, None if refused else ahead, bare.known_past,
        bare.now, bare.run_metres, refused,
    )  # fmt: skip


def _looks(clock: _Clock, start: _Start) -> Sequence[datetime]:
    """When the part was looked over and found fine, since it counts."""
    part_id = clock.subject.part_id
    times = clock.desk.history.found_fine.get(part_id, ()) if part_id is not None else ()
    return [at for at in times if at >= start.at]


def _question(seen: Sequence[Seen]) -> str | None:
    """A last reading that improves is asked about; nothing is told from it."""
    if not seen or seen[-1].doubt != "improves":
        return None
    return (
        "The last reading is better than the one before: wrong side or place, another tool, or a new part that was not "
        "logged? Read it again; until then there is no forecast."
    )


class _Filtering:
    """The filter on its way through the readings, oldest first."""

    def __init__(self, prior: Prior, worn: Worn | None) -> None:
        self._prior, self._worn = prior, worn
        self._distance = 0.0
        self._aside: tuple[Worn, float] | None = None
        self._last: Reading | None = None

    def at_distance(self, distance: float) -> Worn | None:
        """The state at a distance at or beyond the last reading."""
        if self._worn is None:
            return None
        return self._worn.after(max(distance - self._distance, 0.0), self._prior.uneven)

    def take_all(self, seen: Sequence[Seen], looks: Sequence[float], limit: float) -> Iterator[Seen]:
        """Takes the readings in, and between them the looks that found nothing worn, by their distance."""
        waiting = list(looks)
        for each in seen:
            while waiting and waiting[0] <= each.distance:
                self.look(waiting.pop(0), limit)
            yield self.take(each)
        for distance in waiting:
            self.look(distance, limit)

    def look(self, distance: float, limit: float) -> None:
        """Whoever looks it over and finds it fine has not seen it at its limit: that is all a look says, no reading."""
        expected = self.at_distance(distance)
        if expected is not None and distance >= self._distance:
            self._worn, self._distance = expected.read_between(-inf, limit, 0.0), distance

    def take(self, seen: Seen) -> Seen:
        """Takes a reading in, or sets it aside where it is doubted; answers it with what was expected of it."""
        expected = self.at_distance(seen.distance)
        reading = seen.reading
        if expected is None:
            self._restart(self._fresh(reading), seen.distance, reading)
            return seen
        doubt = self._doubt(reading, expected)
        if doubt is None:
            self._restart(_update(expected, reading), seen.distance, reading)
        elif self._agrees(reading, seen.distance):
            # two that agree with one another outweigh what was expected: it is as they say
            fresh = self._aside_at(seen.distance)
            self._restart(_update(fresh, reading), seen.distance, reading)
            doubt = None
        else:
            self._aside = self._fresh(reading), seen.distance
        return replace(seen, expected=expected.wear, doubt=doubt)

    def _restart(self, worn: Worn, distance: float, reading: Reading) -> None:
        self._worn, self._distance, self._last, self._aside = worn, distance, reading, None

    def _fresh(self, reading: Reading) -> Worn:
        """As if the part were met at this reading."""
        level, var = _as_figure(reading)
        return self._prior.begin_at(level, var)

    def _aside_at(self, distance: float) -> Worn:
        assert self._aside is not None  # noqa: S101 - asked after `_agrees`
        worn, at = self._aside
        return worn.after(max(distance - at, 0.0), self._prior.uneven)

    def _agrees(self, reading: Reading, distance: float) -> bool:
        return self._aside is not None and _off(reading, self._aside_at(distance)) <= AGREES_SD

    def _doubt(self, reading: Reading, expected: Worn) -> Doubt | None:
        last = self._last
        if last is not None and last.least - reading.most > IMPROVES_SD * hypot(last.sd, reading.sd):
            return "improves"
        return "unexpected" if _off(reading, expected) > DOUBT_SD else None


def _off(reading: Reading, expected: Worn) -> float:
    """By how many standard deviations a reading, or the nearer mark of a gauge, is off what was expected."""
    away = max(reading.least - expected.wear, expected.wear - reading.most, 0.0)
    sd = sqrt(max(expected.wear_var + reading.sd * reading.sd, 0.0))
    return 0.0 if away == 0 else inf if sd == 0 else away / sd


def _update(expected: Worn, reading: Reading) -> Worn:
    if reading.exact:
        return expected.read(reading.least, reading.sd * reading.sd)
    return expected.read_between(reading.least, reading.most, reading.sd * reading.sd)


def _as_figure(reading: Reading) -> tuple[float, float]:
    """A reading as a level with its variance; between two marks it may be anywhere."""
    if reading.exact:
        return reading.least, reading.sd * reading.sd
    if reading.least == -inf or reading.most == inf:
        return (reading.most if reading.least == -inf else reading.least), reading.sd * reading.sd
    return (reading.least + reading.most) / 2, (reading.most - reading.least) ** 2 / 12 + reading.sd**2


def doubts_of(life: Life) -> Iterator[Seen]:
    """The readings that are doubted, oldest first."""
    return (each for each in life.seen if each.doubt is not None)
