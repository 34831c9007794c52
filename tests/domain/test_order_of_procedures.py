"""The order of the procedures that come with the program: what must come before what, whatever parts are there.

The pairs are those of `trade_order.py`, every direct need between two steps as the trade has it: common practice, no
source. A step of each part comes before the steps of that part, a step at one end before its like there.
"""

import random
from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from uuid import UUID

import pytest

from service.domain.ends import ends_of
from service.domain.order import Node, edges, ends_at
from service.domain.procedure import Library, Need, Step
from service.domain.steps import Checklist, ChecklistStep
from tests.domain import trade_order
from tests.domain.bicycles import Workshop, by_id, without_place
from tests.domain.random_bicycles import any_bicycle
from tests.domain.trade_order import LIBRARY, WHOLE, step_of

PAIRS = [(pair.before, pair.after) for pair in trade_order.PAIRS]
ALL_STEPS = {f"{name}.{step.key}" for name, whole in WHOLE.items() for step in (*whole.used, *whole.steps)}
ADDED = {f"{name}.{join.accepting_adds}" for name, whole in WHOLE.items() for join in whole.joins}
"""What only accepting a finding adds."""
SAME_PART = {("shifter.charge", "shifter.pair"), ("combined-lever.charge", "combined-lever.pair")}


def nodes_of(library: Library) -> dict[str, list[Node]]:
    met: dict[str, list[Node]] = defaultdict(list)
    for name, step, place in library.order:
        met[f"{name}.{step}"].append(Node(name, step, place))
    return met


def reached(library: Library) -> dict[Node, set[Node]]:
    """For each node everything that must come after it, from the files alone."""
    following: dict[Node, set[Node]] = defaultdict(set)
    for edge in edges(WHOLE, library.milestones):
        following[edge.before].add(edge.after)
    met: dict[Node, set[Node]] = {}
    for node in sorted(library.order, key=lambda each: -library.order[each]):
        here = Node(*node)
        met[here] = set().union(*({after} | met[after] for after in following[here]))
    return met


def test_there_are_pairs_to_check_and_every_step_named_exists() -> None:
    nodes = nodes_of(LIBRARY)
    assert len(PAIRS) > 1400
    assert {name for pair in PAIRS for name in pair} <= set(nodes)


def test_every_pair_follows_from_the_files() -> None:
    nodes, after = nodes_of(LIBRARY), reached(LIBRARY)
    broken = [
        f"{one.shown()} is not before {other.shown()}"
        for before, later in PAIRS
        for one in nodes[before]
        for other in nodes[later]
        if _share_an_end(one, other)
        and ((before, later) not in SAME_PART or one.place == other.place)
        and other not in after[one]
    ]
    assert broken == []


def _share_an_end(one: Node, other: Node) -> bool:
    here = ends_at(LIBRARY.categories[one.category], one.place)
    there = ends_at(LIBRARY.categories[other.category], other.place)
    return not here or not there or bool(here & there)


@pytest.mark.slow
def test_every_pair_holds_on_300_random_parts_lists_with_a_quarter_left_out() -> None:
    dice = random.Random(23)
    checked = 0
    for _ in range(300):
        shop = any_bicycle(LIBRARY, dice)
        broken, count = broken_pairs(shop, shop.checklist())
        assert broken == []
        checked += count
    assert checked > 30_000


def test_every_pair_holds_on_a_few_random_parts_lists() -> None:
    dice = random.Random(24)
    for _ in range(15):
        shop = any_bicycle(LIBRARY, dice)
        broken, count = broken_pairs(shop, shop.checklist())
        assert broken == []
        assert count > 50


def test_the_random_bicycles_have_parts_of_every_category_and_nearly_every_step() -> None:
    dice = random.Random(29)
    kinds: set[str] = set()
    steps: set[str] = set()
    for _ in range(40):
        shop = any_bicycle(LIBRARY, dice)
        kinds |= {part.category for part in shop.parts.values()}
        steps |= without_place(by_id(shop.checklist()))
    assert set(LIBRARY.categories) - kinds == {"whole-bicycle", "shim"}
    built = {name for name in ALL_STEPS if "assemble" in step_of(name).jobs} - ADDED
    assert len(built & steps) > 0.97 * len(built), sorted(built - steps)


def broken_pairs(shop: Workshop, checklist: Checklist) -> tuple[list[str], int]:
    """The pairs that the order of a checklist breaks, and how many there were to hold."""
    at = {step.id: number for number, step in enumerate(checklist.steps)}
    named: dict[str, list[ChecklistStep]] = defaultdict(list)
    for step in checklist.steps:
        named[step.id.partition("@")[0].partition(":")[0]].append(step)
    seats = {placed.part.id: Seat(placed.slot, ends_of(placed, shop.library).names) for placed in shop.bicycle().placed}
    pairs = [
        (one, other)
        for before, later in PAIRS
        for one in named[before]
        for other in named[later]
        if _concern_each_other(one, other, seats, same_part=(before, later) in SAME_PART)
    ]
    broken = [f"{other.id} comes before {one.id}" for one, other in pairs if at[other.id] < at[one.id]]
    return broken, len(pairs)


@dataclass(frozen=True)
class Seat:
    """What a part is and at which ends it works."""

    slot: str
    ends: frozenset[str]


def _concern_each_other(
    one: ChecklistStep, other: ChecklistStep, seats: Mapping[UUID, Seat], *, same_part: bool
) -> bool:
    """Must the first come before the second here? What is done for each part: before that part's steps and fitting."""
    mine, theirs = _own_part(one), _own_part(other)
    here = seats[mine].ends if mine else frozenset()
    there = seats[theirs].ends if theirs else frozenset()
    beside = not here or not there or bool(here & there)
    if mine is None or (":" not in one.id and not same_part):
        return beside
    named = _named_in_needs(one, other)
    if named:
        return seats[mine].slot in named and beside
    return mine == theirs or mine in other.fits


def _own_part(step: ChecklistStep) -> UUID | None:
    if ":" in step.id:
        return UUID(step.id.partition(":")[2])
    return step.parts[0] if step.category != "whole-bicycle" else None


def _named_in_needs(one: ChecklistStep, other: ChecklistStep) -> frozenset[str]:
    """The categories that the second names where it needs what the first gives: only those parts are waited for."""
    given = set(_step_of(one).gives)
    return frozenset(
        name for need in _step_of(other).needs if isinstance(need, Need) and need.milestone in given for name in need.of
    )


def _step_of(shown: ChecklistStep) -> Step:
    return step_of(shown.id.partition("@")[0].partition(":")[0])


def test_the_rider_is_measured_before_every_cut_on_random_parts_lists() -> None:
    dice = random.Random(25)
    cuts = 0
    for _ in range(15):
        for checklist in _checklists(dice):
            ids = [step.id for step in checklist.steps]
            if "whole-bicycle.position" in ids:
                late = [step.id for step in checklist.steps[: ids.index("whole-bicycle.position")] if step.cuts]
                assert late == []
                cuts += sum(step.cuts for step in checklist.steps)
    assert cuts > 30


def _checklists(dice: random.Random) -> Iterator[Checklist]:
    yield any_bicycle(LIBRARY, dice).checklist()


def test_every_wait_named_by_a_step_stands_above_it() -> None:
    dice = random.Random(26)
    for _ in range(10):
        checklist = any_bicycle(LIBRARY, dice).checklist()
        at = {step.id: number for number, step in enumerate(checklist.steps)}
        assert all(at[before] < at[step.id] for step in checklist.steps for before in step.after)


def test_ids_are_each_there_once() -> None:
    dice = random.Random(27)
    for _ in range(10):
        checklist = any_bicycle(LIBRARY, dice).checklist()
        assert len(by_id(checklist)) == len(checklist.steps)
