"""Joins by what is marked until it is measured, and what their words name (derived from the rules, no source)."""

from dataclasses import replace
from typing import Any

import pytest

from service.domain.procedure import CareCase, Join
from tests.domain.garage import category, library, number
from tests.domain.reckoned import finding
from tests.domain.test_joins import found, join

FITS = {"mine": "size_mm", "is": "at least", "theirs": "hole.wide_mm", "give": 0}


def marked(*joins: Join) -> Any:
    """Pegs, and holes whose width is marked first and measured later: the two may be 2 mm apart."""
    hole = (
        number("mark_mm"),
        replace(number("wide_mm"), until_measured="mark_mm", marked_within=2),
        number("least_mm"),
    )
    return library(
        category("peg", specs=(number("size_mm"),), joins=joins, places=("front", "rear")),
        category("hole", specs=hole, places=("front", "rear")),
        category("frame"),
    )


@pytest.mark.parametrize(
    ("hole", "answer", "field"),
    [
        ({"mark_mm": 38}, "meets", "mark_mm"),
        ({"mark_mm": 38.1}, "needs care", "mark_mm"),
        ({"mark_mm": 42}, "needs care", "mark_mm"),
        ({"mark_mm": 42.1}, "conflicts", "mark_mm"),
        ({"mark_mm": 45, "wide_mm": 40}, "meets", "wide_mm"),
        ({"mark_mm": 35, "wide_mm": 40.1}, "conflicts", "wide_mm"),
    ],
)
def test_the_mark_answers_until_it_is_measured_and_needs_care_where_it_is_close(
    hole: dict[str, float], answer: str, field: str
) -> None:
    one = found(marked(join(meets_if=(FITS,))), {"size_mm": 40}, hole)
    assert one.answer == answer
    assert [each.field for each in one.facts] == ["size_mm", field]
    assert ("marked" in one.say) is (field == "mark_mm")


def test_without_a_mark_it_is_the_mark_that_is_asked_for() -> None:
    one = found(marked(join(meets_if=(FITS,))), {"size_mm": 40}, {})
    assert one.answer == "not measured yet"
    assert [each.field for each in one.measure] == ["mark_mm"]


def test_a_test_that_counts_only_with_a_known_fact_asks_for_nothing() -> None:
    listed = {"mine": "size_mm", "is": "at least", "theirs": "hole.least_mm", "if_known": True}
    either = {"any": [[listed], [{"mine": "size_mm", "is": "equal", "than": 10}]]}
    books = marked(join(meets_if=(either,)))
    assert found(books, {"size_mm": 10}, {}).answer == "meets"
    assert found(books, {"size_mm": 11}, {}).answer == "conflicts"
    assert found(books, {"size_mm": 11}, {"least_mm": 11}).answer == "meets"


def test_words_name_any_fact_of_the_parts_that_meet() -> None:
    say = "Peg {size_mm}, hole {hole.mark_mm}, at least {hole.least_mm}."
    case = CareCase(key="loose", say="Loose: {hole.mark_mm}.", tests=({"mine": "size_mm", "is": "at most", "than": 5},))
    books = marked(join(say=say, meets_if=(FITS,), care_if=(case,)))
    conflict = found(books, {"size_mm": 30}, {"mark_mm": 40, "wide_mm": 41})
    assert conflict.say == "Peg 30, hole 40, at least not known."
    assert found(books, {"size_mm": 5}, {"mark_mm": 40, "wide_mm": 41}).say == "Loose: 40."


def test_what_waits_for_a_decision_says_which_and_asks_for_no_measurement() -> None:
    one = finding("handlebar.to-cut", {"handlebar": {"width_mm": 700}})
    assert (one.answer, one.measure) == ("not measured yet", ())
    assert "Still to be decided: Width wanted. Decided at the position check" in one.say


@pytest.mark.parametrize(("inner", "answer"), [(26, "meets"), (28, "needs care")])
def test_ramps_are_cut_for_the_ring_beside_not_for_the_one_beyond_it(inner: int, answer: str) -> None:
    """Three rings: 26 looks at 36, 36 and 48 at each other; 26 and 48 never meet. Two rings of 28 and 36 do."""
    rings: dict[str, dict[str, Any]] = {
        "crankset": {"rings_count": 3 if inner == 26 else 2},
        "chainring@inner": {"seat": "inner", "ring_teeth": inner, "pair_teeth": 38},
        "chainring@outer": {"seat": "outer", "ring_teeth": 48, "pair_teeth": 36},
    }
    one = finding("chainring.pair", rings)
    assert one.answer == answer
    assert answer == "meets" or "Rings of 28 and 48" in one.say or "Rings of 48 and 28" in one.say


@pytest.mark.parametrize(
    ("inner", "low", "high", "answer"),
    [(30, 25, 35, "meets"), (30, 19, 26, "needs care"), (30, None, None, "needs care")],
)
def test_the_tyre_makers_own_list_goes_before_the_tables(inner: float, low: Any, high: Any, answer: str) -> None:
    tyre = {"width_marked_mm": 58, "rim_inner_min_mm": low, "rim_inner_max_mm": high}
    parts = {"rim@front": {"bead": "hooked", "inner_mm": inner}, "tyre@front": tyre}
    one = finding("tyre.rim-width", {key: {f: v for f, v in facts.items() if v} for key, facts in parts.items()})
    assert one.answer == answer
    assert answer == "meets" or "58 mm on a rim of 30" in one.say


def test_what_is_over_the_lowest_limit_is_told_with_the_part_that_has_it() -> None:
    parts = {"frame": {"max_system_mass_kg": 110}, "rim@front": {}, "wheel@front": {"max_system_mass_kg": 90}}
    one = finding("whole-bicycle.mass-limit", parts, rider_mass_g=95_000, load_g=0)
    assert one.answer == "conflicts"
    assert "at most 90 kg (wheel) for all together" in one.say
