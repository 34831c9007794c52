"""Conditions: tables of facts, answered with yes, no or not known, and by what."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import IntEnum
from typing import Any, Protocol
from uuid import UUID

from service.domain.procedure import When

Scalar = float | str | bool
WORDS = frozenset({"any", "not", "has", "lacks", "role", "any_part", "finding", "checklist"})
"""The keys of a condition that are not a fact."""


class Answer(IntEnum):
    """Kleene's three answers; `and` takes the lowest, `or` the highest, `not` turns them round."""

    NO = 0
    UNKNOWN = 1
    YES = 2


@dataclass(frozen=True, slots=True)
class Fact:
    """A fact that would settle an answer: a spec of one part, or of the build where `category` is "build"."""

    category: str
    key: str
    part_id: UUID | None = None


@dataclass(frozen=True, slots=True)
class Found:
    """What a look-up met: known values (of one part or several) and the facts that are not entered yet.

    Neither of them: there is no such part. Some known and some not entered: a match among the known is yes, else it is
    not known. A yes-no spec may be given as bool or as "yes", "no"; numbers come snapped to their size.
    """

    values: tuple[Scalar, ...] = ()
    unknown: tuple[Fact, ...] = ()
    known_by: str = ""


NO_PART = Found()


@dataclass(frozen=True, slots=True)
class Judged:
    """An answer, the facts that would settle it where it is not known, and the facts it rests on where it is."""

    answer: Answer
    settles: tuple[Fact, ...] = ()
    because: tuple[str, ...] = ()


class View(Protocol):
    """What a condition can see from where it stands: a part at its place, or the whole bicycle."""

    def own(self, key: str) -> Found:
        """A spec of the part itself."""

    def of(self, category: str, key: str) -> Found:
        """A spec of a part in that role: in the same wheel if there is one, else at the same end, else any."""

    def host(self, key: str) -> Found:
        """A spec of what the part is fitted to (`host` of its category, by end)."""

    def build(self, key: str) -> Found:
        """A fact of the build: use, motor, rider_mass_g, load_g, front_brake_hand."""

    @property
    def origin(self) -> Found: ...
    @property
    def job(self) -> Found: ...
    @property
    def end(self) -> Found: ...
    @property
    def side(self) -> Found: ...
    @property
    def slot(self) -> Found:
        """The category of the part itself, as it is placed."""

    def has(self, category: str) -> Answer:
        """Is there a part of exactly this category? Parts that stand in for it do not count."""

    def role(self, category: str) -> Answer:
        """Is there a part that is of this category or stands in for it?"""

    def any_part(self, when: When) -> Judged:
        """Does some part answer yes? See `one_of_them`."""

    def finding(self, name: str, alternative: str | None) -> Judged:
        """Does the join ("category.key" or "category.key@place") need care, by this alternative or by any?"""

    def checklist(self, word: str) -> Answer:
        """ "safety skipped" or "finding accepted"."""


def judge(when: When, view: View) -> Judged:
    """All keys of the table must hold; an empty table is yes. Of another category nothing further is asked."""
    if "category" in when and _judge_key("category", when["category"], view).answer is Answer.NO:
        return Judged(Answer.NO)
    return all_of([_judge_key(key, value, view) for key, value in when.items()])


def all_of(answers: Iterable[Judged]) -> Judged:
    """Kleene's `and`: a single no decides, whatever else is not known."""
    met = list(answers)
    lowest = min((each.answer for each in met), default=Answer.YES)
    return _summed(lowest, met)


def one_of_them(answers: Iterable[Judged]) -> Judged:
    """Kleene's `or`: a single yes decides; none at all is no."""
    met = list(answers)
    highest = max((each.answer for each in met), default=Answer.NO)
    return _summed(highest, met)


def turned_round(judged: Judged) -> Judged:
    """Kleene's `not`: not known stays not known."""
    return Judged(Answer(2 - judged.answer), judged.settles, judged.because)


def _summed(answer: Answer, met: Sequence[Judged]) -> Judged:
    if len(met) == 1:
        return met[0]
    same = [each for each in met if each.answer is answer]
    return Judged(
        answer,
        tuple(dict.fromkeys(fact for each in same for fact in each.settles)) if answer is Answer.UNKNOWN else (),
        tuple(dict.fromkeys(said for each in same for said in each.because)),
    )


def _judge_key(key: str, value: Any, view: View) -> Judged:
    if key == "category":  # what a part is needs no saying
        return Judged(_compare(key, value, view.slot).answer)
    if key not in WORDS:
        return _compare(key, value, _look_up(key, view))
    match key:
        case "any":
            return one_of_them(judge(table, view) for table in value)
        case "not":
            return turned_round(judge(value, view))
        case "has":
            return _presence(value, view.has, "there is")
        case "lacks":
            return turned_round(_presence(value, view.has, "there is"))
        case "role":
            return _presence(value, view.role, "something serves as")
        case "any_part":
            return view.any_part(value)
        case "finding":
            return all_of(_judge_finding(name, wanted, view) for name, wanted in value.items())
    return one_of_them(_plain(view.checklist(word), word) for word in _listed(value))  # "checklist"


def _look_up(key: str, view: View) -> Found:
    category, dot, spec = key.partition(".")
    if not dot:
        match key:
            case "origin":
                return view.origin
            case "job":
                return view.job
            case "end":
                return view.end
            case "side":
                return view.side
        return view.own(key)
    if category == "host":
        return view.host(spec)
    if category == "build":
        return view.build(spec)
    return view.of(category, spec)


def _presence(value: Any, asked: Any, words: str) -> Judged:
    return one_of_them(_plain(asked(category), f"{words} {category}") for category in _listed(value))


def _plain(answer: Answer, words: str) -> Judged:
    if answer is Answer.UNKNOWN:
        return Judged(answer)
    return Judged(answer, because=(words if answer is Answer.YES else f"not: {words}",))


def _judge_finding(name: str, wanted: bool, view: View) -> Judged:
    place_at = name.find("@")
    colon = name.find(":", max(place_at, 0))
    join, alternative = (name, None) if colon < 0 else (name[:colon], name[colon + 1 :])
    met = view.finding(join, alternative)
    return met if wanted else turned_round(met)


def _compare(key: str, value: Any, found: Found) -> Judged:
    if found.values and any([holds(value, known) for known in found.values]):
        return Judged(Answer.YES, because=(_said(key, found),))
    if found.unknown:
        return Judged(Answer.UNKNOWN, settles=found.unknown)
    return Judged(Answer.NO, because=(_said(key, found),))


def _said(key: str, found: Found) -> str:
    if not found.values:
        return f"{key}: no such part"
    known = f" ({found.known_by})" if found.known_by else ""
    return f"{key} is {', '.join(_shown(value) for value in found.values)}{known}"


def _shown(value: Scalar) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:g}" if isinstance(value, int | float) else value


def holds(wanted: Any, known: Scalar) -> bool:
    """Does one known value answer what the table asks: equal, one of, or within { min, max, over, under }?"""
    if isinstance(wanted, Mapping):
        return _within(wanted, known)
    plain = _plainly(known)
    return any(_plainly(each) == plain for each in _listed(wanted))


def _within(limits: Mapping[str, float], known: Scalar) -> bool:
    if isinstance(known, str | bool):
        return False
    return (
        known >= limits.get("min", known)
        and known <= limits.get("max", known)
        and ("over" not in limits or known > limits["over"])
        and ("under" not in limits or known < limits["under"])
    )


def _plainly(value: Scalar) -> Scalar:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return value.strip().lower() if isinstance(value, str) else value


def _listed(value: Any) -> Sequence[Any]:
    return value if isinstance(value, list | tuple) else (value,)
