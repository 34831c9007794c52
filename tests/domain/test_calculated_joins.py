"""Each calculated join, from parts that meet with one or two facts changed: on each side of every limit, and unknown.

The limits are those of the joins they stand for: the source stands above each group, or that it has none. Where a fact
is not known the finding says so, unless what is known decides already.
"""

import math

import pytest

from service.domain.calculations import CALCULATIONS
from tests.domain.reckoned import bicycle, books, changed, finding, shown
from tests.domain.reckoned_bases import BASES
from tests.domain.reckoned_cases import CASES, WEIGHED, Case
from tests.domain.reckoned_more_cases import MORE_CASES

ALL = [*CASES, *MORE_CASES]
KINDS = ("meets", "needs care", "conflicts", "not measured yet")
NEVER = {
    "tyre.overall-diameter": {"conflicts"},
    "whole-bicycle.chain-guard": {"conflicts"},
    "whole-bicycle.reflectors": {"conflicts"},
    "dropper-post.insertion": {"needs care"},
    "shifter.shift-index": set[str](),
}
"""Answers that a join has not: what it judges is advice, or has no way that works with care."""


def facts_of(case: Case) -> dict[str, object]:
    """The build's own facts: weighed, where a mass is asked for."""
    return (WEIGHED if case.join == "whole-bicycle.mass-limit" else {}) | dict(case.build)


@pytest.mark.parametrize("case", ALL, ids=lambda case: f"{case.join}: {case.answer} {case.changes or ''}"[:110])
def test_a_calculated_join_answers_as_its_rule_says(case: Case) -> None:
    met = finding(case.join, changed(BASES[case.join], *case.changes), **facts_of(case))
    assert shown(met) == case.answer, met.say
    if case.answer == "not measured yet":
        assert {each.field for each in met.measure} == set(case.asks)
        assert all(each.how for each in met.measure)


@pytest.mark.parametrize("join", BASES)
def test_every_calculated_join_has_a_case_for_each_of_its_answers(join: str) -> None:
    owner, _, key = join.partition(".")
    (declared,) = [each for each in books().categories[owner].joins if each.key == key]
    met = {case.answer for case in ALL if case.join == join}
    assert {each.partition(":")[0] for each in met} == set(KINDS) - NEVER.get(join, set())
    assert {each.partition(": ")[2] for each in met if ":" in each} == set(declared.care_keys)


def test_every_calculation_has_its_cases() -> None:
    named = {
        each.by
        for name, category in books().categories.items()
        for each in category.joins
        if f"{name}.{each.key}" in BASES
    }
    assert named == set(CALCULATIONS)


@pytest.mark.parametrize("join", BASES)
def test_every_fact_that_a_calculation_reads_is_compared_or_asked_for_in_some_case(join: str) -> None:
    """A fact that no case shows would be an input that is read in vain."""
    owner, _, key = join.partition(".")
    (declared,) = [each for each in books().categories[owner].joins if each.key == key]
    read: set[str] = set()
    for case in (each for each in ALL if each.join == join):
        met = finding(join, changed(BASES[join], *case.changes), **facts_of(case))
        read |= {each.field for each in met.facts} | {each.field for each in met.measure}
    assert {each.rpartition(".")[2] for each in declared.inputs} <= read


@pytest.mark.parametrize(
    ("join", "changes", "words"),
    [
        # Steerer − head tube − stacks − clamp + 3: 264 − 150 − 25 − 40 + 3 = 52 (arithmetic)
        ("headset.stack", [("fork.steerer_length_mm", 264)], "52 mm of spacers would stand under the stem, 40 mm"),
        ("headset.stack", [("fork.steerer_length_mm", 264)], "cut 12 mm or more"),
        ("chain.length", [("chain.links_count", 112)], "112 links, 108 are needed: cut 4 off"),
        ("chain.length", [("chain.links_count", 106)], "The chain has 106 links, 108 are needed."),
        ("chain.length", [("frame.chainstay_mm", None), ("chain.links_count", 120)], "not measured yet."),
        ("seatpost.depth", [("seatpost.exposed_mm", 99)], "cut 1 mm off its lower end"),
        ("seatpost.depth", [("seatpost.exposed_mm", None)], "once the rider's height is settled"),
        ("rack.load", [("rack@rear.fixing", "p_clips")], "the racks carry 27.5 kg"),
        ("tyre.pressure-ceiling", [("tyre@front.pressure_planned_kpa", None)], "At most 450 kPa (tyre)."),
        ("spokes.length", [("spokes@front.left.length_mm", 267)], "266 mm is the length to buy"),
        ("whole-bicycle.reflectors", [("pedals.reflectors", False)], "both faces of each pedal"),
        ("whole-bicycle.two-brakes", ["-cable-disc-caliper@rear"], "No brake works on the rear wheel."),
        ("whole-bicycle.two-brakes", [("brake-lever@right.works_brake", "front")], "do not have a lever each"),
    ],
)
def test_a_finding_says_the_numbers_that_were_computed(join: str, changes: list[object], words: str) -> None:
    assert words in finding(join, changed(BASES[join], *changes)).say  # type: ignore[arg-type]


def test_a_conflict_ends_with_what_happens_if_it_is_ignored() -> None:
    met = finding("chain.length", changed(BASES["chain.length"], ("chain.links_count", 100)))
    (declared,) = [each for each in books().categories["chain"].joins if each.key == "length"]
    assert met.say.endswith(declared.say)


# Computed with the exact form by another program, not published: taut runs of 96.60270, 96.29650, 88.50895 pitches
@pytest.mark.parametrize(
    ("ring", "sprocket", "pitches", "taut"),
    [(44, 16, 33.0, 96.60270), (50, 11, 32.3, 96.29650), (34, 11, 32.8, 88.50895)],
)
def test_a_chain_needs_two_links_more_than_the_taut_run(ring: int, sprocket: int, pitches: float, taut: float) -> None:
    parts = changed(
        BASES["chain.length"], "-chainring@inner", ("chainring@outer.ring_teeth", ring),
        ("cassette@rear.largest_teeth", sprocket), ("frame.chainstay_mm", pitches * 12.7),
        ("cassette@rear.smallest_teeth", 11),
    )  # fmt: skip
    enough = 2 * math.ceil((taut + 2) / 2)
    assert finding("chain.length", changed(parts, ("chain.links_count", enough))).answer == "meets"
    assert finding("chain.length", changed(parts, ("chain.links_count", enough - 2))).answer == "conflicts"


# Published: 36 spokes, 3 crosses, r 29, o 39, R 277.5, s 1.3: 265.8 mm (http://tristable.net/bike/spoke_length.txt)
@pytest.mark.parametrize(("length", "answer"), [(264.8, "meets"), (266.7, "meets"), (264.7, "needs care: within-two")])
def test_a_spoke_is_judged_by_the_published_length(length: float, answer: str) -> None:
    parts = changed(BASES["spokes.length"], ("spokes@front.left.length_mm", length))
    assert shown(finding("spokes.length", parts)) == answer


def test_an_offset_rim_brings_the_flanges_nearer_to_one_another() -> None:
    """Derived: holes 2.5 mm off the middle stand as if the flanges were moved by as much."""
    moved = changed(
        BASES["spokes.length"], ("hub@front.flange_left_mm", 35), ("hub@front.flange_right_mm", 20),
        ("rim@front.offset_mm", 2.5),
    )  # fmt: skip
    straight = changed(moved, ("hub@front.flange_left_mm", 32.5), ("rim@front.offset_mm", 0))
    assert finding("spokes.length", moved).say == finding("spokes.length", straight).say


def test_all_parts_of_one_role_are_judged_together() -> None:
    three = changed(
        BASES["rear-derailleur.capacity"], ("crankset.rings_count", 3), ("chainring@middle.ring_teeth", 40),
        ("chainring@inner.ring_teeth", 24),
    )  # fmt: skip
    met = finding("rear-derailleur.capacity", three)
    assert met.answer == "conflicts"  # 50 − 24 + 28 − 11 = 43, the cage takes up 35
    assert len([each for each in met.facts if each.field == "ring_teeth"]) == 3


def test_a_part_that_stands_in_for_others_is_reckoned_with_where_it_has_the_facts() -> None:
    bar = {"one-piece-bar": {"clamp_height_mm": 40}}
    met = finding("headset.stack", changed(BASES["headset.stack"], "-stem") | bar)
    assert met.answer == "meets"
    parts = changed(BASES["headset.stack"], "-stem") | {"quill-stem": {}}
    with pytest.raises(AssertionError, match="0 findings"):
        finding("headset.stack", parts)  # it has no clamp height: the sum does not exist for it


def test_a_dropper_is_not_judged_as_a_post_that_can_be_cut() -> None:
    with pytest.raises(AssertionError, match="0 findings"):
        finding("seatpost.depth", BASES["dropper-post.depth"])


def test_an_empty_build_has_no_joins() -> None:
    assert bicycle({}).placed == ()
    with pytest.raises(AssertionError, match="0 findings"):
        finding("whole-bicycle.two-brakes", {})
