"""What happened to one bicycle and its parts, indexed once: tasks done, events, swaps, rides; asked by `occurrence`."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from functools import cached_property
from uuid import UUID

from service.domain.bicycle import Bicycle, DoneTask, Event, Fitting, Placed
from service.domain.distance import BEGINNING, Ridden, Stay
from service.domain.ends import end_in, role_specs
from service.domain.memory import remembered
from service.domain.odometer import Weighing
from service.domain.places import Here
from service.domain.procedure import Category, Library, Task

WHOLE = "whole-bicycle"
LIFTED_OUT = frozenset({"wheel", "factory-wheel", "tyre", "tube"})
"""What comes out for a puncture or a spare wheel undoes no fastening: no settling check starts afresh."""


@dataclass(frozen=True, slots=True)
class Moment:
    """Something that happened, with the id of its row, words for it and the civil day where that is on record."""

    at: datetime
    row: UUID
    say: str
    day: date | None = None


@dataclass(frozen=True, slots=True)
class Subject:
    """A placed part, or the whole bicycle where there is none, with where it was and since when it counts."""

    category: Category
    here: Here
    placed: Placed | None
    stays: tuple[Stay, ...]
    began: Moment | None
    fitted: Moment | None

    @property
    def part_id(self) -> UUID | None:
        """The part; None for the whole bicycle."""
        return self.placed.part.id if self.placed else None

    def at(self, instant: datetime) -> Stay | None:
        """Where it was at an instant."""
        return next((stay for stay in self.stays if stay.covers(instant)), None)

    def near(self, stay: Stay, instant: datetime) -> bool:
        """Was it on the same build at that instant, and at the same end where both have one?"""
        own = self.at(instant)
        if own is None or own.build_id != stay.build_id:
            return False
        ends = {end_in(own.place), end_in(stay.place)} - {None}
        return len(ends) < 2

    @property
    def metres_before(self) -> int | None:
        """Its distance before it was known here; None where that is not known."""
        if self.placed is None:
            build = self.here.around.build
            return build.metres_before if build else None
        part = self.placed.part
        return 0 if part.metres_before is None and part.origin == "new" else part.metres_before


class History:
    """The past of a bicycle until now."""

    def __init__(self, bicycle: Bicycle, library: Library, now: datetime) -> None:
        self.bicycle, self.library, self.now = bicycle, library, now
        self.ridden = Ridden(bicycle)
        self.mixes: dict[tuple[UUID | None, Weighing], tuple[float, float]] = {}
        self.present = frozenset(placed.part.id for placed in bicycle.placed if not placed.planned)

    @cached_property
    def done(self) -> Mapping[str, tuple[tuple[Event, DoneTask], ...]]:
        """The events that completed each task, oldest first."""
        met: dict[str, list[tuple[Event, DoneTask]]] = {}
        for event in sorted(self.bicycle.events, key=lambda event: event.at):
            for task in event.tasks if event.at <= self.now else ():
                met.setdefault(task.task, []).append((event, task))
        return {task: tuple(pairs) for task, pairs in met.items()}

    @cached_property
    def by_role(self) -> Mapping[str, tuple[Fitting, ...]]:
        """All fittings by what the part serves as, oldest first."""
        met: dict[str, list[Fitting]] = {}
        for fitting in sorted(self.bicycle.fittings, key=lambda fitting: fitting.from_at):
            category = self.library.categories.get(fitting.slot)
            for role in (fitting.slot, *(role_specs(category) if category else ())):
                met.setdefault(role, []).append(fitting)
        return {role: tuple(fittings) for role, fittings in met.items()}

    @cached_property
    def first_ride(self) -> Moment | None:
        """When the bicycle was first ridden, as far as rides or readings tell."""
        odometer = self.ridden.odometer(self.bicycle.build.id)
        starts = [Moment(ride.started_at, ride.id, "First ridden", ride.day) for ride in odometer.rides[:1]]
        starts += [Moment(ramp.from_at, self.bicycle.build.id, "First ridden") for ramp in odometer.unlogged[:1]]
        past = [moment for moment in starts if moment.at <= self.now]
        return min(past, key=lambda moment: moment.at, default=None)

    @cached_property
    def found_fine(self) -> Mapping[UUID, tuple[datetime, ...]]:
        """When each part was looked over by a task of its own and found fine, oldest first."""
        met: dict[UUID, list[datetime]] = {}
        for event in sorted(self.bicycle.events, key=lambda event: event.at):
            if event.part_id is not None and event.kind == "inspected" and event.found == "fine" and event.tasks:
                met.setdefault(event.part_id, []).append(event.at)
        return {part_id: tuple(at for at in times if at <= self.now) for part_id, times in met.items()}

    def last_done(self, subject: Subject, task: str) -> Event | None:
        """The last event that completed a task on this very part, or on the bicycle as a whole."""
        for event, done in reversed(self.done.get(task, ())):
            if done.part_id == subject.part_id and (done.part_id is not None or done.build_id == self._build_id):
                return event
        return None

    def done_on(self, subject: Subject, task: str) -> list[Event]:
        """The events that completed a task on this very part, or on the bicycle as a whole, oldest first."""
        return [
            event
            for event, done in self.done.get(task, ())
            if done.part_id == subject.part_id and (done.part_id is not None or done.build_id == self._build_id)
        ]

    @property
    def _build_id(self) -> UUID:
        return self.bicycle.build.id

    def restarted(self, subject: Subject, task: str) -> Iterator[tuple[Moment, bool]]:
        """When this task was started afresh; the flag: by a new part, not by something done.

        A task of the same part or of the whole bicycle does so by being done, one of another part by that part's being
        new: pads that were looked at start nothing, new pads do.
        """
        for category, by in _restarters(self.library).get(task, ()):
            if category.category in (WHOLE, subject.category.category):
                done = self.done_near(subject, f"{category.category}.{by.key}")
                if done is not None:
                    yield replace(done, say=f"{by.title}: done"), False
            else:
                fitted = self._fitted_near(subject, category.category)
                if fitted is not None and subject.began is not None and fitted.from_at > subject.began.at:
                    yield Moment(fitted.from_at, fitted.id, f"New {category.title.lower()} fitted"), True

    def done_near(self, subject: Subject, task: str) -> Moment | None:
        """When a task was last completed on this part, on one at the same end of its bicycle, or on the whole of it."""
        for event, done in reversed(self.done.get(task, ())):
            own = done.part_id is not None and done.part_id == subject.part_id
            if own or self._was_near(subject, done, event.at):
                return Moment(event.at, event.id, f"{task} done", event.day)
        return None

    def _was_near(self, subject: Subject, done: DoneTask, at: datetime) -> bool:
        own = subject.at(at)
        if done.part_id is None:
            return own is not None and done.build_id == own.build_id
        if done.task.startswith(f"{subject.category.category}."):
            return False
        stays = self.ridden.whereabouts.stays(done.part_id)
        return any(subject.near(stay, at) for stay in stays if stay.covers(at))

    def _fitted_near(self, subject: Subject, role: str) -> Fitting | None:
        for fitting in reversed(self.by_role.get(role, ())):
            stay = self._stay_from(fitting)
            if stay and fitting.from_at <= self.now and subject.near(stay, fitting.from_at):
                return fitting
        return None

    def _stay_from(self, fitting: Fitting) -> Stay | None:
        stays = self.ridden.whereabouts.stays(fitting.part_id)
        return next((stay for stay in stays if stay.covers(fitting.from_at)), None)

    def swapped(self, subject: Subject, role: str) -> Moment | None:
        """When a part in this role last took another's place near the subject, or the subject itself did."""
        fittings = self.by_role.get(role, ())
        for fitting in reversed(fittings):
            stay = self._stay_from(fitting)
            if stay is None or fitting.from_at > self.now or not subject.near(stay, fitting.from_at):
                continue
            if any(_took_its_place(fitting, other) for other in fittings):
                return Moment(fitting.from_at, fitting.id, f"{self._title(role)} swapped")
        return None

    def _title(self, role: str) -> str:
        category = self.library.categories.get(role)
        return category.title if category else role

    def parts_used(self, subject: Subject, role: str, since: datetime) -> int:
        """How many parts in a role were taken off near the subject after an instant and are not on again."""
        gone = {
            fitting.part_id
            for fitting in self.by_role.get(role, ())
            if fitting.to_at is not None and since < fitting.to_at <= self.now and self._left_near(subject, fitting)
        }
        return len(gone - self.present - {subject.part_id})

    def _left_near(self, subject: Subject, fitting: Fitting) -> bool:
        if fitting.to_at is None:
            return False
        just_before = fitting.to_at - timedelta(microseconds=1)
        stays = self.ridden.whereabouts.stays(fitting.part_id)
        return any(subject.near(stay, just_before) for stay in stays if stay.covers(just_before))

    @cached_property
    def build_events(self) -> Mapping[str, tuple[Event, ...]]:
        """The events of whole bicycles by kind, oldest first."""
        met: dict[str, list[Event]] = {}
        for event in sorted(self.bicycle.events, key=lambda event: event.at):
            if event.build_id is not None and event.at <= self.now:
                met.setdefault(event.kind, []).append(event)
        return {kind: tuple(events) for kind, events in met.items()}


@remembered
def _restarters(library: Library) -> Mapping[str, tuple[tuple[Category, Task], ...]]:
    """The tasks that start each task afresh."""
    met: dict[str, list[tuple[Category, Task]]] = {}
    for category in library.categories.values():
        for task in category.tasks:
            for name in task.restarts:
                met.setdefault(name, []).append((category, task))
    return {name: tuple(tasks) for name, tasks in met.items()}


def _took_its_place(newer: Fitting, older: Fitting) -> bool:
    return (
        older.part_id != newer.part_id
        and older.to_at is not None
        and older.to_at <= newer.from_at
        and (older.build_id, older.into_part_id, older.place) == (newer.build_id, newer.into_part_id, newer.place)
    )


def subject_of(history: History, here: Here) -> Subject | None:
    """A placed part, or the whole bicycle, as what tasks are about; None where the library does not know it."""
    category, placed = here.category, here.placed
    if category is None:
        return None
    if placed is None:
        first = history.first_ride
        build_id = history.bicycle.build.id
        return Subject(category, here, None, (Stay(build_id, BEGINNING, None, "", build_id),), first, first)
    stays = history.ridden.whereabouts.stays(placed.part.id)
    own = history.ridden.whereabouts.fittings(placed.part.id)
    if not stays or not own:
        return None
    began = Moment(stays[0].from_at, stays[0].fitting_id, "Fitted")
    latest = own[0 if placed.slot in LIFTED_OUT else -1]
    return Subject(category, here, placed, stays, began, Moment(latest.from_at, latest.id, "Fitted"))
