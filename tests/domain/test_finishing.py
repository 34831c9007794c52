"""What ticks and finished jobs leave behind."""

from dataclasses import replace
from uuid import UUID

import pytest

from service.domain.bicycle import StepRecord
from service.domain.finishing import (
    EventToLog,
    MassToWrite,
    PartGoesOn,
    SetUpToLog,
    SpecToWrite,
    WearToLog,
    finish,
    tick_effects,
    writes_of,
)
from tests.domain.bicycles import Workshop, by_id, record
from tests.domain.small_library import ALL, POST_JOIN, SEATPOST, library

LIBRARY = library()


def wheel(shop: Workshop) -> dict[str, UUID]:
    parts = {"wheel": shop.part("wheel", built_by="home"), "hub": shop.part("hub"), "rim": shop.part("rim")}
    shop.choose(parts["wheel"], "front")
    for name in ("hub", "rim"):
        shop.choose(parts[name], "", parts["wheel"])
    return parts


def test_lacing_fits_hub_and_rim_into_the_wheel_but_not_the_wheel_into_the_fork() -> None:
    shop = Workshop(LIBRARY)
    parts = wheel(shop)
    rows = {row.part_id: row.id for row in shop.plan}
    step = by_id(shop.checklist())["wheel.lace@front"]
    assert tick_effects(step, shop.bicycle(), LIBRARY) == tuple(
        PartGoesOn(rows[parts[name]], parts[name], parts["wheel"], name, "") for name in ("hub", "rim")
    )


def test_what_is_on_already_is_not_fitted_again() -> None:
    shop = Workshop(LIBRARY)
    parts = wheel(shop)
    shop.fit(parts["wheel"], "front")
    shop.fit(parts["hub"], "", parts["wheel"])
    step = by_id(shop.checklist())["wheel.lace@front"]
    assert [each.part_id for each in tick_effects(step, shop.bicycle(), LIBRARY)] == [parts["rim"]]


def test_a_trial_fits_the_headset_and_the_fork() -> None:
    shop = Workshop(LIBRARY)
    shop.choose(shop.part("fork"))
    shop.choose(shop.part("headset"))
    step = by_id(shop.checklist())["headset.trial"]
    assert {each.slot for each in tick_effects(step, shop.bicycle(), LIBRARY)} == {"fork", "headset"}


def test_a_shim_goes_on_with_the_last_of_the_parts_it_bridges() -> None:
    shim = replace(SEATPOST, category="shim", title="Shim", places="joins", steps=(), specs=())
    post = replace(SEATPOST, joins=(POST_JOIN,))
    shop = Workshop(library((*(post if c.category == "seatpost" else c for c in ALL), shim)))
    frame = shop.part("frame")
    shop.choose(frame)
    shop.choose(shop.part("seatpost"))
    shop.choose(shop.part("shim"), "seatpost-bore")
    steps = by_id(shop.checklist())
    assert [e.slot for e in tick_effects(steps["frame.pass"], shop.bicycle(), shop.library)] == ["frame"]
    shop.fit(frame)
    steps = by_id(shop.checklist())
    fitted = tick_effects(steps["seatpost.fit"], shop.bicycle(), shop.library)
    assert {(e.slot, e.place) for e in fitted} == {("seatpost", ""), ("shim", "seatpost-bore")}


def test_answers_are_written_where_they_belong() -> None:
    shop = Workshop(LIBRARY)
    fork, frame = shop.part("fork"), shop.part("frame")
    shop.choose(fork)
    shop.choose(frame)
    steps = by_id(shop.checklist())
    position, weigh = steps["whole-bicycle.position"], steps[f"whole-bicycle.weigh:{frame}"]
    job = shop.job(
        records=(
            record(position, "set-up:saddle_height_mm", 742.0),
            record(position, "fork.spec:wanted_mm", 191.5),
            record(weigh, "mass", 1890.0),
        )
    )
    steps = by_id(shop.checklist(job))
    assert writes_of(steps["whole-bicycle.position"]) == (
        SetUpToLog("saddle_height_mm", 742.0),
        SpecToWrite(fork, "wanted_mm", 191.5, None),
    )
    assert writes_of(steps[f"whole-bicycle.weigh:{frame}"]) == (MassToWrite(frame, 1890.0),)


def service(shop: Workshop) -> tuple[UUID, UUID]:
    calliper = shop.part("cable-disc-caliper", moving_pads="one")
    pads = shop.part("brake-pads")
    shop.fit(calliper, "front")
    shop.fit(pads, "", calliper)
    return calliper, pads


def test_a_finished_service_logs_the_task_it_completed() -> None:
    shop = Workshop(LIBRARY)
    calliper, _ = service(shop)
    job = shop.job("service", about=calliper, task="cable-disc-caliper.take-up")
    checklist = shop.checklist(job)
    done = replace(job, marks=tuple(shop.mark(step) for step in checklist.steps))
    assert finish(shop.checklist(done), done, LIBRARY) == (
        EventToLog("adjusted", calliper, "cable-disc-caliper.take-up"),
    )


@pytest.mark.parametrize("left", ["open", "skipped"])
def test_a_service_with_its_safety_step_left_completes_no_task(left: str) -> None:
    shop = Workshop(LIBRARY)
    calliper, _ = service(shop)
    job = shop.job("service", about=calliper, task="cable-disc-caliper.take-up")
    fixed, tighten = shop.checklist(job).steps
    marks = (shop.mark(fixed), *((shop.mark(tighten, "skipped"),) if left == "skipped" else ()))
    half = replace(job, marks=marks)
    assert finish(shop.checklist(half), half, LIBRARY) == ()


def test_a_finished_replacement_logs_its_readings_and_no_task() -> None:
    shop = Workshop(LIBRARY)
    _, pads = service(shop)
    job = shop.job("replace", about=pads)
    steps = shop.checklist(job).steps
    put_in = next(step for step in steps if step.id == "brake-pads.put-in@front")
    done = replace(
        job,
        marks=tuple(shop.mark(step) for step in steps),
        records=(
            record(put_in, "wear:lining_mm@inner", 2.5),
            record(put_in, "wear:lining_mm@outer", 2.4),
            StepRecord(put_in.id, "of other parts", "wear:lining_mm@outer", 9.9, None),
        ),
    )
    assert finish(shop.checklist(done), done, LIBRARY) == (
        WearToLog(pads, "lining_mm", "inner", 2.5, put_in.id),
        WearToLog(pads, "lining_mm", "outer", 2.4, put_in.id),
    )
