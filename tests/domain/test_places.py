"""Where parts sit: places composed, plan rows passed over, ends and what is seen from a part."""

from uuid import UUID

import pytest

from service.domain.condition import Answer, judge
from service.domain.ends import compose, ends_of
from service.domain.missing import missing_parts
from service.domain.places import surroundings
from service.domain.procedure import SpecField
from service.domain.readings import settle
from tests.domain.bicycles import Workshop
from tests.domain.small_library import library
from tests.procedures import whole_library

LIBRARY = library()


def wheel_with_tyre(shop: Workshop, end: str) -> tuple[UUID, UUID]:
    wheel, tyre = shop.part("wheel"), shop.part("tyre")
    shop.fit(wheel, end)
    shop.fit(tyre, "", wheel)
    return wheel, tyre


def test_a_tyre_is_at_the_end_its_wheel_is_at() -> None:
    shop = Workshop(LIBRARY)
    _, tyre = wheel_with_tyre(shop, "rear")
    assert {p.part.id: p.place for p in shop.bicycle().placed}[tyre] == "rear"
    assert compose("front", "left") == "front.left"


def test_hosts_come_before_what_sits_in_them() -> None:
    shop = Workshop(LIBRARY)
    wheel, tyre = shop.part("wheel"), shop.part("tyre")
    shop.fit(tyre, "", wheel)
    shop.fit(wheel, "front")
    assert [p.part.id for p in shop.bicycle().placed] == [wheel, tyre]


def test_a_chosen_plan_row_is_placed_with_its_own_id() -> None:
    shop = Workshop(LIBRARY)
    frame = shop.part("frame")
    row = shop.choose(frame)
    (placed,) = shop.bicycle().placed
    assert (placed.fitting_id, placed.planned) == (row, True)
    shop.fit(frame)
    (placed,) = shop.bicycle().placed
    assert (placed.fitting_id, placed.planned) == (row, False)


def test_a_plan_row_is_passed_over_where_one_of_its_roles_is_filled() -> None:
    shop = Workshop(LIBRARY)
    shop.fit(shop.part("brake-lever", works_brake="front"), "left")
    shop.choose(shop.part("combined-lever", works_brake="front", works_gear="front"), "left")
    other = shop.part("combined-lever", works_brake="rear", works_gear="rear")
    shop.choose(other, "right")
    placed = shop.bicycle().placed
    assert [(p.slot, p.place) for p in placed] == [("brake-lever", "left"), ("combined-lever", "right")]


def test_a_combined_lever_that_works_no_brake_leaves_the_lever_to_another() -> None:
    shop = Workshop(LIBRARY)
    shop.fit(shop.part("combined-lever", works_brake="none", works_gear="rear"), "right")
    shop.choose(shop.part("brake-lever", works_brake="rear"), "right")
    assert {p.slot for p in shop.bicycle().placed} == {"combined-lever", "brake-lever"}


@pytest.mark.parametrize(
    ("works", "ends", "known"),
    [
        ("front", {"front"}, True),
        ("both", {"front", "rear"}, True),
        ("none", set(), True),
        (None, {"front", "rear"}, False),
    ],
)
def test_a_levers_end_is_what_it_works(works: str | None, ends: set[str], known: bool) -> None:
    shop = Workshop(LIBRARY)
    shop.fit(shop.part("brake-lever", works_brake=works), "left")
    met = ends_of(shop.bicycle().placed[0], LIBRARY)
    assert (set(met.names), met.known) == (ends, known)


def test_a_combined_lever_has_an_end_in_each_role() -> None:
    shop = Workshop(LIBRARY)
    shop.fit(shop.part("combined-lever", works_brake="front", works_gear="rear"), "right")
    (placed,) = shop.bicycle().placed
    assert ends_of(placed, LIBRARY, "brake-lever").names == {"front"}
    assert ends_of(placed, LIBRARY, "shifter").names == {"rear"}


def test_a_fact_is_read_in_the_same_wheel_then_at_the_same_end_then_anywhere() -> None:
    shop = Workshop(LIBRARY)
    for end, width in (("front", 100), ("rear", 135)):
        wheel = shop.part("wheel")
        shop.fit(wheel, end)
        shop.fit(shop.part("hub", old_mm=width), "", wheel)
        shop.fit(shop.part("rim"), "", wheel)
    shop.fit(shop.part("cable-disc-caliper"), "rear")
    shop.fit(shop.part("frame"))
    around = surroundings(shop.bicycle(), LIBRARY)
    seen = {(p.slot, p.place): around.here(p).of("hub", "old_mm").values for p in around.placed}
    assert seen["rim", "front"] == (100,)
    assert seen["cable-disc-caliper", "rear"] == (135,)
    assert set(seen["frame", ""]) == {100, 135}


def test_the_host_is_the_fork_in_front_and_the_frame_behind() -> None:
    shop = Workshop(LIBRARY)
    shop.fit(shop.part("frame", brake_mount="flat"))
    shop.fit(shop.part("fork", brake_mount="post"))
    for end in ("front", "rear"):
        shop.fit(shop.part("cable-disc-caliper"), end)
    around = surroundings(shop.bicycle(), LIBRARY)
    seen = {p.place: around.here(p).host("brake_mount").values for p in around.placed if p.slot.startswith("cable")}
    assert seen == {"front": ("post",), "rear": ("flat",)}


def test_no_such_part_is_no_and_a_missing_fact_is_not_known() -> None:
    shop = Workshop(LIBRARY)
    shop.fit(shop.part("cable-disc-caliper"), "front")
    here = surroundings(shop.bicycle(), LIBRARY).here(shop.bicycle().placed[0])
    assert judge({"rotor.thickness_mm": {"min": 1}}, here).answer is Answer.NO
    assert judge({"not": {"rotor.thickness_mm": {"min": 1}}}, here).answer is Answer.YES
    assert judge({"mount": "post"}, here).answer is Answer.UNKNOWN


def test_partners_are_at_the_same_end_and_never_the_part_itself() -> None:
    shop = Workshop(LIBRARY)
    for end, side in (("front", "left"), ("rear", "right")):
        shop.fit(shop.part("cable-disc-caliper"), end)
        shop.fit(shop.part("brake-lever", works_brake=end), side)
    around = surroundings(shop.bicycle(), LIBRARY)
    for placed in around.placed:
        if placed.slot == "cable-disc-caliper":
            ((lever, certain),) = around.here(placed).partners("brake-lever")
            assert around.ends(lever).names == {placed.place}
            assert certain
        else:
            assert placed.part.id not in {p.part.id for p, _ in around.here(placed).partners("brake-lever")}


def test_a_lever_of_unknown_end_is_a_partner_of_both_but_not_for_certain() -> None:
    shop = Workshop(LIBRARY)
    shop.fit(shop.part("cable-disc-caliper"), "front")
    shop.fit(shop.part("brake-lever"), "left")
    around = surroundings(shop.bicycle(), LIBRARY)
    calliper = next(p for p in around.placed if p.slot == "cable-disc-caliper")
    ((_, certain),) = around.here(calliper).partners("brake-lever")
    assert not certain


SEATPOST = SpecField(key="d_mm", title="d", kind="number", measure="m", nominal=(27.0, 27.2), snap=0.09)
BORE = SpecField(key="b_mm", title="b", kind="number", measure="m", sizes=((33.9, 34.0, 34), (41.8, 42.0, 42)))


@pytest.mark.parametrize(
    ("field", "reading", "size"),
    [
        (SEATPOST, 27.18, 27.2),
        (SEATPOST, 27.05, 27.0),
        (SEATPOST, 27.1, None),
        (SEATPOST, 26.0, None),
        (BORE, 33.95, 34),
        (BORE, 41.8, 42),
        (BORE, 38.0, None),
    ],
)
def test_a_reading_is_a_size_or_it_is_not_known(field: SpecField, reading: float, size: float | None) -> None:
    assert settle(field, reading) == size


def test_two_sizes_that_both_fit_are_not_known() -> None:
    wide = SpecField(key="d_mm", title="d", kind="number", measure="m", nominal=(27.0, 27.2), snap=0.15)
    assert settle(wide, 27.1) is None


def test_what_is_wanted_and_not_there_is_missing_with_its_reason() -> None:
    shop = Workshop(LIBRARY)
    assert [(m.slot, m.place) for m in missing_parts(shop.bicycle(), LIBRARY)] == [("frame", "")]
    shop.fit(shop.part("frame", brake_mount="flat"))
    shop.fit(shop.part("fork"))
    (only,) = missing_parts(shop.bicycle(), LIBRARY)
    assert (only.slot, only.place, only.because) == ("cable-disc-caliper", "rear", "the rear mount is there for one")
    shop.choose(shop.part("cable-disc-caliper"), "rear")
    assert missing_parts(shop.bicycle(), LIBRARY) == ()


def test_an_axle_that_the_build_or_its_wheel_could_hold_is_missing_once_at_each_end() -> None:
    procedures = whole_library()
    shop = Workshop(procedures)
    for end in ("front", "rear"):
        shop.fit(shop.part("wheel"), end)
    axles = [(each.slot, each.place) for each in missing_parts(shop.bicycle(), procedures) if each.slot == "axle"]
    assert axles == [("axle", "front"), ("axle", "rear")]


def test_what_works_at_one_end_is_never_missing_at_the_other() -> None:
    """Common practice, no source: sprockets sit in the rear wheel alone; both wheels have hub, rim and tyre."""
    procedures = whole_library()
    shop = Workshop(procedures)
    shop.fit(shop.part("rear-derailleur"), "rear")
    for end in ("front", "rear"):
        shop.fit(shop.part("wheel"), end)
    missing = [(each.slot, each.place) for each in missing_parts(shop.bicycle(), procedures)]
    assert [place for slot, place in missing if slot == "cassette"] == ["rear"]
    for slot in ("hub", "rim", "tyre", "axle"):
        assert [place for each, place in missing if each == slot] == ["front", "rear"]
    assert ("fork", "") in missing  # of the front end, and of no place


def test_every_wanted_category_says_why_it_is_wanted() -> None:
    categories = whole_library().categories.values()
    assert [each.category for each in categories if each.wanted is not None and not each.wanted_because] == []
