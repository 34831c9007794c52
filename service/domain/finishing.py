"""What ticking a step and finishing a job leave behind: parts that go on, readings, specs, events."""

from collections.abc import Iterator
from dataclasses import dataclass
from uuid import UUID

from service.domain.bicycle import Bicycle, Placed, StartedJob
from service.domain.ends import end_in, roles_of
from service.domain.jobs import find_task
from service.domain.procedure import Library
from service.domain.steps import Checklist, ChecklistStep, RecordAsked

SHIM = "shim"


@dataclass(frozen=True, slots=True)
class PartGoesOn:
    """A planned part that a tick fits: on the build, or into another part, at its own place there.

    `fitting_id` is the plan row's id, which the fitting takes. Hosts stand before what sits in them.
    """

    fitting_id: UUID
    part_id: UUID
    into_part_id: UUID | None
    slot: str
    place: str


@dataclass(frozen=True, slots=True)
class EventToLog:
    """A maintenance event, of one part or (none) of the build, with the task it completes."""

    kind: str
    part_id: UUID | None
    task: str | None = None


@dataclass(frozen=True, slots=True)
class WearToLog:
    """A reading of one wearing dimension, in the unit at the end of its name."""

    part_id: UUID
    dimension: str
    place: str
    number: float
    step_id: str


@dataclass(frozen=True, slots=True)
class SpecToWrite:
    """A spec found out at a step: measured."""

    part_id: UUID
    field: str
    number: float | None
    words: str | None


@dataclass(frozen=True, slots=True)
class MassToWrite:
    """A mass in grams, of one part or (none) of the whole bicycle."""

    part_id: UUID | None
    mass_g: float


@dataclass(frozen=True, slots=True)
class SetUpToLog:
    """One figure of the rider's set-up; the unit is the end of its name."""

    field: str
    number: float


Written = WearToLog | SpecToWrite | MassToWrite | SetUpToLog
ToLog = EventToLog | Written


def tick_effects(step: ChecklistStep, bicycle: Bicycle, library: Library) -> tuple[PartGoesOn, ...]:
    """The planned parts that are on once this step is done, with the shims that bridge them."""
    going = set(step.fits)
    on = going | {placed.part.id for placed in bicycle.placed if not placed.planned}
    met = [
        placed
        for placed in bicycle.placed
        if placed.planned and (placed.part.id in going or _bridges(placed, bicycle, library, going, on))
    ]
    return tuple(
        PartGoesOn(placed.fitting_id, placed.part.id, placed.host_id, placed.slot, placed.own_place) for placed in met
    )


def _bridges(shim: Placed, bicycle: Bicycle, library: Library, going: set[UUID], on: set[UUID]) -> bool:
    """Does a planned shim sit between parts that are all on, one of them by this tick?"""
    if shim.slot != SHIM:
        return False
    end = end_in(shim.own_place)
    word = shim.own_place.removeprefix(f"{end}.") if end else shim.own_place
    roles = next(
        (
            {name, *(partner.partition("@")[0] for partner in join.with_)}
            for name, category in library.categories.items()
            for join in category.joins
            if word == f"{name}-{join.key}"
        ),
        set(),
    )
    joined = {
        placed.part.id
        for placed in bicycle.placed
        if roles & set(roles_of(placed.part, placed.slot, library)) and end_in(placed.place) in (None, end)
    }
    return bool(joined & going) and joined <= on


def writes_of(step: ChecklistStep) -> tuple[Written, ...]:
    """What the answers of a step write elsewhere: readings, specs, masses, the set-up. Checks stay with the tick."""
    return tuple(written for record in step.records if (written := _written(record, step.id)) is not None)


def _written(record: RecordAsked, step_id: str) -> Written | None:
    target, _, key = record.into.partition(":")
    kind = target.rpartition(".")[2]
    answered = record.number is not None or record.words is not None
    if kind == "spec" and record.part_id is not None and answered:
        return SpecToWrite(record.part_id, key, record.number, record.words)
    if record.number is None:
        return None
    match kind:
        case "wear" if record.part_id is not None:
            return WearToLog(record.part_id, key, record.place, record.number, step_id)
        case "mass":
            return MassToWrite(record.part_id, record.number)
        case "set-up":
            return SetUpToLog(key, record.number)
    return None


def finish(checklist: Checklist, job: StartedJob, library: Library) -> tuple[ToLog, ...]:
    """Everything a finished job logs: the task it completed or the look it was, and what its steps wrote down.

    A task counts as done where something of it was done, nothing is left open and no safety step was skipped.
    """
    done = (written for step in checklist.steps if step.state == "done" for written in writes_of(step))
    return (*_events(checklist, job, library), *done)


def _events(checklist: Checklist, job: StartedJob, library: Library) -> Iterator[EventToLog]:
    if not _carried_through(checklist):
        return
    if job.task is not None:
        _, task = find_task(job.task, library)
        usual = "adjusted" if job.job == "service" else "inspected"
        kind = task.done_by[0] if task.done_by else usual
        yield EventToLog(kind, job.about_part_id, job.task)
    elif job.job in ("check", "assemble"):
        yield EventToLog("inspected", job.about_part_id)


def _carried_through(checklist: Checklist) -> bool:
    steps = checklist.steps
    left = any(step.state == "open" and not step.undecided for step in steps)
    return (
        any(step.state == "done" for step in steps)
        and not left
        and not any(step.safety and step.state == "skipped" for step in steps)
    )
