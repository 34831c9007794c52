"""The wearing dimensions of a part, each judged by its last reading against the limit that governs."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from service.domain.bicycle import ServiceRule, WearMeasurement
from service.domain.condition import Answer, judge
from service.domain.desk import Desk
from service.domain.ends import compose
from service.domain.history import Subject
from service.domain.limit import Governing, Reading, governing, new_reading, reading_of, share_used, sign, stands
from service.domain.procedure import Wear
from service.domain.standing import Due, State
from service.domain.wording import asked, day_words, filled

ACTIONS = ("stop", "replace", "look")
WORDS = {"stop": "do not ride past", "replace": "replace at", "look": "look closely at"}


@dataclass(frozen=True, slots=True)
class _Worn:
    """One dimension at one place with its readings, oldest first."""

    subject: Subject
    wear: Wear
    place: str
    readings: Sequence[WearMeasurement]
    rule: ServiceRule | None

    @property
    def name(self) -> str:
        return f"{self.subject.category.category}.{self.wear.key}"

    def limits(self) -> Mapping[str, Governing]:
        """The limit that governs each action; the owner's own reading in place of the one to replace at."""
        met = {action: governing(self.wear, action, self.subject.here, self.readings) for action in ACTIONS}
        if self.rule is not None and self.rule.limit_reading is not None:
            basis = f"your own, {self.rule.reason}" if self.rule.reason else "your own"
            met["replace"] = Governing("replace", self.rule.limit_reading, basis)
        return {action: limit for action, limit in met.items() if limit is not None}


def wear_dues(subject: Subject, desk: Desk, readings: Sequence[WearMeasurement]) -> Iterator[Due]:
    """Every wearing dimension of a part at each place it is read; `readings` are the part's own, oldest first."""
    for wear in subject.category.wear:
        if wear.when and judge(wear.when, subject.here).answer is Answer.NO:
            continue
        rule = desk.rule(subject, f"{subject.category.category}.{wear.key}")
        for place in wear.places or ("",):
            own = [each for each in readings if each.dimension == wear.key and _is_at(each.place, place)]
            yield _due(_Worn(subject, wear, place, own, rule), desk)


def _is_at(read_at: str, place: str) -> bool:
    return read_at == place or (place != "" and read_at.endswith(f".{place}"))


def _due(worn: _Worn, desk: Desk) -> Due:
    state, share, why = _judged(worn, desk)
    subject, wear = worn.subject, worn.wear
    placed = subject.placed
    last = worn.readings[-1] if worn.readings else None
    fitting = placed.fitting_id if placed else desk.history.bicycle.build.id
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
        on=None,
        share=share,
        why=why,
        last=last.day if last else None,
        cycle=str(last.id if last else fitting),
        put_off=desk.put_off(subject, worn.name),
        done_by=(),
        steps=(),
        by_wear=True,
        needs_shop=False,
    )


def _judged(worn: _Worn, desk: Desk) -> tuple[State, float, str]:
    if worn.rule is not None and worn.rule.off:
        return "switched off", 0.0, f"Switched off: {worn.rule.reason}"
    limits = worn.limits()
    words = _limit_words(worn, limits)
    if not worn.readings:
        state, why = _unread(worn, desk)
        return _rested(state, desk), 1.0 if state == "look once" else 0.0, f"{why} {words}"
    new = new_reading(worn.wear, worn.subject.here)
    last = reading_of(worn.wear, worn.readings[-1])
    state = stands(worn.wear, last, limits, new)
    why = f"{_read_words(worn, desk)} {words}{_doubt_words(worn, last, limits, state)}"
    return _rested(state, desk), share_used(worn.wear, last, limits, new), why


def _doubt_words(worn: _Worn, last: Reading, limits: Mapping[str, Governing], state: State) -> str:
    """Why a reading that is short of its limit is due all the same: it is not that exact."""
    limit = limits.get("replace") or limits.get("stop")
    if state != "due" or limit is None or not last.sd or last.within(sign(worn.wear) * limit.reading, 0):
        return ""
    tools = worn.wear.reading_error
    better = min(tools, key=lambda tool: tools[tool])
    exact = "" if tools[better] >= last.sd else f" Read it again with a {better}."
    return f" A reading like this is good to {last.sd:g}{_unit(worn.wear)}, so it may be there already.{exact}"


def _rested(state: State, desk: Desk) -> State:
    return "resting" if desk.resting and state != "do not ride" else state


def _unread(worn: _Worn, desk: Desk) -> tuple[State, str]:
    """Without a reading: fine where all its kilometres are known, else a look is owed. Never a reason to replace."""
    part_id = worn.subject.part_id
    if part_id is None or worn.subject.metres_before is None:
        return "look once", "Never read, and its former life is not known: measure once, then it counts."
    ridden = desk.history.ridden.of_part(part_id, desk.history.now).metres / 1000
    return "fine", f"Not read yet; {_used_words(worn, desk)}{ridden:.0f} km ridden. A first reading says more."


def _used_words(worn: _Worn, desk: Desk) -> str:
    """ "2 chains came off since it was fitted, " for a dimension that counts them, "chains_used"; else nothing."""
    role = worn.wear.key.removesuffix("s_used")
    began = worn.subject.began
    if role == worn.wear.key or role not in desk.history.library.categories or began is None:
        return ""
    used = desk.history.parts_used(worn.subject, role, began.at)
    return f"{used} {role if used == 1 else f'{role}s'} came off since it was fitted, "


def _read_words(worn: _Worn, desk: Desk) -> str:
    """ "Read 1.6 mm on 2 April, 210 km ago; before that 2.1 mm on 3 March." """
    last = worn.readings[-1]
    since = desk.history.ridden.metres(worn.subject.part_id, last.at, desk.history.now) / 1000
    said = f"Read {_reading(worn.wear, last)} on {day_words(last.day, desk.today)}, {since:.0f} km ago"
    if len(worn.readings) < 2:
        return f"{said}."
    before = worn.readings[-2]
    return f"{said}; before that {_reading(worn.wear, before)} on {day_words(before.day, desk.today)}."


def _reading(wear: Wear, each: WearMeasurement) -> str:
    unit = _unit(wear)
    if each.high is None:
        return f"over {each.low:g}{unit}"
    return f"{each.low:g}{unit}" if each.low == each.high else f"between {each.low:g} and {each.high:g}{unit}"


def _unit(wear: Wear) -> str:
    ending = wear.key.rpartition("_")[2]
    return {"mm": " mm", "percent": " %", "ml": " ml", "years": " years", "days": " days"}.get(ending, "")


def _limit_words(worn: _Worn, limits: Mapping[str, Governing]) -> str:
    """ "Replace at 1 mm, trade page; do not ride past 0.5 mm, handbook." """
    if not limits:
        return "No limit is known."
    unit = _unit(worn.wear)
    order = ("replace", "stop", "look")
    said = [f"{WORDS[a]} {limits[a].reading:g}{unit}, {limits[a].basis}" for a in order if a in limits]
    words = "; ".join(said)
    around = worn.subject.here.around
    facts = dict.fromkeys(asked(fact, around).title for limit in limits.values() for fact in limit.unsure)
    unsure = f" The strictest that may hold: {', '.join(facts)} not known." if facts else ""
    return f"{words[:1].upper()}{words[1:]}.{unsure}"
