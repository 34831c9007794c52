"""The chain of a whole bicycle: against worked lengths, its offcut and its slack."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.chain import links_exact, links_past_derailleur, links_to_fit, slack_teeth
from service.domain.chain_needed import ChainNeeded, chain_needed
from service.domain.procedure import Library
from tests.domain.reckoned_bicycle import ReckonedBicycle


def of(made: ReckonedBicycle, library: Library) -> ChainNeeded:
    return chain_needed(made.bicycle(), library)


# Budynas and Nisbett, solutions manual, problem 17-26: 21 and 84 teeth, 20 in, half an inch of pitch: 135 pitches,
# https://www.coursehero.com/file/6628931/24-ch-17-Mechanical-Design-budynas-SM-ch17/
def test_a_taut_run_is_the_published_one(library: Library) -> None:
    made = ReckonedBicycle(library)
    for name in ("rear-derailleur@rear", "front-derailleur@front", "cassette@rear", "chainring@inner"):
        made.made.shop.take_off(made.parts[name])
    single = made.made.shop.part("single-sprocket", sprocket_teeth=21)
    made.made.shop.fit(single, "", made.parts["wheel@rear"])
    made.give("crankset", rings_count=1)
    made.give("chainring@outer", ring_teeth=84)
    made.give("frame", chainstay_mm=508)
    found = of(made, library)
    assert found.links_approximate == pytest.approx(135.013, abs=0.1)
    assert found.links_exact == pytest.approx(135.027, abs=0.1)
    assert (found.derailleur, found.links_needed_count) == (False, 136)
    assert (found.slack_teeth, found.offcut_links_count) == (None, 114 - 136)
    assert found.answer == "too short"


# the exact form for 11 and 50 teeth, 32.3 pitches: 96.29650, worked with a general numerical library
def test_a_derailleur_takes_one_inch_more_and_the_rest_is_cut_off(library: Library) -> None:
    made = ReckonedBicycle(library)
    made.give("cassette@rear", sprockets_teeth=[11, 11], sprockets_count=2, smallest_teeth=11, largest_teeth=11)
    made.give("frame", chainstay_mm=32.3 * 12.7)
    found = of(made, library)
    assert found.links_exact == pytest.approx(96.2965, abs=1e-3)
    assert found.links_needed_count == 100  # 96.3 and 2 are 98.3, the next even number
    assert (found.offcut_links_count, found.answer) == (14, "long enough")
    assert found.not_known == ()


def test_slack_on_small_and_small_is_what_a_capacity_counts(library: Library) -> None:
    found = of(ReckonedBicycle(library), library)
    # (50 - 34) + (34 - 11) = 39 teeth, as https://jitetan.com/term/total_capacity.html counts them
    assert found.slack_teeth == pytest.approx(39, abs=0.5)
    assert found.capacity_teeth == 39


@pytest.mark.parametrize(
    ("capacity", "answer"),
    [(45, "taken up"), (37, "never ride small with small"), (30, "too much"), (None, "not known")],
)
def test_slack_is_held_against_the_derailleur(library: Library, capacity: int | None, answer: str) -> None:
    made = ReckonedBicycle(library)
    made.give("rear-derailleur@rear", capacity_teeth=capacity)
    assert of(made, library).slack_answer == answer


def test_ring_and_sprocket_that_overlap_give_no_figure_but_a_sentence(library: Library) -> None:
    made = ReckonedBicycle(library)
    made.give("frame", chainstay_mm=120)
    found = of(made, library)
    assert (found.links_exact, found.links_needed_count, found.answer) == (None, None, "not known")
    assert "overlap" in (found.cannot or "")
    made.give("frame", chainstay_mm=430)
    made.give("chainring@inner", ring_teeth=3)
    assert "count the teeth" in (of(made, library).cannot or "")


def test_what_is_not_entered_is_asked_for(library: Library) -> None:
    made = ReckonedBicycle(library)
    made.give("frame", chainstay_mm=None)
    made.give("chain", links_count=None)
    found = of(made, library)
    assert [(each.category, each.field) for each in found.not_known] == [
        ("frame", "chainstay_mm"),
        ("chain", "links_count"),
    ]
    assert (found.links_needed_count, found.answer) == (None, "not known")
    assert {"chainring", "cassette", "rear-derailleur"} <= {each.category for each in found.inputs}
    assert {each.known_by for each in found.inputs} == {"measured"}


TEETH, SPROCKETS, STAY = st.integers(20, 60), st.integers(10, 52), st.floats(380, 500)


@given(TEETH, SPROCKETS, STAY)
def test_a_chain_is_even_and_never_shorter_than_its_run(ring: int, sprocket: int, stay: float) -> None:
    run, fits = links_exact(ring, sprocket, stay), links_past_derailleur(ring, sprocket, stay)
    assert fits % 2 == 0
    assert run + 2 <= fits + 1e-9 < run + 4 + 1e-6
    assert links_to_fit(run) <= fits


@given(TEETH, SPROCKETS, STAY)
def test_a_longer_stay_wants_a_longer_chain_and_each_link_more_is_two_teeth_of_slack(
    ring: int, sprocket: int, stay: float
) -> None:
    assert links_exact(ring, sprocket, stay + 5) > links_exact(ring, sprocket, stay)
    assert slack_teeth(101, ring, sprocket, stay) - slack_teeth(100, ring, sprocket, stay) == pytest.approx(2)
