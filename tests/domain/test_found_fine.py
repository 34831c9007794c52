"""A look that found a part fine says that it is not at its limit yet, and no more. Our own rule, no outside source."""

import pytest

from tests.domain.garage import at
from tests.domain.worn_bicycles import disc_bicycle, of, ride_daily

LINING = "brake-pads.lining_mm"


def test_pads_that_were_just_looked_over_are_not_asked_for_again() -> None:
    garage, named = disc_bicycle()
    ride_daily(garage, range(1, 81), km=50)
    before = of(garage, 81, LINING)
    assert before.state == "due"
    assert "By common practice alone it may be worn by now: measure it." in before.why
    for end in ("front", "rear"):
        garage.event("inspected", at(80, 18), "brake-pads.look", part=named[f"{end} brake-pads"], found="fine")
    after = of(garage, 81, LINING)
    assert after.state == "fine"
    assert "Last looked over and found fine on 22 March." in after.why
    assert after.chance is not None
    assert after.chance < 0.2
    assert after.km_left is not None
    assert after.km_left.early > 0
    ride_daily(garage, range(82, 200), km=50)
    assert of(garage, 200, LINING).state == "due"  # what was ridden since asks again


@pytest.mark.parametrize(("kind", "found"), [("inspected", "worn"), ("inspected", None), ("cleaned", "fine")])
def test_only_a_look_that_found_it_fine_counts(kind: str, found: str | None) -> None:
    garage, named = disc_bicycle()
    ride_daily(garage, range(1, 81), km=50)
    for end in ("front", "rear"):
        garage.event(kind, at(80, 18), "brake-pads.look", part=named[f"{end} brake-pads"], found=found)
    assert of(garage, 81, LINING).state == "due"


def test_a_look_does_not_outweigh_a_reading() -> None:
    garage, named = disc_bicycle()
    ride_daily(garage, range(1, 81), km=50)
    for end in ("front", "rear"):
        for place in ("inner", "outer"):
            garage.read(named[f"{end} brake-pads"], "lining_mm", at(79, 18), 0.9, place=place, tool="calliper")
        garage.event("inspected", at(80, 18), "brake-pads.look", part=named[f"{end} brake-pads"], found="fine")
    assert of(garage, 81, LINING).state in ("due", "overdue")


def test_a_look_says_nothing_of_a_part_whose_past_is_not_known() -> None:
    garage, named = disc_bicycle()
    used = garage.part("brake-pads", origin="second-hand", metres_before=None)
    garage.swap(named["front brake-pads"], used, at(1))
    garage.event("inspected", at(2), "brake-pads.look", part=used, found="fine")
    states = {each.state for each in garage.due(3).values() if each.part_id == used and each.task == LINING}
    assert states == {"look once"}
