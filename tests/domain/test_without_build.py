"""The checklist of one category with nothing stored."""

import pytest

from service.domain.without_build import draw_up_for_category
from service.errors import Refusal
from tests.domain.bicycles import by_id
from tests.domain.small_library import library

LIBRARY = library()
CALLIPER = "cable-disc-caliper"


def test_with_no_facts_every_step_is_there_and_says_what_would_decide_it() -> None:
    steps = by_id(draw_up_for_category(LIBRARY, CALLIPER, "assemble", "front", {}))
    assert set(steps) == {f"{CALLIPER}.{key}@front" for key in ("face", "hang", "set-fixed", "centre", "tighten")}
    assert [fact.field for fact in steps[f"{CALLIPER}.set-fixed@front"].undecided] == ["moving_pads"]
    assert steps[f"{CALLIPER}.face@front"].undecided
    assert not steps[f"{CALLIPER}.hang@front"].undecided


def test_facts_of_the_part_and_of_others_decide() -> None:
    facts = {"moving_pads": "both", "fork.brake_mount": "post", "frame.painted": "yes"}
    front = by_id(draw_up_for_category(LIBRARY, CALLIPER, "assemble", "front", facts))
    assert f"{CALLIPER}.set-fixed@front" not in front
    assert not front[f"{CALLIPER}.centre@front"].undecided
    rear = by_id(draw_up_for_category(LIBRARY, CALLIPER, "assemble", "rear", facts))
    assert not rear[f"{CALLIPER}.face@rear"].undecided
    again = by_id(draw_up_for_category(LIBRARY, CALLIPER, "assemble", "rear", {"host.painted": "no"}))
    assert f"{CALLIPER}.face@rear" not in again


def test_the_first_place_is_taken_where_none_is_named() -> None:
    steps = draw_up_for_category(LIBRARY, CALLIPER, "service", None, {}).steps
    assert {step.place for step in steps} == {"front"}


def test_a_check_shows_the_look_of_the_part() -> None:
    steps = draw_up_for_category(LIBRARY, CALLIPER, "check", "rear", {}).steps
    assert [step.id for step in steps] == [f"{CALLIPER}.look-over@rear"]


@pytest.mark.parametrize(
    ("category", "place", "facts", "says"),
    [
        ("sprocket-wheel", None, {}, "no category sprocket-wheel"),
        ("whole-bicycle", None, {}, "no category whole-bicycle"),
        (CALLIPER, "left", {}, "has no place left; it has front, rear"),
        ("frame", "front", {}, "no place at all"),
        (CALLIPER, "front", {"colour": "red"}, "no spec colour"),
        (CALLIPER, "front", {"mount": "magnet"}, "mount"),
        (CALLIPER, "front", {"hub.old_mm": "wide"}, "number"),
        (CALLIPER, "front", {"origin": "stolen"}, "no origin stolen"),
        ("frame", "", {"host.painted": "yes"}, "build itself"),
    ],
)
def test_what_does_not_exist_is_refused(category: str, place: str | None, facts: dict[str, str], says: str) -> None:
    with pytest.raises(Refusal, match=says):
        draw_up_for_category(LIBRARY, category, "assemble", place, facts)


@pytest.mark.parametrize("category", [name for name in LIBRARY.categories if name != "whole-bicycle"])
@pytest.mark.parametrize("job", ["assemble", "replace", "service", "check", "strip"])
def test_every_category_and_job_answers(category: str, job: str) -> None:
    steps = draw_up_for_category(LIBRARY, category, job, None, {}).steps  # type: ignore[arg-type]
    assert all(step.category == category for step in steps)
