"""Which steps each kind of job is made of."""

from uuid import UUID

import pytest

from service.errors import Refusal
from tests.domain.bicycles import by_id
from tests.domain.small_bicycle import Bike, at


def test_replacing_a_part_shows_its_steps_and_what_touches_or_is_disturbed() -> None:
    bike = Bike(planned=False)
    ids = set(by_id(bike.shop.checklist(bike.shop.job("replace", about=bike.pads))))
    assert {"brake-pads.put-in@front", "cable-disc-caliper.tighten@front", "whole-bicycle.audit"} <= ids
    assert not at(ids, "headset.build")
    assert not at(ids, "cable-disc-caliper.hang")
    assert (
        bike.shop.checklist(bike.shop.job("replace", about=bike.pads)).notes[0].startswith("Brake pads: take the old")
    )


def test_replacing_shows_the_steps_of_others_whether_or_not_they_were_ticked_before() -> None:
    bike = Bike(planned=False)
    ids = by_id(bike.shop.checklist(bike.shop.job("replace", about=bike.headset)))
    assert ids["whole-bicycle.position"].state == "open"
    assert "headset.trial" in ids


def test_a_service_is_the_steps_of_its_task_that_apply() -> None:
    bike = Bike(planned=False)
    job = bike.shop.job("service", about=bike.calliper, task="cable-disc-caliper.take-up")
    assert [step.id for step in bike.shop.checklist(job).steps] == [
        "cable-disc-caliper.set-fixed@front",
        "cable-disc-caliper.tighten@front",
    ]


def test_a_check_is_the_look_of_a_part_or_the_steps_of_a_task() -> None:
    bike = Bike(planned=False)
    look = bike.shop.checklist(bike.shop.job("check", about=bike.calliper))
    assert [step.id for step in look.steps] == ["cable-disc-caliper.look-over@front"]
    monthly = bike.shop.checklist(bike.shop.job("check", task="whole-bicycle.monthly"))
    assert [step.id for step in monthly.steps] == ["whole-bicycle.audit"]


@pytest.mark.parametrize("task", ["cable-disc-caliper.nothing", "nothing", "nothing.at-all"])
def test_a_task_that_does_not_exist_is_refused_with_what_would_be_right(task: str) -> None:
    bike = Bike()
    with pytest.raises(Refusal, match="There is no task") as met:
        bike.shop.checklist(bike.shop.job("service", task=task))
    assert met.value.errors[0].pointer == "/task"


def test_a_job_about_a_part_that_is_not_on_the_bicycle_is_refused() -> None:
    bike = Bike()
    with pytest.raises(Refusal, match="neither on the bicycle"):
        bike.shop.checklist(bike.shop.job("replace", about=UUID(int=99)))
    with pytest.raises(Refusal, match="names the part"):
        bike.shop.checklist(bike.shop.job("replace"))
