"""The wearing dimensions of a part, each judged by its readings and its forecast against the limit that governs."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import NamedTuple

from service.domain.ahead import Ahead
from service.domain.between import Between
from service.domain.bicycle import ServiceRule, WearMeasurement
from service.domain.condition import Answer, judge
from service.domain.desk import Desk
from service.domain.ends import compose
from service.domain.history import Subject
from service.domain.limit import CHANCE_DUE, Governing, governing, new_reading, share_used, sign, stands
from service.domain.procedure import Wear
from service.domain.standing import Due, State
from service.domain.wear_life import Life, life_of
from service.domain.wear_words import (
    doubt_words,
    error_words,
    forecast_words,
    limit_words,
    reading_words,
)
from service.domain.wording import day_words, filled

ACTIONS = ("stop", "replace", "look")
TARGETS = ("replace", "stop", "look")
"""What a forecast counts to: the first of these that is known."""
PLAN_DAYS = 28
"""What will have to be replaced is planned four weeks before: the part must be bought."""


@dataclass(frozen=True, slots=True)
class Worn:
    """One dimension at one place of a fitted part, with its limits and its life so far.

    `followed_by`: the dimension that is the same wear, where that one is read and this one never was.
    """

    subject: Subject
    wear: Wear
    place: str
    rule: ServiceRule | None
    followed_by: Wear | None
    limits: Mapping[str, Governing]
    life: Life

    @property
    def name(self) -> str:
        """The dimension, "category.key"."""
        return f"{self.subject.category.category}.{self.wear.key}"


def worn_of(subject: Subject, desk: Desk, readings: Sequence[WearMeasurement]) -> Iterator[Worn]:
    """Every wearing dimension of a part at each place it is read; `readings` are the part's own, oldest first."""
    if subject.part_id is None:
        return
    for wear in subject.category.wear:
        if wear.when and judge(wear.when, subject.here).answer is Answer.NO:
            continue
        rule = desk.rule(subject, f"{subject.category.category}.{wear.key}")
        for place in wear.places or ("",):
            own = [each for each in readings if each.dimension == wear.key and _is_at(each.place, place)]
            limits = _limits(subject, wear, own, rule)
            target = next((limits[action] for action in TARGETS if action in limits), None)
            followed = None if own else _followed_by(subject, wear, readings)
            yield Worn(subject, wear, place, rule, followed, limits, life_of(subject, wear, own, target, desk))


def _followed_by(subject: Subject, wear: Wear, readings: Sequence[WearMeasurement]) -> Wear | None:
    """The dimension that says the same and has a reading: growth by rule, or by gauge; one of them will do."""
    same = [each for each in subject.category.wear if each.key == wear.same_as or each.same_as == wear.key]
    return next((each for each in same if any(reading.dimension == each.key for reading in readings)), None)


def _is_at(read_at: str, place: str) -> bool:
    return read_at == place or (place != "" and read_at.endswith(f".{place}"))


def _limits(
    subject: Subject, wear: Wear, readings: Sequence[WearMeasurement], rule: ServiceRule | None
) -> Mapping[str, Governing]:
    """The limit that governs each action; the owner's own reading in place of the one to replace at."""
    met = {action: governing(wear, action, subject.here, readings) for action in ACTIONS}
    if rule is not None and rule.limit_reading is not None:
        basis = f"your own, {rule.reason}" if rule.reason else "your own"
        met["replace"] = Governing("replace", rule.limit_reading, basis)
    return {action: limit for action, limit in met.items() if limit is not None}


class _Forecast(NamedTuple):
    """What lies ahead of a dimension: how far, until when, how likely it is there already, or why that is not told."""

    km_left: Between[float] | None = None
    on: Between[date] | None = None
    chance: float | None = None
    refused: str | None = None
    ahead: Ahead | None = None


def wear_due(worn: Worn, desk: Desk) -> Due:
    """Where a dimension stands."""
    subject, wear, life = worn.subject, worn.wear, worn.life
    placed = subject.placed
    fitting = placed.fitting_id if placed else desk.history.bicycle.build.id
    last = life.seen[-1].measurement if life.seen else None
    forecast, state, why, share = _judged(worn, desk)
    return Due(
        build_id=desk.history.bicycle.build.id,
        part_id=subject.part_id,
        part_name=placed.part.name if placed else None,
        task=worn.name,
        title=filled(wear.title, subject.here),
        place=compose(placed.place if placed else "", worn.place),
        state=state,
        weight=wear.weight,
        metres_left=None,
        days_left=None,
        on=forecast.on,
        share=share,
        why=why,
        last=last.day if last else None,
        cycle=str(last.id if last else fitting),
        put_off=desk.put_off(subject, worn.name),
        done_by=(),
        steps=(),
        by_wear=True,
        needs_shop=False,
        km_left=forecast.km_left,
        chance=forecast.chance,
        refused=forecast.refused,
        ahead=forecast.ahead,
    )


def _judged(worn: Worn, desk: Desk) -> tuple[_Forecast, State, str, float]:
    if worn.rule is not None and worn.rule.off:
        return _Forecast(), "switched off", f"Switched off: {worn.rule.reason}", 0.0
    if worn.followed_by is not None:
        words = limit_words(worn.wear, worn.limits, worn.subject.here.around)
        why = f"It is followed by “{filled(worn.followed_by.title, worn.subject.here)}”, which says the same."
        return _Forecast(refused=why), _rested("fine", desk), f"{why} {words}", 0.0
    forecast = _forecast(worn, desk)
    state, why = _read(forecast, worn, desk) if worn.life.seen else _unread(forecast, worn, desk)
    return forecast, _rested(state, desk), why, _share(worn, state)


def _rested(state: State, desk: Desk) -> State:
    return "resting" if desk.resting and state != "do not ride" else state


def _forecast(worn: Worn, desk: Desk) -> _Forecast:
    ahead = worn.life.ahead
    if ahead is None:
        return _Forecast(refused=worn.life.refused)
    km, on = ahead.km_left(), ahead.on(desk.today, desk.pace)
    if desk.resting and not ahead.by_days:
        on = None
    refused = _why_open(ahead, km, desk) if on is None else None
    return _Forecast(km, on, worn.life.chance, refused, ahead)


def _why_open(ahead: Ahead, km: Between[float] | None, desk: Desk) -> str | None:
    """Why there is no day although wear is known; None where its kilometres say enough."""
    if km is not None and desk.pace is not None:
        return "As it is ridden lately nothing wears it: kilometres, no date." if ahead.mix <= 0 else None
    if km is not None or (desk.resting and not ahead.by_days):
        return desk.why_no_pace
    if ahead.nears:
        return "More than five years off: no date."
    return "Its readings hardly change: no end can be told."


def _share(worn: Worn, state: State) -> float:
    if not worn.life.seen:
        return 1.0 if state in ("look once", "due") else 0.0
    new = new_reading(worn.wear, worn.subject.here)
    return share_used(worn.wear, worn.life.seen[-1].reading, worn.limits, new)


def _read(ahead: _Forecast, worn: Worn, desk: Desk) -> tuple[State, str]:
    """By its readings: the last one alone against what nobody may ride past, all of them for how likely it is past."""
    wear, life = worn.wear, worn.life
    last = life.seen[-1]
    new = new_reading(wear, worn.subject.here)
    chance = _chance(ahead, worn) if last.doubt is None else None
    state: State = stands(wear, last.reading, worn.limits, new, chance)
    if state == "fine" and _is_planned(ahead.on, worn, desk):
        state = "plan it"
    words = limit_words(wear, worn.limits, worn.subject.here.around)
    by_itself = state == "due" and stands(wear, last.reading, worn.limits, new) == "due"
    error = error_words(wear, last.reading, worn.limits) if by_itself else ""
    told = life.refused if life.refused and last.doubt == "improves" else ""
    likely = _likely_words(ahead, last.reading.least, worn) if state in ("due", "overdue") and not error else ""
    forecast = forecast_words(ahead.km_left, ahead.on, desk.today) if state in ("plan it", "fine") else ""
    doubt = doubt_words(life, desk.today)
    why = f"{_read_words(worn, desk)} {words}{error}{likely}{forecast}{doubt}"
    return state, f"{why} {told}".rstrip() if told else why


def _chance(ahead: _Forecast, worn: Worn) -> float | None:
    """That of all readings and what was ridden since; a last reading at the limit is not talked out of it."""
    last, limit = worn.life.seen[-1].reading, worn.life.limit
    if ahead.chance is None or limit is None or not last.within(sign(worn.wear) * limit.reading, 0):
        return ahead.chance
    return max(ahead.chance, last.chance_past(sign(worn.wear) * limit.reading))


def _likely_words(ahead: _Forecast, least: float, worn: Worn) -> str:
    """Why it is due although the reading itself is short of the limit: what was ridden since, or the time."""
    limit = worn.life.limit
    if ahead.chance is None or limit is None or least >= sign(worn.wear) * limit.reading:
        return ""
    since = "the time that has passed" if ahead.ahead is not None and ahead.ahead.by_days else "what was ridden"
    sure = "is likely" if ahead.chance >= 0.5 else "may be"
    return f" With {since} since, it {sure} there by now: measure it."


def _is_planned(on: Between[date] | None, worn: Worn, desk: Desk) -> bool:
    """By the early date for safety, else by the middle one."""
    day = None if on is None else on.early if worn.wear.weight == "safety" else on.middle
    return day is not None and day - desk.today <= timedelta(days=PLAN_DAYS)


def _unread(ahead: _Forecast, worn: Worn, desk: Desk) -> tuple[State, str]:
    """Without a reading: what common practice says of its known distance; else a look is owed. Never a replacement."""
    words = limit_words(worn.wear, worn.limits, worn.subject.here.around)
    part_id = worn.subject.part_id
    if part_id is None or (worn.subject.metres_before is None and not worn.life.known_past):
        why = "Never read, and its former life is not known: measure once, then it counts."
        return "look once", f"{why} {words}"
    ridden = desk.history.ridden.of_part(part_id, desk.history.now).metres / 1000
    begins = f"Not read yet; {_used_words(worn, desk)}{ridden:.0f} km ridden."
    looked = desk.history.found_fine.get(part_id, ())
    if looked:
        begins = f"{begins} Last looked over and found fine on {day_words(_day(looked[-1], desk), desk.today)}."
    if ahead.chance is not None and ahead.chance >= CHANCE_DUE[worn.wear.weight]:
        return "due", f"{begins} By common practice alone it may be worn by now: measure it. {words}"
    return "fine", f"{begins} A first reading says more. {words}"


def _day(at: datetime, desk: Desk) -> date:
    return at.astimezone(desk.zone).date()


def _used_words(worn: Worn, desk: Desk) -> str:
    """ "2 chains came off since it was fitted, " for what counts them; how worn they were is not known: no reading."""
    role = worn.wear.key.removesuffix("s_used")
    began = worn.subject.began
    if role == worn.wear.key or role not in desk.history.library.categories or began is None:
        return ""
    used = desk.history.parts_used(worn.subject, role, began.at)
    return f"{used} {role if used == 1 else f'{role}s'} came off since it was fitted, "


def _read_words(worn: Worn, desk: Desk) -> str:
    """ "Read 1.6 mm on 2 April, 210 km ago; before that 2.1 mm on 3 March." """
    seen = worn.life.seen
    last = seen[-1].measurement
    since = desk.history.ridden.metres(worn.subject.part_id, last.at, desk.history.now) / 1000
    said = f"Read {reading_words(worn.wear, last)} on {day_words(last.day, desk.today)}, {since:.0f} km ago"
    if len(seen) < 2:
        return f"{said}."
    before = seen[-2].measurement
    return f"{said}; before that {reading_words(worn.wear, before)} on {day_words(before.day, desk.today)}."
