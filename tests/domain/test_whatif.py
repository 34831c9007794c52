"""Another bicycle: parts supposed at their places, what comes off for them, what moves along, what is refused."""

from dataclasses import replace
from typing import Any
from uuid import UUID

import pytest

from service.domain.bicycle import Bicycle
from service.domain.ends import compose
from service.domain.whatif import Supposed, imagined, suppose
from service.errors import Refusal
from tests.domain.bicycles import key, spec
from tests.domain.small_bicycle import LIBRARY, Bike


def there(bicycle: Bicycle) -> dict[str, UUID]:
    """The parts by category and whole place."""
    return {compose(each.slot, each.place): each.part.id for each in bicycle.placed}


def new(number: int, category: str, **specs: Any) -> Any:
    """A part that exists nowhere."""
    return imagined(key(900 + number), category, category, [spec(name, worth) for name, worth in specs.items()])


@pytest.mark.parametrize("planned", [True, False])
def test_a_supposed_part_takes_the_place_of_the_one_that_is_there(planned: bool) -> None:
    bike = Bike(planned=planned)
    before, fork = bike.shop.bicycle(), new(1, "fork", brake_mount="flat")
    met = suppose(before, [Supposed(fork, "")], LIBRARY)
    assert there(met.bicycle) == there(before) | {"fork": fork.id}
    assert [each.part.id for each in met.on] == [fork.id]
    assert [each.part.id for each in met.off] == [bike.fork]


def test_nothing_of_the_present_bicycle_changes() -> None:
    bike = Bike()
    before = bike.shop.bicycle()
    kept = replace(before)
    suppose(before, [Supposed(new(1, "fork"), "")], LIBRARY)
    assert before == kept == bike.shop.bicycle()


@pytest.mark.parametrize("planned", [True, False])
def test_what_sat_in_a_part_moves_into_the_one_that_takes_its_place(planned: bool) -> None:
    bike, wheel = Bike(planned=planned), new(1, "wheel")
    met = suppose(bike.shop.bicycle(), [Supposed(wheel, "front")], LIBRARY)
    inside = {each.part.id for each in met.bicycle.placed if each.host_id == wheel.id}
    assert inside == {bike.hub, bike.rim, bike.tyre, bike.rotor}
    assert [each.part.id for each in met.off] == [bike.wheel]


def test_a_candidate_brings_what_sits_in_it() -> None:
    bike = Bike(planned=False)
    wheel, tyre = bike.shop.part("wheel"), bike.shop.part("tyre")
    bike.shop.fit(tyre, into=wheel)
    before = bike.shop.bicycle()
    met = suppose(before, [Supposed(before.parts[wheel], "front")], LIBRARY)
    assert there(met.bicycle)["tyre.front"] == tyre
    assert {each.part.id for each in met.off} == {bike.wheel, bike.tyre}
    assert there(met.bicycle)["hub.front"] == bike.hub  # it had none of its own


def test_a_part_that_stands_in_takes_off_all_whose_work_it_does() -> None:
    bike = Bike()
    shifter = bike.add("shifter", "left")
    lever = new(1, "combined-lever", works_brake="front", works_gear="front")
    met = suppose(bike.shop.bicycle(), [Supposed(lever, "left")], LIBRARY)
    assert {each.part.id for each in met.off} == {bike.lever, shifter}
    other = new(2, "combined-lever", works_brake="none", works_gear="front")
    assert {each.part.id for each in suppose(bike.shop.bicycle(), [Supposed(other, "left")], LIBRARY).off} == {shifter}


def test_without_a_place_a_part_goes_where_the_one_sits_that_it_replaces() -> None:
    bike, pads = Bike(), new(1, "brake-pads")
    met = suppose(bike.shop.bicycle(), [Supposed(pads, None, replaces=(bike.pads,))], LIBRARY)
    [on] = met.on
    assert (on.place, on.host_id) == ("front", bike.calliper)
    assert [each.part.id for each in met.off] == [bike.pads]


def test_a_named_part_comes_off_although_it_sits_elsewhere() -> None:
    bike, fork = Bike(), new(1, "fork")
    met = suppose(bike.shop.bicycle(), [Supposed(fork, "", replaces=(bike.calliper,))], LIBRARY)
    assert {each.part.id for each in met.off} == {bike.fork, bike.calliper, bike.pads}


def test_supposed_parts_go_into_one_another_in_any_order_and_a_tyre_brings_its_wheel() -> None:
    bike, rear, hub = Bike(), new(1, "wheel"), new(2, "hub")
    wanted = [Supposed(hub, "", into_part_id=rear.id), Supposed(rear, "rear")]
    assert there(suppose(bike.shop.bicycle(), wanted, LIBRARY).bicycle)["hub.rear"] == hub.id
    tyre = new(3, "tyre")
    found = there(suppose(bike.shop.bicycle(), [Supposed(tyre, "rear")], LIBRARY).bicycle)
    assert found["tyre.rear"] == tyre.id
    assert "wheel.rear" in found


def test_a_candidate_that_is_chosen_passes_the_one_chosen_now() -> None:
    bike = Bike()
    other = bike.shop.part("seatpost", diameter_mm=27.2)
    bike.add("seatpost", diameter_mm=27.0)
    before = bike.shop.bicycle()
    met = suppose(before, [Supposed(before.parts[other], "")], LIBRARY)
    assert there(met.bicycle)["seatpost"] == other
    assert [row.part_id for row in met.bicycle.plan if row.chosen and row.slot == "seatpost"] == [other]


def test_a_part_moves_from_one_place_of_the_bicycle_to_another() -> None:
    bike = Bike(planned=False)
    before = bike.shop.bicycle()
    found = there(suppose(before, [Supposed(before.parts[bike.calliper], "rear")], LIBRARY).bicycle)
    assert found["cable-disc-caliper.rear"] == bike.calliper
    assert found["brake-pads.rear"] == bike.pads
    assert "cable-disc-caliper.front" not in found


ELSEWHERE = UUID(int=5)


@pytest.mark.parametrize(
    ("wanted", "pointer", "words"),
    [
        (
            [Supposed(new(1, "fork"), ""), Supposed(new(2, "fork"), "")],
            "/1/place",
            "Two parts are chosen for one place",
        ),
        ([Supposed(new(1, "fork"), ""), Supposed(new(1, "fork"), "")], "/1/part", "twice"),
        ([Supposed(new(1, "fork"), "front")], "/0/place", "leave place empty"),
        ([Supposed(new(1, "brake-lever"))], "/0/place", "has the places left, right"),
        ([Supposed(new(1, "brake-pads"), "rear")], "/0/place", "it goes to one of front"),
        ([Supposed(new(1, "tyre"), "left")], "/0/place", "front, rear"),
        ([Supposed(new(1, "tyre"), "", into_part_id=ELSEWHERE)], "/0/into_part", "not on this bicycle"),
        ([Supposed(new(1, "fork"), "", replaces=(ELSEWHERE,))], "/0/replaces", "not on this bicycle"),
        ([Supposed(new(1, "wing"), "")], "/0/category", "There is no category wing"),
    ],
)
def test_what_cannot_be_names_the_field(wanted: list[Supposed], pointer: str, words: str) -> None:
    asked = [replace(each, pointer=f"/{number}") for number, each in enumerate(wanted)]
    with pytest.raises(Refusal, match=words) as refused:
        suppose(Bike().shop.bicycle(), asked, LIBRARY)
    assert [error.pointer for error in refused.value.errors] == [pointer]


def test_a_host_of_another_kind_is_refused() -> None:
    bike = Bike()
    with pytest.raises(Refusal, match="does not go into a frame"):
        suppose(bike.shop.bicycle(), [Supposed(new(1, "tyre"), "", into_part_id=bike.frame)], LIBRARY)
