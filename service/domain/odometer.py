"""The distance of one build: its rides, its odometer readings, and what lies between two readings unlogged."""

from bisect import bisect_left
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from itertools import accumulate, pairwise
from operator import attrgetter, mul

from service.domain.bicycle import OdometerReading, Ride
from service.domain.lists import Factors
from service.errors import Refusal

WET = frozenset({"wet", "gritty", "salted"})
ESTIMATED_METRES_PER_SECOND = 5
"""18 km/h, for a ride without its moving time and for distance that nobody logged: common practice, no source."""
DOUBT_METRES, DOUBT_SHARE = 2000, 0.02
Kind = tuple[str, bool, bool]
DRY: Kind = ("dry", False, False)
_MICROSECOND = timedelta(microseconds=1)
_SCALE = 1000


@dataclass(frozen=True, slots=True)
class Weighing:
    """How kilometres count for one task: a row of factors by its name, seen from one end, with or without a motor.

    `reaching`: each that counts at all counts as one: on a direct-drive trainer none reaches a tyre.
    """

    name: str = ""
    end: str | None = None
    motor: bool = False
    factors: Factors | None = field(default=None, compare=False)
    reaching: bool = False

    def thousandths(self, conditions: str, loaded: bool, descents: bool) -> int:
        """How many thousandths of a kilometre one kilometre ridden so counts for, never more than the row's cap."""
        row = self.factors
        if row is None:
            return _SCALE
        factor = self._of(row, conditions)
        for word, is_so in (("loaded", loaded), ("descents", descents), ("motor", self.motor)):
            if is_so:
                factor *= self._of(row, word)
        if self.reaching:
            return _SCALE if factor > 0 else 0
        return round(min(factor, row.cap) * _SCALE)

    def _of(self, row: Factors, word: str) -> float:
        by_end = row.by_end.get(self.end, {}) if self.end else {}
        return float(by_end.get(word, getattr(row, word)))


PLAIN = Weighing()


@dataclass(frozen=True, slots=True)
class Unlogged:
    """Distance that two readings saw and no ride tells of, in whole metres, spread evenly over that time."""

    from_at: datetime
    to_at: datetime
    metres: int

    def before(self, at: datetime) -> int:
        """The part of it that lies before an instant."""
        if at >= self.to_at:
            return self.metres
        if at <= self.from_at:
            return 0
        return self.metres * ((at - self.from_at) // _MICROSECOND) // ((self.to_at - self.from_at) // _MICROSECOND)


@dataclass(frozen=True, slots=True)
class Doubt:
    """More was logged between two readings than the odometer saw: shown, never cut."""

    from_at: datetime
    to_at: datetime
    seen_metres: int
    logged_metres: int

    @property
    def say(self) -> str:
        """The doubt in words, for the build's page."""
        return (
            f"From {self.from_at.date()} to {self.to_at.date()} the rides add up to {self.logged_metres / 1000:g} km, "
            f"the odometer saw {self.seen_metres / 1000:g} km: was a ride entered twice, or a reading mistyped?"
        )


class Odometer:
    """The distance of one build at any instant; rides need no order, readings neither."""

    def __init__(self, rides: Iterable[Ride], readings: Iterable[OdometerReading] = (), metres_before: int = 0) -> None:
        self.rides: Sequence[Ride] = sorted(rides, key=attrgetter("started_at"))
        self.metres_before = metres_before
        self._starts = [ride.started_at for ride in self.rides]
        self._lengths = [ride.metres for ride in self.rides]
        self._logged = _sums(self._lengths)
        self._kinds = _sums_by_kind(self.rides)
        self._wet: list[int] | None = None
        self._seconds: list[int] | None = None
        self._guessed: list[int] = []
        self._factors: dict[Weighing, list[int]] = {}
        self._met: dict[datetime, list[int]] = {}
        self.unlogged, self.doubts = self._between(sorted(readings, key=attrgetter("at")))

    def _between(self, readings: Sequence[OdometerReading]) -> tuple[tuple[Unlogged, ...], tuple[Doubt, ...]]:
        unlogged, doubts = [], []
        for first, second in pairwise(readings):
            if second.restarts:
                continue
            seen = second.metres - first.metres
            logged = self._ridden(second.at) - self._ridden(first.at)
            if seen > logged:
                unlogged.append(Unlogged(first.at, second.at, seen - logged))
            elif logged - seen > max(DOUBT_METRES, DOUBT_SHARE * seen):
                doubts.append(Doubt(first.at, second.at, seen, logged))
        return tuple(unlogged), tuple(doubts)

    def _ridden(self, at: datetime) -> int:
        return self._logged[bisect_left(self._starts, at)]

    def _filled(self, at: datetime) -> int:
        return sum(ramp.before(at) for ramp in self.unlogged)

    def metres(self, at: datetime) -> int:
        """Everything ridden before an instant, what was on the clock at first included, in whole metres."""
        return self.metres_before + self._ridden(at) + self._filled(at)

    def equivalent_metres(self, at: datetime, weighing: Weighing) -> int:
        """The same without what was on the clock at first, each ride counted by its conditions; unlogged counts dry."""
        if weighing.factors is None:
            return self._ridden(at) + self._filled(at)
        factors = self._factors.get(weighing)
        if factors is None:
            factors = self._factors[weighing] = [weighing.thousandths(*kind) for kind in self._kinds]
        weighed: int = sum(map(mul, self._by_kind(at), factors))
        return weighed // _SCALE

    def _by_kind(self, at: datetime) -> Sequence[int]:
        """Metres before an instant by kind of ride: most tasks ask about the same few instants."""
        known = self._met.get(at)
        if known is None:
            known = [sums[bisect_left(starts, at)] for starts, sums in self._kinds.values()]
            known[0] += self._filled(at)
            self._met[at] = known
        return known

    def wet_metres(self, at: datetime) -> int:
        """What was ridden wet, gritty or salted before an instant, in whole metres."""
        if self._wet is None:
            self._wet = _sums(ride.metres if ride.conditions in WET else 0 for ride in self.rides)
        return self._wet[bisect_left(self._starts, at)]

    def seconds(self, from_at: datetime, to_at: datetime) -> tuple[int, bool]:
        """Riding time between two instants, seconds, and whether any of it is estimated from distance."""
        if self._seconds is None:
            self._seconds = _sums(_seconds(ride) for ride in self.rides)
            self._guessed = _sums(ride.moving_s is None for ride in self.rides)
        first, last = bisect_left(self._starts, from_at), bisect_left(self._starts, to_at)
        filled = self._filled(to_at) - self._filled(from_at)
        total = self._seconds[last] - self._seconds[first] + filled // ESTIMATED_METRES_PER_SECOND
        return total, filled > 0 or self._guessed[last] > self._guessed[first]

    def rides_between(self, from_at: datetime, to_at: datetime) -> Sequence[Ride]:
        """The rides that began at or after the one instant and before the other."""
        return self.rides[bisect_left(self._starts, from_at) : bisect_left(self._starts, to_at)]


def _sums_by_kind(rides: Iterable[Ride]) -> dict[Kind, tuple[list[datetime], list[int]]]:
    """For each kind of ride its instants and running totals; dry ones first, for unlogged distance is added to them."""
    met: dict[Kind, tuple[list[datetime], list[int]]] = {DRY: ([], [0])}
    for ride in rides:
        starts, sums = met.setdefault((ride.conditions, ride.loaded, ride.descents), ([], [0]))
        starts.append(ride.started_at)
        sums.append(sums[-1] + ride.metres)
    return met


def _seconds(ride: Ride) -> int:
    return ride.metres // ESTIMATED_METRES_PER_SECOND if ride.moving_s is None else ride.moving_s


def _sums(lengths: Iterable[int]) -> list[int]:
    return list(accumulate(lengths, initial=0))


def check_reading(reading: OdometerReading, others: Iterable[OdometerReading]) -> None:
    """Refuse a reading that goes back on the one before it, or that the next one goes back on, with the question.

    `others` are the other readings of the same build; a reading of the same id is passed over. Raises Refusal.
    """
    rest = sorted((each for each in others if each.id != reading.id), key=attrgetter("at"))
    if any(each.at == reading.at for each in rest):
        raise Refusal(
            "There is a reading at this very instant already: correct that one, or give this one another time.",
            errors=[("/at", "is the instant of another reading of this build")],
        )
    before = [each for each in rest if each.at < reading.at]
    after = [each for each in rest if each.at > reading.at]
    if before:
        _check_pair(before[-1], reading)
    if after:
        _check_pair(reading, after[0])


def _check_pair(first: OdometerReading, second: OdometerReading) -> None:
    if second.restarts or second.metres >= first.metres:
        return
    shown = f"{first.metres / 1000:g} km on {first.day}"
    raise Refusal(
        f"The odometer showed {shown} and {second.metres / 1000:g} km on {second.day}. "
        "Was it reset or exchanged in between? Then say so (`restarts`); if not, correct the figure or the day.",
        errors=[("/km", f"may only grow from one reading to the next, unless it restarts: {shown}")],
    )
