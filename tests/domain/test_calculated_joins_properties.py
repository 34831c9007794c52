"""What holds of every calculated join whatever the figures: order, what is certain, more is never better."""

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.domain.condition import Answer
from service.domain.joins import Finding, look, with_joins
from service.domain.places import surroundings
from service.domain.span import SOME, UNKNOWN, Span, exactly, largest, said, smallest
from tests.domain.reckoned import Parts, bicycle, books, changed, finding, shown
from tests.domain.reckoned_bases import BASES
from tests.domain.reckoned_cases import CASES, WEIGHED, Case
from tests.domain.reckoned_more_cases import MORE_CASES

WORST_FIRST = ("conflicts", "needs care", "meets")
BY_ITS_MARKS = "shifter.shift-index"
"""Its marks alone decide where nothing is measured: what is measured later may say otherwise."""
CONFLICTS = [each for each in (*CASES, *MORE_CASES) if each.answer == "conflicts" and each.join != BY_ITS_MARKS]
NUMBERS = st.floats(0.1, 2000, allow_nan=False)


def found(case: Case, parts: Parts) -> Finding:
    weighed = WEIGHED if case.join == "whole-bicycle.mass-limit" else {}
    return finding(case.join, parts, **(weighed | dict(case.build)))


@pytest.mark.parametrize("join", BASES)
def test_the_order_in_which_parts_were_entered_changes_nothing(join: str) -> None:
    one, other = finding(join, BASES[join]), finding(join, dict(reversed(list(BASES[join].items()))))
    assert (one.answer, one.care, one.say) == (other.answer, other.care, other.say)
    assert sorted(_read(one)) == sorted(_read(other))


def _read(met: Finding) -> list[str]:
    return [f"{each.category}.{each.field} {each.number} {each.words}" for each in met.facts]


@settings(max_examples=300, deadline=None)
@given(st.data())
def test_a_conflict_that_is_certain_without_a_fact_stays_one_whatever_the_fact_is(data: st.DataObject) -> None:
    case = data.draw(st.sampled_from(CONFLICTS))
    parts = changed(BASES[case.join], *case.changes)
    numbers = [
        f"{key}.{field}"
        for key, facts in parts.items()
        for field, fact in facts.items()
        if isinstance(fact, int | float) and not isinstance(fact, bool) and field != "mass_g"
    ]
    if not numbers:
        return
    fact = data.draw(st.sampled_from(numbers))
    if found(case, changed(parts, (fact, None))).answer == "conflicts":
        assert found(case, changed(parts, (fact, data.draw(NUMBERS)))).answer == "conflicts"


@pytest.mark.parametrize(
    ("join", "fact", "low", "high"),
    [
        ("frame.clearance-side", "tyre@rear.width_marked_mm", 28, 80),
        ("frame.clearance-crown", "tyre@rear.width_marked_mm", 28, 80),
        ("mudguards.crown-room", "tyre@front.width_marked_mm", 28, 80),
        ("front-derailleur.tyre-gap", "tyre@rear.width_marked_mm", 28, 80),
        ("crankset.toe-room", "crankset.arm_length_mm", 100, 300),
        ("pedals.ground", "pedals.below_axle_mm", 0, 90),
        ("tyre.pressure-ceiling", "tyre@front.pressure_planned_kpa", 250, 900),
        ("rear-derailleur.capacity", "cassette@rear.largest_teeth", 11, 60),
        ("seatpost.depth", "seatpost.exposed_mm", 100, 340),
    ],
)
@settings(max_examples=40, deadline=None)
@given(st.data())
def test_more_of_it_is_never_better(join: str, fact: str, low: int, high: int, data: st.DataObject) -> None:
    two = sorted(data.draw(st.tuples(*[st.integers(low * 10, high * 10)] * 2)))
    less, more = (finding(join, changed(BASES[join], (fact, each / 10))).answer for each in two)
    assert WORST_FIRST.index(more) <= WORST_FIRST.index(less)


@settings(max_examples=60, deadline=None)
@given(st.integers(1, 130), st.integers(1, 60))
def test_a_rider_and_a_load_that_meet_do_so_when_they_weigh_less(rider_kg: int, load_kg: int) -> None:
    heavy: dict[str, Any] = WEIGHED | {"rider_mass_g": rider_kg * 1000, "load_g": load_kg * 1000}
    lighter = heavy | {"rider_mass_g": rider_kg * 900}
    one, other = (finding("whole-bicycle.mass-limit", BASES["whole-bicycle.mass-limit"], **f) for f in (heavy, lighter))
    assert WORST_FIRST.index(one.answer) <= WORST_FIRST.index(other.answer)


@pytest.mark.parametrize(
    ("name", "alternative", "mm", "answer"),
    [
        ("headset.stack", None, 264, Answer.YES),
        ("headset.stack", "to-cut", 264, Answer.YES),
        ("headset.stack", "bare", 264, Answer.NO),
        ("headset.stack", "to-cut", 250, Answer.NO),
        ("headset.stack", "to-cut", None, Answer.UNKNOWN),
    ],
)
def test_a_condition_can_ask_for_a_calculated_finding(
    name: str, alternative: str | None, mm: float | None, answer: Answer
) -> None:
    there = bicycle(changed(BASES["headset.stack"], ("fork.steerer_length_mm", mm)))
    around = with_joins(surroundings(there, books()))
    assert look(around.here(None), name, alternative).answer is answer


def test_the_fingerprint_changes_with_a_fact_and_with_a_fitting() -> None:
    one = finding("crankset.chainline", BASES["crankset.chainline"])
    other = finding("crankset.chainline", changed(BASES["crankset.chainline"], ("cassette@rear.stack_mm", 36)))
    same = finding("crankset.chainline", BASES["crankset.chainline"])
    assert one.fingerprint == same.fingerprint != other.fingerprint
    assert set(one.parts) == set(same.parts)
    assert len(one.parts) == 3  # crank, hub and sprockets


SPANS = st.tuples(st.floats(-1e6, 1e6), st.floats(-1e6, 1e6)).map(lambda two: Span(min(two), max(two)))


@given(SPANS, SPANS, st.floats(0, 1), st.floats(0, 1))
def test_what_is_said_of_spans_holds_of_every_number_in_them(one: Span, other: Span, a: float, b: float) -> None:
    """Derived: interval arithmetic encloses every result."""
    x, y = one.low + a * (one.high - one.low), other.low + b * (other.high - other.low)
    for span, number in (
        *((one + other, x + y), (one - other, x - y), (one.times(-2), -2 * x), (one.size(), abs(x))),
        *((largest([one, other]), max(x, y)), (smallest([one, other]), min(x, y))),
    ):
        assert span.low - 1e-3 <= number <= span.high + 1e-3
    over = one.over(other)
    assert over is Answer.UNKNOWN or (over is Answer.YES) == (x > y + 1e-9) or abs(x - y) < 1e-6
    assert one.under(other) is other.over(one)


@pytest.mark.parametrize(
    ("span", "words"),
    [
        (exactly(12.25), "12.2 mm"), (exactly(-0.04), "0 mm"), (exactly(40), "40 mm"), (SOME, "not known"),
        (UNKNOWN, "not known"), (Span(12, SOME.high), "at least 12 mm"), (Span(UNKNOWN.low, 3), "at most 3 mm"),
        (Span(10, 20), "10 to 20 mm"),
    ],
)  # fmt: skip
def test_a_span_in_words(span: Span, words: str) -> None:
    assert said(span) == words


def test_shown_names_what_needs_care() -> None:
    assert shown(finding("headset.stack", changed(BASES["headset.stack"], ("fork.steerer_length_mm", 264)))) == (
        "needs care: to-cut"
    )
