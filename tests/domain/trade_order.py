"""The trade's order of a build as pairs of steps: which step of ours must come before which, and which need not.

`trade_order.tsv` is the outside view, common practice, no source: the acts of a build, what each follows directly, and
the steps here that are its counterpart. Where an act follows another, each step of the one follows each of the other.
"""

import csv
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from service.domain.order import with_taken
from service.domain.procedure import Category, Step
from tests.procedures import whole_library

LIBRARY = whole_library()
WHOLE = {name: with_taken(category, LIBRARY.categories) for name, category in LIBRARY.categories.items()}
BRAKES = {"cable-disc-caliper", "hydraulic-disc-caliper", "linear-pull-brake", "cantilever-brake", "dual-pivot-brake"}
ONE_OF_THESE = (
    BRAKES,
    {"cable-disc-caliper", "hydraulic-hose"},
    {"cassette", "single-sprocket"},
    {"chain", "belt"},
    {"belt", "rear-derailleur"},
    {"belt", "front-derailleur"},
)
"""Of each of these there is one at an end, beside what stands in for one another."""


@dataclass(frozen=True)
class Act:
    """One act of the trade's order and its counterpart here."""

    key: str
    after: tuple[str, ...]
    steps: tuple[str, ...]


@dataclass(frozen=True)
class Pair:
    """A step that the trade has before another, and the two acts that say so."""

    before: str
    after: str
    acts: tuple[str, str]


def rows(name: str) -> list[dict[str, str]]:
    """The lines of a table beside this file."""
    with (Path(__file__).parent / name).open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines, delimiter="\t"))


ACTS = {
    row["act"]: Act(row["act"], tuple(filter(None, row["after"].split(","))), tuple(row["steps"].split(",")))
    for row in rows("trade_order.tsv")
}
LEFT_OUT = rows("must_come_before_left_out.tsv")


def all_pairs() -> Iterator[Pair]:
    """Every pair of two steps that two acts of the trade give; the first two acts that give it stand for all."""
    met: dict[tuple[str, str], Pair] = {}
    for act in ACTS.values():
        for earlier in act.after:
            for one in ACTS[earlier].steps:
                for other in act.steps:
                    if one != other:
                        met.setdefault((one, other), Pair(one, other, (earlier, act.key)))
    return iter(met.values())


def is_left_out(pair: Pair) -> bool:
    """Is it of a kind that is left out between these two acts?"""
    return any(covers(row, pair) for row in LEFT_OUT)


def covers(row: Mapping[str, str], pair: Pair) -> bool:
    """Is the pair left out by this line? A star stands for any act."""
    named = (row["before"], row["after"])
    return all(name in ("*", act) for name, act in zip(named, pair.acts, strict=True)) and of_kind(pair, row["kind"])


def of_kind(pair: Pair, kind: str) -> bool:
    """Is it such a pair: the look at another part, a later job, two steps that are never on one bicycle?"""
    one, other = step_of(pair.before), step_of(pair.after)
    mine, theirs = category_of(pair.before), category_of(pair.after)
    if kind == "other part":
        return one in mine.used and not _handles(other, theirs, mine.category)
    if kind == "later job":
        return "assemble" not in one.jobs or "assemble" not in other.jobs
    assert kind == "either or", kind
    return never_together(pair.before, pair.after)


def category_of(name: str) -> Category:
    """The category of a step, with what it takes from other files."""
    return WHOLE[name.partition(".")[0]]


def step_of(name: str) -> Step:
    """The step or look of that name."""
    return _steps()[name]


@cache
def _steps() -> Mapping[str, Step]:
    return {f"{name}.{step.key}": step for name, whole in WHOLE.items() for step in (*whole.used, *whole.steps)}


def _handles(step: Step, category: Category, part: str) -> bool:
    """Is it a step of such a part, or does it fit or touch one?"""
    fitted = () if isinstance(step.fits, bool) else step.fits
    named = {category.category, *fitted, *step.touches}
    return bool(named & {part, *LIBRARY.categories[part].stands_in_for})


def never_together(one: str, other: str) -> bool:
    """Are the two never on one bicycle at the same end? By what their categories are, or by their conditions."""
    here, there = category_of(one), category_of(other)
    if here.category != there.category:
        names = {here.category, there.category}
        if _roles(here) & _roles(there) or any(names <= group for group in ONE_OF_THESE):
            return True
    mine, theirs = _wants(one), _wants(other)
    return mine.excludes(theirs) or theirs.excludes(mine)


def _roles(category: Category) -> set[str]:
    return {category.category, *category.stands_in_for}


UNREAD = ("any", "any_part", "checklist", "end", "finding", "job", "origin", "side")


@dataclass(frozen=True)
class _Wants:
    """What a step's condition asks for: facts with the values they may have, parts that are there, tables that fail."""

    facts: Mapping[str, frozenset[Any]]
    there: frozenset[str]
    absent: frozenset[str]
    fail: tuple["_Wants", ...] = ()

    def excludes(self, other: "_Wants") -> bool:
        """Can the two never hold together, as far as this one says?"""
        if self.there & other.absent:
            return True
        if any(not self.facts[key] & other.facts[key] for key in self.facts.keys() & other.facts.keys()):
            return True
        return any(table.follows_from(other) for table in self.fail)

    def follows_from(self, other: "_Wants") -> bool:
        """Does all of it hold wherever the other holds?"""
        known = all(key in other.facts and other.facts[key] <= values for key, values in self.facts.items())
        return known and self.there <= other.there and not self.absent and not self.fail


def _wants(name: str) -> _Wants:
    category = category_of(name)
    wants = _read(step_of(name).when, category.category)
    return _Wants(wants.facts, wants.there | _roles(category), wants.absent, wants.fail)


def _read(when: Mapping[str, Any], category: str) -> _Wants:
    """The plain part of a condition; what it leaves unread only makes fewer pairs exclude each other."""
    facts: dict[str, frozenset[Any]] = {}
    named: dict[str, frozenset[str]] = {"has": frozenset(), "role": frozenset(), "lacks": frozenset()}
    fail: list[_Wants] = []
    for key, value in when.items():
        if key == "not":
            fail += [_read(table, category) for table in value.get("any", [value])]
        elif key in UNREAD or isinstance(value, Mapping):
            continue
        elif key in named:
            named[key] = frozenset([value] if isinstance(value, str) else value)
        else:
            facts[key if "." in key else f"{category}.{key}"] = frozenset(value if isinstance(value, list) else [value])
    there = [names for names in (named["has"], named["role"]) if len(names) == 1]
    return _Wants(facts, frozenset().union(*there), named["lacks"], tuple(fail))


PAIRS = [pair for pair in all_pairs() if not is_left_out(pair)]
