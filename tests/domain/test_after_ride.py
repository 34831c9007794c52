"""What a ride asks for once it is over: only what was ticked, only of parts that are on the bicycle."""

from dataclasses import replace
from datetime import date
from uuid import UUID

import pytest

from service.domain.after_ride import Ask, asks_after
from service.domain.bicycle import Ride
from service.domain.standing import Due
from tests.domain.garage import BUILD, at
from tests.procedures import whole_library

RIDDEN = date(2026, 5, 4)
PAD, TYRE = UUID(int=7), UUID(int=8)


def due(task: str, part: UUID | None = None, place: str = "", **more: object) -> Due:
    """An item as it stands before anything was done."""
    found = Due(
        build_id=BUILD, part_id=part, part_name=None, task=task, title=task, place=place, state="fine",
        weight="damage", metres_left=None, days_left=None, on=None, share=0.0, why="", last=None, cycle="",
        put_off=None, done_by=("inspected",), steps=(), by_wear=False, needs_shop=False,
    )  # fmt: skip
    return replace(found, **more)  # type: ignore[arg-type]


STANDS = (
    due("whole-bicycle.after-wet", done_by=("lubricated", "cleaned")),
    due("whole-bicycle.after-crash"),
    due("chain.lubricate", UUID(int=9), done_by=("lubricated", "cleaned")),
    due("brake-pads.look", PAD, "front"),
    due("rotor.thickness-look", UUID(int=10), "front"),
    due("tyre.look", TYRE, "front"),
)


def asks(
    conditions: str, *, stands: tuple[Due, ...] = STANDS, loaded: bool = False, descents: bool = False
) -> list[Ask]:
    """What a ride of this kind asks for."""
    ride = Ride(
        id=UUID(int=3), build_id=BUILD, started_at=at(0), day=RIDDEN, metres=40_000, moving_s=None,
        conditions=conditions, loaded=loaded, descents=descents,
    )  # fmt: skip
    return list(asks_after(ride, stands, whole_library()))


@pytest.mark.parametrize("conditions", ["dry", "dusty", "roller", "indoor"])
def test_a_dry_ride_asks_for_nothing(conditions: str) -> None:
    assert asks(conditions) == []


def test_wet_asks_to_dry_and_oil_by_one_tap_that_is_logged_as_oiled() -> None:
    [ask] = asks("wet")
    assert (ask.task, ask.kind, ask.part_id) == ("whole-bicycle.after-wet", "lubricated", None)
    assert "rims and rotors" in ask.why


def test_grit_asks_for_a_look_at_the_pads_as_well() -> None:
    first, second = asks("gritty")  # a wet, gritty day can take 1.5 mm of lining: from memory
    assert (first.task, second.task, second.part_id, second.where) == (
        "whole-bicycle.after-wet", "brake-pads.look", PAD, "front",
    )  # fmt: skip
    assert "grit off" in first.why
    assert "1.5 mm" in second.why


def test_salt_asks_to_wash_the_same_day() -> None:
    [ask] = asks("salted")
    assert "same day" in ask.why


@pytest.mark.parametrize("ticked", ["loaded", "descents"])
def test_load_and_descents_ask_for_the_pads_and_what_they_rub_on(ticked: str) -> None:
    load, steep = ticked == "loaded", ticked == "descents"
    assert [ask.task for ask in asks("dry", loaded=load, descents=steep)] == ["brake-pads.look", "rotor.thickness-look"]
    assert asks("roller", loaded=load, descents=steep) == []


def test_what_is_not_on_the_bicycle_was_done_since_or_is_switched_off_is_not_asked_for() -> None:
    assert [ask.task for ask in asks("gritty", stands=STANDS[:1])] == ["whole-bicycle.after-wet"]
    done = tuple(replace(each, last=RIDDEN) for each in STANDS)
    assert asks("gritty", stands=done) == []
    off = tuple(replace(each, state="switched off") for each in STANDS)
    assert asks("gritty", stands=off) == []
    before = tuple(replace(each, last=date(2026, 5, 3)) for each in STANDS)
    assert len(asks("gritty", stands=before)) == 2


def test_each_task_that_is_asked_for_is_one_of_the_library() -> None:
    library = whole_library()
    known = {f"{name}.{task.key}": task for name, each in library.categories.items() for task in each.tasks}
    tasks = {ask.task for each in ("gritty", "salted") for ask in asks(each, descents=True)} | {
        "rim.track",
        "brake-pads.look-blocks",
    }
    assert tasks <= known.keys()
    assert all("inspected" in known[task].done_by or "lubricated" in known[task].done_by for task in tasks)
