"""Bicycles made in a few words for tests: parts with specs, fitted or planned, in wheels or on the build."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, timedelta
from itertools import count
from typing import Any, Literal
from uuid import UUID

from service.domain.bicycle import (
    Acceptance,
    Bench,
    Bicycle,
    BuildFacts,
    Fitting,
    Mark,
    Part,
    PlanRow,
    SpecFact,
    StartedJob,
    StepRecord,
)
from service.domain.checklist import draw_up
from service.domain.procedure import Library
from service.domain.seats import place_parts
from service.domain.steps import Checklist, ChecklistStep

NOW = datetime(2026, 5, 4, 9, 30, tzinfo=UTC)
TODAY = NOW.date()
BUILD = UUID(int=7)
JOB = UUID(int=8)


def key(number: int) -> UUID:
    """An id whose last digits differ, as those of a UUIDv7 do."""
    return UUID(int=(number * 2654435761) % 2**32 + (number << 64))


def spec(name: str, value: float | str | bool) -> SpecFact:
    """A measured fact."""
    if isinstance(value, bool):
        return SpecFact(name, None, "yes" if value else "no", "measured")
    if isinstance(value, str):
        return SpecFact(name, None, value, "measured")
    return SpecFact(name, float(value), None, "measured")


@dataclass
class Workshop:
    """Parts and where they are, changed step by step as a person would; `bicycle()` is what that makes."""

    library: Library
    parts: dict[UUID, Part] = field(default_factory=dict)
    fittings: list[Fitting] = field(default_factory=list)
    plan: list[PlanRow] = field(default_factory=list)
    accepted: list[Acceptance] = field(default_factory=list)
    bench: Bench = field(default_factory=Bench)
    now: datetime = NOW - timedelta(days=100)
    ids: Any = field(default_factory=lambda: count(1))

    def part(
        self,
        category: str,
        *,
        origin: Any = "new",
        state: Any = "in hand",
        expected_on: date | None = None,
        **specs: Any,
    ) -> UUID:
        """A part that lies in the bin; a spec of None is not entered."""
        part_id = key(next(self.ids))
        facts = {name: (spec(name, value),) for name, value in specs.items() if value is not None}
        self.parts[part_id] = Part(
            id=part_id, category=category, name=category, tag=None, origin=origin, state=state,
            expected_on=expected_on, pieces=1, metres_before=0, made_on=None, price_minor=None, price_new_minor=None,
            mass_claimed_g=None, mass_weighed_g=None, version=1, specs=facts,
        )  # fmt: skip
        return part_id

    def fit(self, part_id: UUID, place: str = "", into: UUID | None = None) -> UUID:
        """Puts a part on, a minute later; what was planned takes its plan row's id."""
        self.now += timedelta(minutes=1)
        row = next((row for row in self.plan if row.part_id == part_id), None)
        if row is not None:
            self.plan.remove(row)
        fitting_id = row.id if row is not None else key(next(self.ids))
        build = BUILD if into is None else None
        slot = self.parts[part_id].category
        self.fittings.append(Fitting(fitting_id, part_id, build, into, slot, place, self.now, None))
        return fitting_id

    def choose(self, part_id: UUID, place: str = "", into: UUID | None = None) -> UUID:
        """Plans a part for a place."""
        row_id = key(next(self.ids))
        self.plan.append(PlanRow(row_id, part_id, into, self.parts[part_id].category, place, True))
        return row_id

    def take_off(self, part_id: UUID) -> Fitting:
        """Takes a part off, a minute later."""
        self.now += timedelta(minutes=1)
        for number, fitting in enumerate(self.fittings):
            if fitting.part_id == part_id and fitting.to_at is None:
                off = replace(fitting, to_at=self.now)
                self.fittings[number] = off
                return off
        raise AssertionError("it is not on")

    def off_and_on(self, part_id: UUID) -> None:
        """Takes a part off and puts it back."""
        off = self.take_off(part_id)
        self.fit(part_id, off.place, off.into_part_id)

    def swap(self, old: UUID, new: UUID) -> None:
        """Puts another part in the place of one."""
        off = self.take_off(old)
        self.fit(new, off.place, off.into_part_id)

    def bicycle(self) -> Bicycle:
        """Everything as it stands now."""
        build = BuildFacts(BUILD, "Test", "assembling", "mixed", False, 80000, 10000, "right", 0, 1)
        placed = place_parts(self.parts, [f for f in self.fittings if f.to_at is None], self.plan, self.library)
        return Bicycle(
            build=build, parts=self.parts, placed=placed, plan=tuple(self.plan), fittings=tuple(self.fittings),
            acceptances=tuple(self.accepted), bench=self.bench,
        )  # fmt: skip

    def job(
        self, kind: Any = "assemble", *, about: UUID | None = None, task: str | None = None, **more: Any
    ) -> StartedJob:
        """A started job."""
        return StartedJob(JOB, kind, about, task, NOW - timedelta(days=100), None, **more)

    def checklist(self, job: StartedJob | None = None) -> Checklist:
        """The checklist as it stands now."""
        return draw_up(self.bicycle(), self.library, job or self.job(), now=NOW, today=TODAY)

    def tick_all(self, checklist: Checklist | None = None, *, leave: Sequence[str] = ()) -> StartedJob:
        """A job with every step of its checklist done a minute later, but for some."""
        self.now += timedelta(minutes=1)
        steps = (checklist or self.checklist()).steps
        return self.job(marks=tuple(self.mark(step) for step in steps if step.id not in leave))

    def mark(self, step: ChecklistStep, state: Literal["done", "skipped"] = "done") -> Mark:
        """A tick of one step as it is shown."""
        return Mark(step.id, step.fingerprint, state, self.now, None, step.step_hash)


def by_id(checklist: Checklist) -> Mapping[str, ChecklistStep]:
    """The steps by their ids."""
    return {step.id: step for step in checklist.steps}


def open_ids(checklist: Checklist) -> set[str]:
    """The ids of the open steps."""
    return {step.id for step in checklist.steps if step.state == "open"}


def without_place(ids: Iterable[str]) -> set[str]:
    """The ids without the place or part behind them."""
    return {each.partition("@")[0].partition(":")[0] for each in ids}


def record(step: ChecklistStep, name: str, number: float | None = None, words: str | None = None) -> StepRecord:
    """An answer written down at a step."""
    return StepRecord(step.id, step.fingerprint, name, number, words)
