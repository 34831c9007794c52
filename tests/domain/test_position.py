"""Bar and saddle: published stems and saddle heights, geometry that can be checked by hand, ways there and back."""

from datetime import UTC, datetime, timedelta
from math import cos, hypot, radians, sin
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.bar_and_saddle import Asked, position
from service.domain.position import (
    STEM_ANGLES_DEG,
    STEM_LENGTHS_MM,
    Front,
    Point,
    Stem,
    bar_point,
    saddle_clamp_point,
    saddle_heights_mm,
    spacers_for,
    stems_for,
)
from service.domain.procedure import Library
from service.domain.set_ups import SetUpFacts, difference, over_time
from service.errors import NotFound
from tests.domain.reckoned_bicycle import ReckonedBicycle

ORIGIN = Point(0, 0)
UPRIGHT = Front(top=ORIGIN, head_angle_deg=90, headset_mm=0, clamp_height_mm=0)
USUAL = Front(top=ORIGIN, head_angle_deg=73, headset_mm=0, clamp_height_mm=0)


# https://www.bikeforums.net/bicycle-mechanics/89430-help-needed-stem-math.html: 110 mm, square to the steerer
@pytest.mark.parametrize(("angle", "reach", "rise"), [(-6, 109.4, -11.5), (17, 105.2, 32.2)])
def test_a_stem_reaches_and_rises_as_published(angle: float, reach: float, rise: float) -> None:
    found = bar_point(UPRIGHT, 0, Stem(110, angle))
    assert (found.forward_mm, found.up_mm) == pytest.approx((reach, rise), abs=0.05)


# http://ttbikefit.com/stemcalc.html: 100 mm, -6° on 20 mm of spacers stands where the same stem turned over stands bare
def test_a_stem_turned_over_takes_the_place_of_its_spacers() -> None:
    piled, bare = bar_point(USUAL, 20, Stem(100, -6)), bar_point(USUAL, 0, Stem(100, 6))
    assert hypot(piled.forward_mm - bare.forward_mm, piled.up_mm - bare.up_mm) < 1


def test_a_stem_of_minus_17_lies_level_on_a_head_tube_of_73() -> None:
    assert bar_point(USUAL, 0, Stem(100, -17)).up_mm == pytest.approx(0, abs=1e-9)


# inseam × 0.883: table at https://gymcreek.com/lemond-saddle-height-calculator/
# 1.09 of the inseam from the lowest pedal axle: http://victorharborcycles.com/vhcycles_009.htm
@pytest.mark.parametrize(("inseam", "height"), [(700, 618), (760, 671), (820, 724), (880, 777)])
def test_saddle_heights_to_start_from_are_the_published_ones(inseam: float, height: float) -> None:
    by_inseam, by_pedal = saddle_heights_mm(inseam, 170)
    assert by_inseam == pytest.approx(height, abs=0.6)
    assert by_pedal == pytest.approx(1.09 * inseam - 170)
    assert saddle_heights_mm(inseam, None)[1] is None


def test_the_saddle_stands_up_the_tube_and_back() -> None:
    upright = saddle_clamp_point(90, 700, 20)
    assert (upright.forward_mm, upright.up_mm) == pytest.approx((-20, 700))
    leaning = saddle_clamp_point(73, 700, 0)
    assert (leaning.forward_mm, leaning.up_mm) == pytest.approx((-700 * cos(radians(73)), 700 * sin(radians(73))))


ANGLES, SPACERS = st.floats(60, 78), st.floats(0, 40)
STEMS = st.builds(Stem, st.sampled_from(STEM_LENGTHS_MM), st.sampled_from(STEM_ANGLES_DEG))


@given(ANGLES, SPACERS, STEMS)
def test_the_spacers_that_reach_where_a_stem_stands_are_its_own(angle: float, spacers: float, stem: Stem) -> None:
    front = Front(top=Point(380, 580), head_angle_deg=angle, headset_mm=10, clamp_height_mm=40)
    found = spacers_for(front, stem, bar_point(front, spacers, stem), 40)
    assert found.spacers_mm == pytest.approx(spacers, abs=1e-6)
    assert found.off_mm == pytest.approx(0, abs=1e-6)


@given(ANGLES, st.floats(300, 520), st.floats(450, 750), STEMS)
def test_no_other_spacers_come_nearer_and_the_best_stem_is_no_worse(
    angle: float, forward: float, up: float, stem: Stem
) -> None:
    front, target = (
        Front(top=Point(380, 560), head_angle_deg=angle, headset_mm=10, clamp_height_mm=40),
        Point(forward, up),
    )
    found = spacers_for(front, stem, target, 40)
    for spacers in (0, 10, 20, 30, 40):
        there = bar_point(front, spacers, stem)
        assert found.off_mm <= hypot(there.forward_mm - forward, there.up_mm - up) + 1e-6
    stems = stems_for(front, target, 40)
    assert stems[0].off_mm <= found.off_mm + 0.06
    assert len(stems) == len(STEM_LENGTHS_MM) * len(STEM_ANGLES_DEG)


@given(ANGLES, SPACERS, STEMS)
def test_more_spacers_bring_the_bar_up_and_back(angle: float, spacers: float, stem: Stem) -> None:
    front = Front(top=ORIGIN, head_angle_deg=angle, headset_mm=10, clamp_height_mm=40)
    lower, higher = bar_point(front, spacers, stem), bar_point(front, spacers + 5, stem)
    assert higher.up_mm > lower.up_mm
    assert higher.forward_mm < lower.forward_mm


def test_the_bicycle_gives_bar_grips_saddle_and_steerer(library: Library) -> None:
    made = ReckonedBicycle(library)
    made.give("frame", head_angle_deg=90, seat_angle_deg=90)  # so that a rule on paper shows it
    made.give("stem", angle_deg=0)
    found = position(made.bicycle(), library)
    assert found.bar is not None
    assert (found.bar.forward_mm, found.bar.up_mm) == pytest.approx((380 + 90, 580 + 15 + 20 + 20))
    [grips] = found.hands
    assert grips.where == "grips"
    assert grips.point.up_mm == pytest.approx(655)
    assert found.saddle_top is not None
    assert (found.saddle_top.forward_mm, found.saddle_top.up_mm) == pytest.approx((-20, 500 + 150 + 45))
    assert found.saddle_height_mm == pytest.approx(hypot(20, 695))
    assert found.bar_below_saddle_mm == pytest.approx(60)
    assert found.steerer_mm == 12 + 150 + 15 + 20 + 40 - 3
    assert found.steerer_there_mm == 280
    assert found.most_spacers_mm == 40  # steel, no figure of the fork's maker
    assert found.not_known == ()


def test_other_spacers_and_a_target_are_answered(library: Library) -> None:
    made = ReckonedBicycle(library)
    there = position(made.bicycle(), library)
    asked = Asked(spacers_mm=35)
    higher = position(made.bicycle(), library, (), asked)
    assert there.bar is not None
    assert higher.bar is not None
    assert hypot(higher.bar.forward_mm - there.bar.forward_mm, higher.bar.up_mm - there.bar.up_mm) == pytest.approx(15)
    found = position(made.bicycle(), library, (), Asked(target=higher.bar)).reached
    assert found is not None
    assert found.with_this_stem is not None
    assert found.with_this_stem.spacers_mm == pytest.approx(35)
    assert found.stems[0].off_mm < 1
    made.give("fork", spacer_limit_mm=25)
    limited = position(made.bicycle(), library, (), Asked(target=higher.bar)).reached
    assert limited is not None
    assert limited.with_this_stem is not None
    assert limited.with_this_stem.spacers_mm == 25
    assert limited.with_this_stem.off_mm == pytest.approx(10)


def test_a_drop_bar_has_hoods_tops_and_drops(library: Library) -> None:
    made = ReckonedBicycle(library)
    made.made.shop.take_off(made.parts["handlebar"])
    made.made.shop.fit(made.made.shop.part("drop-bar", reach_mm=80, drop_mm=125))
    found = position(made.bicycle(), library)
    assert found.bar is not None
    points = {each.where: (each.point.forward_mm, each.point.up_mm) for each in found.hands}
    assert points["hoods"] == pytest.approx((found.bar.forward_mm + 80, found.bar.up_mm))
    assert points["drops"] == pytest.approx((found.bar.forward_mm, found.bar.up_mm - 125))
    assert set(points) == {"hoods", "tops", "drops"}


def test_a_quill_stem_is_not_guessed_at(library: Library) -> None:
    made = ReckonedBicycle(library)
    made.made.shop.take_off(made.parts["stem"])
    made.made.shop.fit(made.made.shop.part("quill-stem", length_mm=90, angle_deg=-17))
    found = position(made.bicycle(), library)
    assert (found.bar, found.steerer_mm) == (None, None)
    assert any("quill" in each for each in found.assumes)
    assert found.saddle_top is not None


def test_what_riding_decides_is_named_before_anything_is_cut(library: Library) -> None:
    made = ReckonedBicycle(library)  # its bar and post are decided already
    found = position(made.bicycle(), library)
    assert [(each.category, each.field) for each in found.to_decide] == [("fork", "steerer_wanted_mm")]
    made.give("frame", stack_mm=None, head_angle_deg=None)
    unknown = position(made.bicycle(), library)
    assert unknown.bar is None
    assert unknown.steerer_mm is None
    assert {each.field for each in unknown.not_known} == {"stack_mm", "head_angle_deg"}


def test_an_inseam_gives_two_places_to_start_from(library: Library) -> None:
    found = position(ReckonedBicycle(library).bicycle(), library, (), Asked(inseam_mm=820))
    assert [each.saddle_height_mm for each in found.starts] == pytest.approx([0.883 * 820, 1.09 * 820 - 170])


APRIL = datetime(2026, 4, 1, tzinfo=UTC)
ONE, TWO, THREE = (UUID(int=number) for number in (1, 2, 3))
SET_UPS = [
    SetUpFacts(THREE, APRIL + timedelta(days=9), {"saddle_height_mm": 728, "front_kpa": 280}),
    SetUpFacts(ONE, APRIL, {"saddle_height_mm": 720, "bar_drop_mm": 40}),
    SetUpFacts(TWO, APRIL + timedelta(days=3), {"bar_drop_mm": 30}),
]


def test_set_ups_are_told_newest_first_each_against_the_last_known_figure() -> None:
    seen = over_time(SET_UPS)
    assert [each.id for each in seen] == [THREE, TWO, ONE]
    changes = {each.field: each for each in seen[0].changes}
    assert (changes["saddle_height_mm"].before, changes["saddle_height_mm"].by) == (720, 8)  # two did not say
    assert changes["front_kpa"].by is None
    assert {each.field: each.by for each in seen[1].changes}["bar_drop_mm"] == -10


def test_two_set_ups_differ_by_later_less_earlier_and_the_other_way_round() -> None:
    there = {each.field: each.by for each in difference(SET_UPS, ONE, THREE)}
    back = {each.field: each.by for each in difference(SET_UPS, THREE, ONE)}
    assert there["saddle_height_mm"] == 8
    assert back["saddle_height_mm"] == -8
    assert there["bar_drop_mm"] is None
    with pytest.raises(NotFound):
        difference(SET_UPS, ONE, UUID(int=9))
