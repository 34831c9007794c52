"""The gears of a whole bicycle: against published figures, and what must hold of any."""

from math import pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.gears import Gears, gears, is_crossed
from service.domain.procedure import Library
from tests.domain.reckoned_bicycle import SPROCKETS, ReckonedBicycle


@pytest.fixture
def made(library: Library) -> ReckonedBicycle:
    return ReckonedBicycle(library)


def of(made: ReckonedBicycle, library: Library, **asked: float) -> Gears:
    return gears(made.bicycle(), library, **asked)


def test_every_ring_meets_every_sprocket_from_low_to_high(made: ReckonedBicycle, library: Library) -> None:
    found = of(made, library, cadence_rpm=90)
    assert len(found.gears) == 2 * len(SPROCKETS)
    assert (found.gears[0].ring_teeth, found.gears[0].sprocket_teeth) == (34, 34)
    assert (found.gears[-1].ring_teeth, found.gears[-1].sprocket_teeth) == (50, 11)
    ratios = [each.ratio for each in found.gears]
    assert ratios == sorted(ratios)
    assert found.range_percent == pytest.approx(50 / 11 * 100)
    assert found.not_known == ()


# 25-622 rolls 2105 mm by the table at https://www.spudd64.com/what-is-the-circumference-of-a-700x23c-bike-tire/
def test_the_wheel_is_reckoned_from_the_rear_tyre_unless_it_was_rolled_out(
    made: ReckonedBicycle, library: Library
) -> None:
    made.give("tyre@rear", width_on_rim_mm=25)
    found = of(made, library)
    assert found.circumference_mm == pytest.approx(2105, rel=0.005)
    assert found.gears[0].development_m == pytest.approx(2.105, rel=0.005)  # 34 to 34: once round
    assert "roll-out" in found.assumes[0]
    rolled = of(made, library, circumference_mm=2105)
    assert rolled.gears[0].development_m == pytest.approx(2.105)
    assert rolled.assumes == ()


# 16 CFR 1512.5, footnote 3: 15 mph at 60 turns a minute, here 24 km/h: 6.67 m, https://www.ecfr.gov/current/title-16/part-1512/section-1512.5
def test_the_speed_is_that_of_the_cadence(made: ReckonedBicycle, library: Library) -> None:
    made.give("chainring@outer", ring_teeth=34)
    made.give("cassette@rear", sprockets_teeth=[34], sprockets_count=1)
    [only] = of(made, library, cadence_rpm=60, circumference_mm=1000 * 400 / 60 / 2.5).gears
    assert only.speed_kmh == pytest.approx(24 / 2.5)
    assert only.gain_ratio == pytest.approx(400 / 60 / 2.5 * 1000 / (2 * pi * 170))


def test_steps_are_between_neighbours_on_one_ring(made: ReckonedBicycle, library: Library) -> None:
    steps = {(each.ring_teeth, each.sprocket_teeth): each.step_percent for each in of(made, library).gears}
    assert steps[50, 12] == pytest.approx(100 / 11)  # 12 to 11
    assert steps[34, 34] == pytest.approx((34 / 28 - 1) * 100)
    assert steps[50, 11] is None


def test_overlap_counts_the_small_rings_gears_that_the_large_one_covers(
    made: ReckonedBicycle, library: Library
) -> None:
    [overlap] = of(made, library).overlaps
    # lowest on 50 is 50/34 = 1.47; on 34 the sprockets up to 22 (1.55) are higher, 25 (1.36) is not: by hand
    assert overlap.gears_count == 7
    assert overlap.ring_step_percent == pytest.approx(100 * 16 / 34)


# https://jitetan.com/term/total_capacity.html: 44/24 with 12 to 34 needs 42
def test_the_capacity_that_is_wanted_is_the_published_one(made: ReckonedBicycle, library: Library) -> None:
    made.give("chainring@inner", ring_teeth=24)
    made.give("chainring@outer", ring_teeth=44)
    made.give("cassette@rear", sprockets_teeth=[12, 34], smallest_teeth=12, largest_teeth=34)
    limits = {each.what: each for each in of(made, library).limits}
    taken_up = limits["rear derailleur, teeth to take up"]
    assert (taken_up.wanted_teeth, taken_up.takes_teeth, taken_up.answer) == (42, 39, "not enough")
    assert limits["rear derailleur, largest sprocket"].answer == "enough"
    assert limits["rear derailleur, difference of rings"].answer == "not enough"  # 20 against 16


def test_sprockets_that_nobody_entered_are_left_out_and_asked_for(made: ReckonedBicycle, library: Library) -> None:
    made.give("cassette@rear", sprockets_teeth=None)
    found = of(made, library)
    assert len(found.gears) == 4
    assert not found.complete
    assert [each.field for each in found.not_known] == ["sprockets_teeth"]
    assert {each.step_percent for each in found.gears} == {None}
    assert "left out" in " ".join(found.assumes)


@pytest.mark.parametrize("teeth", [0, -3, 33.5])
def test_teeth_that_cannot_be_are_asked_for_again_and_no_gear_is_made_of_them(
    teeth: float, made: ReckonedBicycle, library: Library
) -> None:
    made.give("chainring@inner", ring_teeth=teeth)
    found = of(made, library)
    assert {each.ring_teeth for each in found.gears} == {50}
    assert ("chainring", "ring_teeth") in {(each.category, each.field) for each in found.not_known}
    assert {each.answer for each in found.limits if "rings" in each.what or "take up" in each.what} == {"not known"}


def test_without_a_crankset_and_rings_there_is_nothing_but_what_is_wanted(library: Library) -> None:
    made = ReckonedBicycle(library)
    for place in ("inner", "outer"):
        made.made.shop.take_off(made.parts[f"chainring@{place}"])
    found = gears(made.bicycle(), library)
    assert found.gears == ()
    assert found.range_percent is None
    assert "chainring" in {each.category for each in found.not_known}


def test_a_hub_gear_multiplies_and_its_least_ratio_is_compared(library: Library) -> None:
    made = ReckonedBicycle(library)
    shop, wheel = made.made.shop, made.parts["wheel@rear"]
    for name in ("hub@rear", "cassette@rear", "rear-derailleur@rear", "front-derailleur@front", "chainring@inner"):
        shop.take_off(made.parts[name])
    hub = shop.part("internal-gear-hub", sprocket_teeth=20, gears_count=3, min_primary_ratio=1.9)
    shop.fit(hub, "", wheel)
    made.parts["hub gear"] = hub
    made.give("crankset", rings_count=1)
    made.give("chainring@outer", ring_teeth=40)
    made.give("hub gear", gears_ratio=[0.75, 1.0, 1.333])
    found = gears(made.bicycle(), library, circumference_mm=2000)
    assert [each.ratio for each in found.gears] == pytest.approx([1.5, 2.0, 2.666])
    assert [each.development_m for each in found.gears] == pytest.approx([3.0, 4.0, 5.332])
    assert [each.hub_gear for each in found.gears] == [1, 2, 3]
    assert found.primary_ratio == 2.0
    assert found.least_primary_ratio == 1.9
    made.give("hub gear", gears_ratio=None)
    unknown = gears(made.bicycle(), library)
    assert unknown.gears == ()
    assert {"low_ratio", "high_ratio", "gears_ratio"} <= {each.field for each in unknown.not_known}


def test_the_chain_is_crossed_on_the_far_sprockets_of_a_ring() -> None:
    rings, pile = (34, 50), tuple(SPROCKETS)
    crossed = {(ring, each) for ring in rings for each in pile if is_crossed(rings, pile, ring, each)}
    assert crossed == {(34, 11), (34, 12), (50, 28), (50, 34)}
    triple = (22, 32, 42)
    assert {each for each in pile if is_crossed(triple, pile, 32, each)} == {11, 34}
    assert {each for each in pile if is_crossed(triple, pile, 42, each)} == {25, 28, 34}
    assert not any(is_crossed((42,), pile, 42, each) for each in pile)


@given(st.lists(st.integers(20, 60), min_size=2, max_size=2, unique=True))
def test_which_ring_is_named_first_changes_nothing(library: Library, teeth: list[int]) -> None:
    found = []
    for order in (teeth, teeth[::-1]):
        made = ReckonedBicycle(library)
        for place, each in zip(("inner", "outer"), order, strict=True):
            made.give(f"chainring@{place}", ring_teeth=each)
        found.append([(each.ring_teeth, each.sprocket_teeth, each.ratio) for each in of(made, library).gears])
    assert found[0] == found[1]
