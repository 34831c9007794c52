"""The spokes of a whole bicycle: against published lengths; what to order, tension, dish."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.procedure import Library
from service.domain.spokes_needed import SpokesNeeded, WheelSpokes, spokes_needed
from service.domain.wheel import sideways_pull
from tests.domain.reckoned_bicycle import ReckonedBicycle


def of(made: ReckonedBicycle, library: Library) -> SpokesNeeded:
    return spokes_needed(made.bicycle(), library)


def wheel(found: SpokesNeeded, place: str) -> WheelSpokes:
    return next(each for each in found.wheels if each.place == place)


# "spoke length" note, http://tristable.net/bike/spoke_length.txt: 36 spokes, 3 crosses, r 29, o 39, R 277.5: 265.8 mm
def test_both_sides_of_an_even_wheel_are_the_published_length(library: Library) -> None:
    found = of(ReckonedBicycle(library), library)
    front = wheel(found, "front")
    assert [each.length_mm for each in front.sides] == pytest.approx([265.759, 265.759], abs=0.05)
    assert [each.order_mm for each in front.sides] == [266, 266]
    assert [each.tension_percent for each in front.sides] == [100, 100]
    assert [each.tighter for each in front.sides] == [False, False]
    assert front.dish_mm == 0
    [order] = front.order
    assert (order.length_mm, order.quantity_count, order.spares_count) == (266, 39, 3)
    assert found.not_known == ()


def test_a_dished_wheel_is_tight_where_the_flange_is_near_and_its_length_is_rounded_down(library: Library) -> None:
    made = ReckonedBicycle(library)
    made.give("hub@rear", flange_left_mm=35, flange_right_mm=19)
    rear = wheel(of(made, library), "rear")
    left, right = rear.sides
    assert left.length_mm is not None
    assert right.length_mm is not None
    assert (left.tighter, right.tighter, right.tension_percent) == (False, True, 100)
    assert right.order_mm == int(right.length_mm)
    # statics by hand: the tensions are to one another as length over offset
    assert left.tension_percent == pytest.approx(100 * (19 / right.length_mm) / (35 / left.length_mm))
    assert rear.dish_mm == 8  # (35 - 19) / 2


def test_an_off_centre_rim_evens_the_tensions(library: Library) -> None:
    made = ReckonedBicycle(library)
    made.give("hub@rear", flange_left_mm=35, flange_right_mm=19)
    even = wheel(of(made, library), "rear").sides[0].tension_percent
    made.give("rim@front", offset_mm=None)
    made.give("rim@rear", offset_mm=3)
    found = of(made, library)
    evener = wheel(found, "rear").sides[0].tension_percent
    assert even is not None
    assert evener is not None
    assert 50 < even < evener < 100
    assert any("off-centre" in each for each in found.assumes)
    assert any("nobody entered" in each for each in found.assumes)


def test_spokes_that_are_there_and_right_are_not_ordered(library: Library) -> None:
    made = ReckonedBicycle(library)
    made.give("spokes@front.left", length_mm=266)
    made.give("spokes@front.right", length_mm=262)
    front = wheel(of(made, library), "front")
    assert [each.difference_mm for each in front.sides] == pytest.approx([0.241, -3.759], abs=0.05)
    assert [(each.length_mm, each.quantity_count) for each in front.order] == [(266, 18 + 3)]


@pytest.mark.parametrize(
    ("name", "facts", "words"),
    [
        ("hub@rear", {"hole_circle_left_mm": 110, "hole_circle_right_mm": 110}, "wider than the rim"),
        ("spokes@rear.left", {"crosses_count": 4, "spokes_count": 12}, "head of its neighbour"),
    ],
)
def test_a_wheel_that_cannot_be_laced_says_so_and_gives_no_length(
    library: Library, name: str, facts: dict[str, float], words: str
) -> None:
    made = ReckonedBicycle(library)
    made.give("rim@rear", erd_mm=100 if "hub" in name else 555)
    made.give(name, **facts)
    rear = wheel(of(made, library), "rear")
    assert words in (rear.cannot or "")
    assert rear.sides == ()
    assert rear.order == ()


def test_what_is_not_measured_is_asked_for_with_how(library: Library) -> None:
    made = ReckonedBicycle(library)
    made.give("rim@front", erd_mm=None)
    found = of(made, library)
    [missing] = found.not_known
    assert (missing.category, missing.place, missing.field) == ("rim", "front", "erd_mm")
    assert "nipples" in missing.how
    assert [each.length_mm for each in wheel(found, "front").sides] == [None, None]
    assert wheel(found, "rear").sides[0].length_mm is not None


def test_without_a_hub_the_wheel_asks_for_one(library: Library) -> None:
    made = ReckonedBicycle(library)
    made.made.shop.take_off(made.parts["hub@front"])
    found = of(made, library)
    assert ("hub", None, "front") in {(each.category, each.part, each.place) for each in found.not_known}
    assert wheel(found, "front").dish_mm is None


@given(st.integers(8, 36), st.floats(5, 50), st.floats(200, 320))
def test_a_side_pulls_harder_with_more_spokes_and_a_wider_flange(count: int, offset: float, length: float) -> None:
    pull = sideways_pull(count, offset, length)
    assert sideways_pull(count + 2, offset, length) > pull
    assert sideways_pull(count, offset + 1, length) > pull > sideways_pull(count, offset, length + 1)
