"""What is written straight from values is what the shown models would write: every field, name and order."""

import json
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta

import pytest

from service.domain.checklist import draw_up
from service.domain.due import Due, due_of
from service.domain.procedure import Library
from service.domain.standing import Between
from service.domain.steps import Checklist, FactAsked, MeasureFirst
from service.schemas.answers import writer_of
from service.schemas.care import DueOfBuild, DuePage
from service.schemas.checklists import ChecklistShown, FactAskedShown
from service.schemas.fields import Shown
from service.schemas.showing import show_due, show_due_page, write_checklist, write_due_page
from tests.domain.bicycles import NOW, TODAY
from tests.domain.mixed_bicycle import MixedBicycle

MEASURED = MeasureFirst(FactAsked(None, "fork", "mount_painted", "Paint", "Look."), 3)
AFTERWARDS = NOW + timedelta(days=400)


@pytest.fixture(scope="module")
def bike(library: Library) -> MixedBicycle:
    return MixedBicycle(library)


def as_models_write_it(checklist: Checklist) -> bytes:
    """The checklist as the models of the API document write it, made and checked one by one."""
    given = {name: getattr(checklist, name) for name in ChecklistShown.model_fields}
    given["measure_first"] = [
        {name: getattr(each.fact, name) for name in ("category", "field", "title", "how")}
        | {"part": each.fact.part_id, "decides": each.decides}
        for each in checklist.measure_first
    ]
    return ChecklistShown.model_validate(given).model_dump_json(by_alias=True).encode()


def half_done(bike: MixedBicycle) -> Checklist:
    """The job with every second step ticked and one part missing, so that all that can hold a step up does."""
    drawn = bike.shop.checklist()
    job = bike.shop.tick_all(drawn, leave=[step.id for step in drawn.steps[::2]])
    return replace(
        draw_up(bike.shop.bicycle(), bike.shop.library, job, now=NOW, today=TODAY), measure_first=(MEASURED,)
    )


@pytest.mark.parametrize("done", [False, True])
def test_a_checklist_is_written_as_its_models_write_it(done: bool, bike: MixedBicycle) -> None:
    drawn = half_done(bike) if done else bike.shop.checklist()
    assert len(drawn.steps) > 200
    assert any(step.marked_at for step in drawn.steps) == done
    assert write_checklist(drawn) == as_models_write_it(drawn)


def test_a_checklist_of_parts_to_come_is_written_as_its_models_write_it(library: Library) -> None:
    drawn = MixedBicycle(library, planned=True).shop.checklist()
    assert any(step.fits for step in drawn.steps)
    assert write_checklist(drawn) == as_models_write_it(drawn)


def test_what_is_due_is_written_as_its_models_write_it(bike: MixedBicycle, library: Library) -> None:
    bicycle = bike.shop.bicycle()
    dues = due_of(bicycle, library, today=AFTERWARDS.date(), now=AFTERWARDS)
    assert any(due.on is not None for due in dues)
    own = bicycle.build
    items = [show_due(due) for due in dues]
    page = DuePage(items=[DueOfBuild(build=own.id, name=own.name, state=own.state, items=items)], next=None)
    assert show_due_page([(bicycle, dues)]) == page
    assert write_due_page([(bicycle, dues)], "next") == (
        page.model_copy(update={"next": "next"}).model_dump_json(by_alias=True).encode()
    )


def test_a_distance_left_and_a_day_are_written_as_numbers_and_dates(bike: MixedBicycle, library: Library) -> None:
    bicycle = bike.shop.bicycle()
    due: Due = due_of(bicycle, library, today=AFTERWARDS.date(), now=AFTERWARDS)[0]
    on = Between(date(2026, 4, 1), date(2026, 4, 9), None)
    ranged = replace(due, km_left=Between(-1.5, 10.0, 99.0), on=on)
    (build,) = json.loads(write_due_page([(bicycle, [ranged])], None))["items"]
    (item,) = build["items"]
    assert item["km_left"] == {"early": -1.5, "middle": 10.0, "late": 99.0}
    assert item["on"] == {"early": "2026-04-01", "middle": "2026-04-09", "late": None}
    assert item["build"] == str(bicycle.build.id)


class _Wants(Shown):
    part_id: str
    colour: str


class _Many(Shown):
    facts: list[FactAskedShown]


@dataclass(frozen=True, slots=True)
class _Lacks:
    part_id: str


@dataclass(frozen=True, slots=True)
class _OtherShape:
    facts: dict[str, FactAsked]


def test_a_value_that_lacks_a_field_is_refused_before_anything_is_written() -> None:
    with pytest.raises(TypeError, match="_Lacks has no colour"):
        writer_of(_Wants, _Lacks)(_Lacks("1"))


def test_a_value_of_another_shape_is_refused_before_anything_is_written() -> None:
    with pytest.raises(TypeError, match="cannot be shown"):
        writer_of(_Many, _OtherShape)(_OtherShape({}))


def test_an_instant_is_written_as_the_models_write_it(bike: MixedBicycle) -> None:
    at = datetime(2026, 4, 1, 12, 30, 0, 250, UTC)
    drawn = replace(bike.shop.checklist(), finished_at=at)
    assert write_checklist(drawn) == as_models_write_it(drawn)
    assert json.loads(write_checklist(drawn))["finished_at"] == "2026-04-01T12:30:00.000250Z"
