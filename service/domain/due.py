"""What is due on a bicycle: every task and wearing dimension with where it stands, most pressing first."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import date, datetime
from uuid import UUID

from service.domain.bicycle import Bicycle, WearMeasurement
from service.domain.desk import Desk
from service.domain.history import WHOLE, History, Subject, subject_of
from service.domain.instants import end_anywhere
from service.domain.joins import with_joins
from service.domain.places import familiar, surroundings
from service.domain.procedure import Library
from service.domain.standing import STATES, Due, State
from service.domain.task_due import task_dues
from service.domain.wear_due import Worn, wear_due, worn_of

__all__ = [
    "STATES", "Due", "State", "desk_of", "done_by_bundle", "due_of", "dues_at", "offers", "state_of", "summary",
    "worn_at",
]  # fmt: skip

RANKS = {state: STATES.index("fine") - number for number, state in enumerate(STATES)}
"""What a build's sort column holds: 0 is fine, more is more pressing."""
BUNDLED: tuple[State, ...] = ("overdue", "due", "plan it")
"""States in which a look can be left to a bundle; what is not to be ridden, or not known at all, stands alone."""


def due_of(
    bicycle: Bicycle, library: Library, *, today: date, now: datetime, weekly_metres: int | None = None
) -> tuple[Due, ...]:
    """Everything that is due, or will be, of the fitted parts and the whole bicycle, most pressing first.

    `now` is aware, in the zone whose days count; all that was done or ridden today counts. `weekly_metres`: what the
    rider says they ride, for as long as their rides do not tell.
    """
    return dues_at(desk_of(bicycle, library, today=today, now=now, weekly_metres=weekly_metres))


def desk_of(
    bicycle: Bicycle, library: Library, *, today: date, now: datetime, weekly_metres: int | None = None
) -> Desk:
    """What every judgement of what is due on a bicycle rests on; the arguments are those of `due_of`."""
    history = History(bicycle, library, max(now, end_anywhere(today)))
    return Desk(history, today, now.tzinfo, weekly_metres)


def dues_at(desk: Desk) -> tuple[Due, ...]:
    """Everything that is due, or will be, most pressing first."""
    history = desk.history
    return tuple(sorted(_bundled(list(_all(desk)), history.library), key=lambda due: due.rank))


def worn_at(desk: Desk) -> Iterator[Worn]:
    """Every wearing dimension of every fitted part, with its limits and its life so far."""
    read = _read(desk.history.bicycle)
    for subject in _subjects(desk):
        if subject.part_id is not None:
            yield from worn_of(subject, desk, read.get(subject.part_id, ()))


def _all(desk: Desk) -> Iterator[Due]:
    read = _read(desk.history.bicycle)
    for subject in _subjects(desk):
        own = read.get(subject.part_id, ()) if subject.part_id is not None else ()
        worn = list(worn_of(subject, desk, own))
        yield from task_dues(subject, desk, worn)
        yield from (wear_due(each, desk) for each in worn)


def _subjects(desk: Desk) -> Iterator[Subject]:
    """The whole bicycle, then each part that is fitted."""
    history = desk.history
    around = familiar(with_joins(surroundings(history.bicycle, history.library, "service")))
    for placed in (None, *(each for each in around.placed if not each.planned)):
        subject = subject_of(history, around.here(placed))
        if subject is not None:
            yield subject


def _read(bicycle: Bicycle) -> dict[UUID, list[WearMeasurement]]:
    """The readings of each part, oldest first."""
    read: dict[UUID, list[WearMeasurement]] = {}
    for each in sorted(bicycle.measurements, key=lambda each: (each.at, each.id)):
        read.setdefault(each.part_id, []).append(each)
    return read


def _bundled(dues: Sequence[Due], library: Library) -> Iterable[Due]:
    """Looks that a bundle does as well say so while it is due no later than they: one look, not asked for twice."""
    open_ones = [due for due in dues if due.part_id is None and due.state in BUNDLED and due.put_off is None]
    bundles = sorted((due for due in open_ones if done_by_bundle(library, due.task)), key=lambda due: due.rank)
    for due in dues:
        around = [
            each.task
            for each in bundles
            if due.task in done_by_bundle(library, each.task) and STATES.index(each.state) <= STATES.index(due.state)
        ]
        yield replace(due, within=around[0]) if around and due.state in BUNDLED else due


def done_by_bundle(library: Library, task: str) -> tuple[str, ...]:
    """The looks that a task of the whole bicycle, "whole-bicycle.monthly", does as well; none for any other task."""
    whole = library.categories.get(WHOLE)
    return next((each.restarts for each in (whole.tasks if whole else ()) if f"{WHOLE}.{each.key}" == task), ())


def summary(dues: Iterable[Due]) -> tuple[int, date | None, str | None]:
    """The three sort columns of a build: how pressing its first item is (see `RANKS`), the first day, and what."""
    met = sorted(dues, key=lambda due: due.rank)
    if not met:
        return RANKS["fine"], None, None
    first = met[0]
    days = [each.day for each in met if each.state == first.state and each.day is not None]
    place = f", {first.where}" if first.where else ""
    return RANKS[first.state], min(days, default=None), f"{first.title}{place}"


def state_of(due_rank: int) -> State:
    """The state that a build's sort column stands for."""
    return next((state for state, rank in RANKS.items() if rank == due_rank), "fine")


def offers(library: Library, category: str, kind: str) -> tuple[str, ...]:
    """The tasks that an event of this kind on such a part may complete, "category.key"; "whole-bicycle" has its own."""
    found = library.categories.get(category)
    return tuple(f"{category}.{task.key}" for task in (found.tasks if found else ()) if kind in task.done_by)
