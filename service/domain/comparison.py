"""How one test of a join is answered: two facts, or a fact and a constant, compared with a tolerance."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from enum import IntEnum
from typing import Any
from uuid import UUID

from service.domain.bicycle import Part
from service.domain.condition import Fact
from service.domain.procedure import Category, When
from service.domain.readings import read_spec, spec_field

CLOSE = 1e-9
OPERATORS = ("equal", "not equal", "in", "at least", "at most", "within", "pairs")


class Verdict(IntEnum):
    """The answers of a test: a list of tests takes its lowest, alternatives their highest."""

    NO = 0
    UNKNOWN = 1
    CARE = 2
    YES = 3


@dataclass(frozen=True, slots=True)
class Read:
    """What is known of one side of a test: values (none: not entered), whose they are, and their field.

    `absent`: there is no such part. `give` is how far equal numbers may lie apart: nothing once a reading is snapped to
    a size. `missing` are the facts that are not entered. `within`: so far from it may lie what is meant, as it is only
    what is marked.
    """

    values: tuple[Any, ...] = ()
    missing: tuple[Fact, ...] = ()
    part_id: UUID | None = None
    category: str = ""
    field: str = ""
    known_by: str = ""
    give: float = CLOSE
    label: bool = False
    absent: bool = False
    within: float = 0.0


ABSENT = Read(absent=True)
Source = Callable[[str, bool], Read]
"""Reads "spec", "category.spec", "host.spec", "other.spec" or "build.spec"; the flag: as read, not snapped."""


def read_part(part: Part, category: Category | None, key: str, *, raw: bool = False) -> Read:
    """One spec of a part for a test, or what stands for it until it is measured; absent where there is no such spec."""
    field = spec_field(category, key) if category else None
    if category is None or field is None:
        return ABSENT
    if field.until_measured is not None and not part.specs.get(key):
        return replace(read_part(part, category, field.until_measured, raw=raw), within=field.marked_within)
    found = read_spec(part, category, key)
    entered = part.specs.get(key, ())
    values: tuple[Any, ...] = found.values
    missing = found.unknown
    if raw and entered:
        measured = [fact for fact in entered if fact.known_by != "printed"]
        values = tuple(fact.number for fact in measured if fact.number is not None)
        missing = () if len(values) == len(entered) else (Fact(part.category, key, part.id),)
    known_by = entered[0].known_by if entered else ""
    give = CLOSE if (field.sizes or field.nominal) and not raw else field.give
    return Read(values, missing, part.id, part.category, key, known_by, give, field.kind == "label")


def read_constant(value: Any) -> Read:
    """A constant of the file as the right side of a test."""
    values = tuple(value) if isinstance(value, list | tuple) else (value,)
    return Read(values)


@dataclass(frozen=True, slots=True)
class Tested:
    """One test with its answer and what it compared."""

    verdict: Verdict
    mine: Read
    theirs: Read
    two_facts: bool


def all_hold(tests: Iterable[When], source: Source) -> tuple[Verdict, tuple[Tested, ...]]:
    """All tests of a list must hold; an entry may be `any`, a list of such lists."""
    lowest = Verdict.YES
    met: list[Tested] = []
    for test in tests:
        verdict, tested = one_holds(test["any"], source) if "any" in test else _one(test, source)
        lowest = min(lowest, verdict)
        met.extend(tested)
    return lowest, tuple(met)


def one_holds(lists: Sequence[Sequence[When]], source: Source) -> tuple[Verdict, tuple[Tested, ...]]:
    """One of several lists of tests must hold."""
    answers = [all_hold(tests, source) for tests in lists]
    highest = max((verdict for verdict, _ in answers), default=Verdict.NO)
    return highest, tuple(tested for _, each in answers for tested in each)


def _one(test: When, source: Source) -> tuple[Verdict, tuple[Tested, ...]]:
    raw = bool(test.get("raw", False))
    mine = source(test["mine"], raw)
    theirs = source(test["theirs"], raw) if "theirs" in test else read_constant(test.get("than", ()))
    verdict = _verdict(test, mine, theirs)
    if verdict is Verdict.UNKNOWN and test.get("if_known", False):
        verdict = Verdict.NO
    return verdict, (Tested(verdict, mine, theirs, "theirs" in test),)


def _verdict(test: When, mine: Read, theirs: Read) -> Verdict:
    if mine.absent or theirs.absent:
        return Verdict.NO
    wrong_way_round = test["is"] == "not equal"
    if mine.values and theirs.values:
        if too_close(test, mine, theirs):
            return Verdict.CARE
        held = _holds(test, mine, theirs)
        complete = not mine.missing and not theirs.missing
        if complete or held != wrong_way_round:
            return Verdict.YES if held else Verdict.NO
    unknown_label = (mine.label and mine.missing) or (theirs.label and theirs.missing)
    return Verdict.CARE if unknown_label else Verdict.UNKNOWN


def too_close(test: When, mine: Read, theirs: Read) -> bool:
    """Does it hang on how far what is meant lies from what is marked?"""
    if not (mine.within or theirs.within):
        return False
    held = {_holds(test, one, other) for one in _at_its_ends(mine) for other in _at_its_ends(theirs)}
    return len(held) > 1


def _at_its_ends(side: Read) -> list[Read]:
    return [replace(side, values=tuple(value + by for value in side.values)) for by in {-side.within, side.within}]


def _holds(test: When, mine: Read, theirs: Read) -> bool:
    give = float(test["give"]) if "give" in test else None
    near = max(mine.give, theirs.give) if give is None else give + CLOSE
    right = [_shifted(value, test) for value in theirs.values]
    match test["is"]:
        case "equal" | "in":
            return any(same(one, other, near) for one in mine.values for other in right)
        case "not equal":
            return not any(same(one, other, near) for one in mine.values for other in right)
        case "at least":
            return all(one >= other - (give or 0) - CLOSE for one in mine.values for other in right)
        case "at most":
            return all(one <= other + (give or 0) + CLOSE for one in mine.values for other in right)
        case "within":
            return _within(mine.values, right, test, near)
        case "pairs":
            return any(
                same(one, row[0], near) and same(other, row[1], near)
                for one in mine.values
                for other in right
                for row in test["table"]
            )
    raise ValueError(f"a test of a join is one of {', '.join(OPERATORS)}, not {test['is']!r}")


def _within(mine: Sequence[float], right: Sequence[float], test: When, near: float) -> bool:
    if "theirs" not in test:
        low, high = right
        return all(low - CLOSE <= one <= high + CLOSE for one in mine)
    return all(abs(one - other) <= near for one in mine for other in right)


def _shifted(value: Any, test: When) -> Any:
    if isinstance(value, bool) or not isinstance(value, int | float):
        return value
    return value * test.get("times", 1) + test.get("plus", 0)


def same(one: Any, other: Any, near: float) -> bool:
    """Equal: numbers within `near`, words whatever their case and outer blanks, yes and no as true and false."""
    numbers = [each for each in (one, other) if isinstance(each, int | float) and not isinstance(each, bool)]
    if len(numbers) == 2:
        return bool(abs(one - other) <= near)
    return not numbers and _plain(one) == _plain(other)


def _plain(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return str(value).strip().lower()


def names_read(tests: Iterable[When]) -> Iterator[str]:
    """Every fact that these tests read, on either side."""
    for test in tests:
        if "any" in test:
            for each in test["any"]:
                yield from names_read(each)
            continue
        yield test["mine"]
        if "theirs" in test:
            yield test["theirs"]
