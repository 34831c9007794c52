"""Matters of safety that the owner switched off, loosened or put off, and what a correction moved."""

from dataclasses import replace
from datetime import date, timedelta
from typing import Any
from uuid import UUID

from service.domain.bicycle import Bicycle, Part, PutOff, ServiceRule, SpecFact
from service.domain.due import due_of
from service.domain.loosened import loosened
from service.domain.moved import moved
from service.domain.procedure import Limit, Span, Wear
from tests.domain.garage import START, Garage, at, category, library, task

LOOK = task("look", every=Span(km=500, days=30), weight="safety")
OIL = task("oil", every=Span(km=300))
LINING = Wear(
    key="lining_mm", title="Lining", direction="shrinks", new=2.2, measure="Measure it.", weight="safety",
    limits=(
        Limit(action="replace", spec="least_mm", basis="maker"),
        Limit(action="replace", value=1.0, basis="common practice"),
    ),
)  # fmt: skip
LIBRARY = library(category("whole-bicycle"), category("brake-pads", tasks=(LOOK, OIL), wear=(LINING,)))


def bicycle(*, rules: Any = (), put_offs: Any = ()) -> tuple[Bicycle, UUID]:
    """A bicycle with pads on it since the start, and what is ruled of them."""
    garage = Garage(LIBRARY)
    pads = garage.part("brake-pads")
    garage.fit(pads, at(0))
    ruled = tuple(make(pads) for make in rules)
    return replace(garage.bicycle(), rules=ruled, put_offs=tuple(make(pads) for make in put_offs)), pads


def rule(task_key: str, **more: Any) -> Any:
    """A rule of the pads, whatever their id."""
    given: dict[str, Any] = {
        "off": False,
        "metres": None,
        "days": None,
        "hours": None,
        "limit_reading": None,
        "reason": "Mine.",
    }
    return lambda pads: ServiceRule(
        id=UUID(int=5), build_id=None, part_id=pads, task=f"brake-pads.{task_key}", **(given | more)
    )


def said(**more: Any) -> list[str]:
    """What is said of a bicycle."""
    return [each.say for each in loosened(bicycle(**more)[0], LIBRARY, START)]


def test_a_safety_task_that_is_switched_off_is_said_and_another_weights_is_not() -> None:
    assert said(rules=[rule("look", off=True)]) == ["switched off: Mine."]
    assert said(rules=[rule("oil", off=True)]) == []


def test_only_what_is_wider_than_the_librarys_interval_is_said() -> None:
    assert said(rules=[rule("look", metres=800_000, days=20)]) == ["your own interval is wider: 800 km instead of 500"]
    assert said(rules=[rule("look", metres=400_000, hours=900.0)]) == []


def test_a_laxer_limit_is_said_against_the_strictest_figure_and_the_mark_on_the_part() -> None:
    assert said(rules=[rule("lining_mm", limit_reading=0.6)]) == ["your own limit is laxer: 0.6 mm instead of 1 mm"]
    assert said(rules=[rule("lining_mm", limit_reading=1.2)]) == []
    marked, pads = bicycle(rules=[rule("lining_mm", limit_reading=1.2)])
    part: Part = replace(marked.parts[pads], specs={"least_mm": (SpecFact("least_mm", 1.5, None, "printed"),)})
    [found] = loosened(replace(marked, parts={**marked.parts, pads: part}), LIBRARY, START)
    assert found.say == "your own limit is laxer: 1.2 mm instead of 1.5 mm"


def test_a_put_off_is_said_with_its_reason_until_its_day() -> None:
    def put(until: date) -> Any:
        return lambda pads: PutOff(None, pads, "brake-pads.look", until, None, "Pads are ordered.")

    assert said(put_offs=[put(START + timedelta(days=9))]) == ["put off until 10 January: Pads are ordered."]
    assert said(put_offs=[put(START)]) == []


def test_what_a_removed_ride_moved_is_told_with_both_states() -> None:
    garage = Garage(LIBRARY)
    pads = garage.part("brake-pads")
    garage.fit(pads, at(0))
    garage.ride(at(1), 600)
    before = due_of(garage.bicycle(), LIBRARY, today=START + timedelta(days=2), now=at(2))
    garage.rides.clear()
    after = due_of(garage.bicycle(), LIBRARY, today=START + timedelta(days=2), now=at(2))
    told = {each.title: (each.was, each.now) for each in moved(before, after)}
    assert told["Look"] == ("overdue", "fine")
    assert told["Oil"] == ("overdue", "fine")
    assert moved(after, after) == ()
