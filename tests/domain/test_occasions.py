"""Tasks that an occasion asks for: a crash, the wet, storage, travel, the first ride. Common practice, no source."""

from tests.domain.due_shelf import SHOP
from tests.domain.garage import OTHER, Garage, at


def test_after_a_crash_it_is_not_ridden_until_it_was_looked_over() -> None:
    garage = Garage(SHOP)
    garage.ride(at(1), 10)
    assert "whole-bicycle.after-crash" not in garage.due(2)
    garage.event("crashed", at(3))
    assert garage.due(4)["whole-bicycle.after-crash"].state == "do not ride"
    garage.event("inspected", at(5), "whole-bicycle.after-crash")
    assert "whole-bicycle.after-crash" not in garage.due(6)
    garage.state = "laid up"
    garage.event("crashed", at(7))
    assert garage.due(8)["whole-bicycle.after-crash"].state == "do not ride"


def test_one_wet_spell_is_one_round_and_a_dry_fortnight_ends_it() -> None:
    garage = Garage(SHOP)
    first = garage.ride(at(1), 10, "wet")
    garage.ride(at(2), 10, "gritty")
    assert garage.due(3)["whole-bicycle.after-wet"].cycle == str(first.id)
    garage.ride(at(4), 10)
    assert garage.due(5)["whole-bicycle.after-wet"].state == "due"
    assert "whole-bicycle.after-wet" not in garage.due(20)
    garage.event("cleaned", at(5), "whole-bicycle.after-wet")
    assert "whole-bicycle.after-wet" not in garage.due(6)


def test_after_sixty_days_unused_it_is_woken_with_a_look() -> None:
    garage = Garage(SHOP)
    garage.ride(at(1), 10)
    assert "whole-bicycle.after-storage" not in garage.due(59)
    assert garage.due(62)["whole-bicycle.after-storage"].state == "due"
    garage.event("inspected", at(63), "whole-bicycle.after-storage")
    assert "whole-bicycle.after-storage" not in garage.due(64)


def test_after_travel_the_joints_are_looked_at() -> None:
    garage = Garage(SHOP)
    garage.ride(at(1), 10)
    garage.event("travelled", at(2))
    assert garage.due(3)["whole-bicycle.after-travel"].state == "due"


def test_the_whole_bicycle_counts_from_its_first_ride_and_wet_days_shorten_it() -> None:
    garage = Garage(SHOP)
    assert garage.due(50)["whole-bicycle.monthly"].state == "fine"
    garage.ride(at(50), 10)
    assert garage.due(70)["whole-bicycle.monthly"].day == at(80).date()
    garage.ride(at(51), 10, "salted")
    assert garage.due(70)["whole-bicycle.monthly"].day == at(64).date()


def test_a_part_that_was_in_a_crash_takes_that_along_to_another_bicycle() -> None:
    garage = Garage(SHOP)
    bar = garage.part("bar")
    garage.fit(bar, at(0), build=OTHER)
    garage.event("crashed", at(3), build=OTHER)
    garage.take_off(bar, at(5))
    garage.fit(bar, at(6))
    assert garage.due(7)["bar.look"].state == "do not ride"
    garage.event("inspected", at(8), "bar.look", part=bar)
    assert garage.due(9)["bar.look"].state == "fine"
    other = garage.part("bar")
    garage.swap(bar, other, at(10))
    assert garage.due(11)["bar.look"].state == "fine"
