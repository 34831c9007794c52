"""Tyre room and pressures of a whole bicycle: figures of standards, geometry by hand, what must hold of any tyre."""

from math import atan2, degrees

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.clearance import Gap, largest_tyre_mm, lean_deg, new_gap_mm, toe_gap_mm
from service.domain.pressures import TyrePressure, pressures
from service.domain.procedure import Library
from service.domain.tyre_room import EndRoom, TyreGap, tyre_room
from tests.domain.reckoned_bicycle import ReckonedBicycle


def end(made: ReckonedBicycle, library: Library, place: str, **build: str) -> EndRoom:
    found = tyre_room(made.bicycle(**build), library)
    return next(each for each in found.ends if each.place == place)


def gap(room: EndRoom, where: str) -> TyreGap:
    return next(each for each in room.gaps if each.where == where)


def test_a_gap_is_carried_over_to_the_tyre_that_is_there(library: Library) -> None:
    made = ReckonedBicycle(library)  # measured with 38, the tyre is 40: geometry by hand
    front = end(made, library, "front")
    assert (gap(front, "side").gap_mm, gap(front, "crown").gap_mm) == (7, 8)
    assert (gap(front, "side").largest_tyre_mm, gap(front, "crown").largest_tyre_mm) == (42, 42)
    assert front.largest_tyre_mm == 42
    rear = end(made, library, "rear")
    assert [each.where for each in rear.gaps] == ["side", "bridge or seat tube", "front derailleur"]
    assert gap(rear, "front derailleur").gap_mm == 6  # 8 less the whole difference of heights
    assert {each.answer for each in (*front.gaps, *rear.gaps)} == {"enough"}


def test_the_width_on_the_rim_counts_before_the_marked_one(library: Library) -> None:
    made = ReckonedBicycle(library)
    assert any("as wide as it is marked" in each for each in tyre_room(made.bicycle(), library).assumes)
    for place in ("front", "rear"):
        made.give(f"tyre@{place}", width_on_rim_mm=44)
    assert gap(end(made, library, "front"), "side").gap_mm == 5
    assert not any("marked" in each for each in tyre_room(made.bicycle(), library).assumes)


# 6 mm for all but racing bicycles, common practice; racing 4 mm, EN 14781 4.10.2, https://lfgss.com/comments/13927689
# 1.6 mm at the least: 16 CFR 1512.11(b), https://lexbuild.dev/ecfr/title-16/chapter-II/part-1512/section-1512.11
@pytest.mark.parametrize(
    ("use", "side", "answer"),
    [
        ("mixed", 7, "enough"),
        ("mixed", 6.9, "narrow"),
        ("road race", 5, "enough"),
        ("road race", 4.9, "narrow"),
        ("town", 2.6, "narrow"),
        ("town", 2.5, "too little"),
    ],
)
def test_what_is_kept_free_follows_the_use(library: Library, use: str, side: float, answer: str) -> None:
    made = ReckonedBicycle(library)  # the tyre is 2 mm wider than the one that was measured with: a millimetre less
    made.give("fork", gap_side_mm=side)
    assert gap(end(made, library, "front", use=use), "side").answer == answer


def test_a_mudguard_takes_its_height_and_the_room_over_it(library: Library) -> None:
    made = ReckonedBicycle(library)
    shop = made.made.shop
    shop.fit(shop.part("mudguards", thickness_mm=3), "front")
    front = end(made, library, "front")
    assert gap(front, "crown").gap_mm == 10 - 2 - 3 - 1
    assert gap(front, "crown").guard_mm == 4
    assert gap(front, "side").gap_mm == 7


def test_a_rims_own_limit_governs_the_largest_tyre(library: Library) -> None:
    made = ReckonedBicycle(library)
    made.give("rim@front", max_tyre_mm=41)
    room = end(made, library, "front")
    assert (room.largest_tyre_mm, room.rim_largest_tyre_mm) == (41, 41)


def test_a_gap_that_no_tyre_keeps_names_none(library: Library) -> None:
    made = ReckonedBicycle(library)
    made.give("fork", gap_tyre_width_mm=15, gap_crown_mm=0, gap_side_mm=0)
    front = end(made, library, "front")
    assert gap(front, "side").largest_tyre_mm == 3
    made.give("fork", gap_tyre_width_mm=6)
    assert end(made, library, "front").largest_tyre_mm is None


def test_what_is_not_measured_is_asked_for(library: Library) -> None:
    made = ReckonedBicycle(library)
    made.give("fork", gap_side_mm=None)
    made.give("tyre@front", width_marked_mm=None)
    found = tyre_room(made.bicycle(), library)
    asked = {(each.category, each.place, each.field) for each in found.not_known}
    assert asked == {("fork", "", "gap_side_mm"), ("tyre", "front", "width_marked_mm")}
    assert gap(found.ends[0], "side").answer == "not known"
    assert gap(found.ends[0], "crown").largest_tyre_mm == 42  # the largest tyre needs no tyre


# 89 mm with the foot held, 100 without: 16 CFR 1512.17(d), https://www.law.cornell.edu/cfr/text/16/1512.17
# and JIS D 9301:2019 5.6.2, https://jbpi.or.jp/giken_post/exam/bicycle/drive/4582/
def test_toe_and_pedal_against_the_standards(library: Library) -> None:
    made = ReckonedBicycle(library)
    found = tyre_room(made.bicycle(), library)
    assert found.toe.gap_mm == 610 - 170 - (622 / 2 + 40)
    assert (found.toe.wanted_mm, found.toe.answer) == (100, "narrow")
    made.give("pedals", kind="clip_in")
    assert tyre_room(made.bicycle(), library).toe.wanted_mm == 89
    height = 622 / 2 + 40 - 70 - 170 - 12
    assert found.pedal_ground.lean_deg == pytest.approx(degrees(atan2(height, 75 + 95)))
    assert (found.pedal_ground.wanted_deg, found.pedal_ground.answer) == (25, "enough")
    made.give("frame", bb_drop_mm=None)
    assert tyre_room(made.bicycle(), library).pedal_ground.answer == "not known"


WIDTH, ROOM = st.floats(28, 70), st.floats(0, 30)


@given(WIDTH, ROOM, WIDTH, st.sampled_from(["side", "crown"]))
def test_a_wider_tyre_leaves_less_and_the_largest_leaves_exactly_what_is_wanted(
    before: float, measured: float, tyre: float, way: Gap
) -> None:
    assert new_gap_mm(before, measured, tyre + 1, way) < new_gap_mm(before, measured, tyre, way)
    most = largest_tyre_mm(before, measured, 6, way)
    if most >= 28:  # under it a section stands 2.5 mm higher than it is wide
        assert new_gap_mm(before, measured, most, way) == pytest.approx(6)


@given(st.floats(500, 700), st.floats(150, 190), st.floats(300, 380))
def test_a_longer_crank_and_a_larger_wheel_take_toe_room(centre: float, crank: float, radius: float) -> None:
    room = toe_gap_mm(centre, crank, radius)
    assert toe_gap_mm(centre, crank + 5, radius) < room > toe_gap_mm(centre, crank, radius + 5)
    assert lean_deg(crank, 10, radius) < lean_deg(crank + 5, 10, radius) > lean_deg(crank, 10, radius + 50)


def pressure(made: ReckonedBicycle, library: Library, place: str = "front") -> TyrePressure:
    return next(each for each in pressures(made.bicycle(), library).tyres if each.place == place)


# ISO 4210-1 2.27: the lower of tyre and rim, http://chctest.tbnet.org.tw/eBOOK-TBIS/01/EN/files/basic-html/page11.html
def test_the_lowest_limit_is_the_ceiling_and_says_whose_it_is(library: Library) -> None:
    made = ReckonedBicycle(library)
    found = pressure(made, library)
    assert (found.ceiling_kpa, found.governs, found.answer) == (400, "tyre", "within")
    made.give("rim@front", max_pressure_kpa=350)
    assert pressure(made, library).governs == "rim"
    made.give("rim-tape@front", pressure_max_kpa=310)
    assert (pressure(made, library).governs, pressure(made, library).answer) == ("rim tape", "close under the limit")


# 5 bar on a hookless rim: ETRTO by way of https://slowtwitch.cloud/cycling/hookless-rim-and-tire-compatibility-update
def test_a_hookless_rim_has_a_limit_of_its_own(library: Library) -> None:
    made = ReckonedBicycle(library)
    made.give("rim@front", bead="hookless", max_pressure_kpa=None)
    made.give("rim-tape@front", pressure_max_kpa=900)
    made.give("tyre@front", pressure_max_kpa=700, pressure_planned_kpa=520, width_marked_mm=28)
    found = pressure(made, library)
    assert (found.ceiling_kpa, found.governs, found.answer) == (500, "hookless", "too high")
    assert found.limits_missing == ("rim",)
    assert found.advised_kpa == 500  # to 28 mm, from memory
    assert any("hookless" in each for each in pressures(made.bicycle(), library).assumes)


@pytest.mark.parametrize(
    ("facts", "answer"),
    [
        ({"pressure_planned_kpa": 450}, "too high"),
        ({"pressure_planned_kpa": 150}, "too low"),
        ({"pressure_planned_kpa": 390}, "close under the limit"),
        ({"pressure_planned_kpa": None}, "not known"),
        ({"pressure_min_kpa": 480}, "no pressure fits"),
    ],
)
def test_what_is_planned_is_held_against_both_ends(library: Library, facts: dict[str, float], answer: str) -> None:
    made = ReckonedBicycle(library)
    made.give("tyre@front", **facts)
    assert pressure(made, library).answer == answer
