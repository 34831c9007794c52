"""What is due on a bicycle: every task and wearing dimension with where it stands, most pressing first."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date, datetime
from uuid import UUID

from service.domain.bicycle import Bicycle, WearMeasurement
from service.domain.desk import Desk
from service.domain.history import WHOLE, History, subject_of
from service.domain.instants import end_anywhere
from service.domain.joins import with_joins
from service.domain.places import familiar, surroundings
from service.domain.procedure import Library
from service.domain.standing import STATES, Due, State
from service.domain.task_due import task_dues
from service.domain.wear_due import wear_dues

__all__ = ["STATES", "Due", "State", "due_of", "offers", "state_of", "summary"]

RANKS = {state: STATES.index("fine") - number for number, state in enumerate(STATES)}
"""What a build's sort column holds: 0 is fine, more is more pressing."""
BUNDLED: tuple[State, ...] = ("overdue", "due", "plan it")
"""States in which a look can be left to a bundle; what is not to be ridden, or not known at all, stands alone."""


def due_of(bicycle: Bicycle, library: Library, *, today: date, now: datetime) -> tuple[Due, ...]:
    """Everything that is due, or will be, of the fitted parts and the whole bicycle, most pressing first.

    `now` is aware, in the zone whose days count; all that was done or ridden today counts.
    """
    history = History(bicycle, library, max(now, end_anywhere(today)))
    desk = Desk(history, today, now.tzinfo)
    around = familiar(with_joins(surroundings(bicycle, library, "service")))
    read: dict[UUID, list[WearMeasurement]] = {}
    for each in sorted(bicycle.measurements, key=lambda each: (each.at, each.id)):
        read.setdefault(each.part_id, []).append(each)
    met: list[Due] = []
    for placed in (None, *(each for each in around.placed if not each.planned)):
        subject = subject_of(history, around.here(placed))
        if subject is not None:
            met.extend(task_dues(subject, desk))
            met.extend(wear_dues(subject, desk, read.get(placed.part.id, ()) if placed else ()))
    return tuple(sorted(_bundled(met, library), key=lambda due: due.rank))


def _bundled(dues: Sequence[Due], library: Library) -> Iterable[Due]:
    """Looks that a bundle does as well say so while it is due no later than they: one look, not asked for twice."""
    whole = library.categories.get(WHOLE)
    does = {f"{WHOLE}.{task.key}": task.restarts for task in (whole.tasks if whole else ())}
    open_ones = [due for due in dues if due.part_id is None and due.state in BUNDLED and due.put_off is None]
    bundles = sorted((due for due in open_ones if does.get(due.task)), key=lambda due: due.rank)
    for due in dues:
        around = [
            each.task
            for each in bundles
            if due.task in does[each.task] and STATES.index(each.state) <= STATES.index(due.state)
        ]
        yield replace(due, within=around[0]) if around and due.state in BUNDLED else due


def summary(dues: Iterable[Due]) -> tuple[int, date | None, str | None]:
    """The three sort columns of a build: how pressing its first item is (see `RANKS`), the first day, and what."""
    met = sorted(dues, key=lambda due: due.rank)
    if not met:
        return RANKS["fine"], None, None
    first = met[0]
    days = [each.on for each in met if each.state == first.state and each.on is not None]
    place = f", {first.where}" if first.where else ""
    return RANKS[first.state], min(days, default=None), f"{first.title}{place}"


def state_of(due_rank: int) -> State:
    """The state that a build's sort column stands for."""
    return next((state for state, rank in RANKS.items() if rank == due_rank), "fine")


def offers(library: Library, category: str, kind: str) -> tuple[str, ...]:
    """The tasks that an event of this kind on such a part may complete, "category.key"; "whole-bicycle" has its own."""
    found = library.categories.get(category)
    return tuple(f"{category}.{task.key}" for task in (found.tasks if found else ()) if kind in task.done_by)
