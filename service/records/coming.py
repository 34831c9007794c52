"""What is due over the builds of a workshop: the most pressing builds first, each with its items."""

from collections.abc import Iterable, Sequence
from datetime import date, datetime
from typing import Any
from uuid import UUID

from sqlmodel import Session

from service.domain import bicycle as seen
from service.domain.due import Due
from service.domain.procedure import Library
from service.domain.standing import QUIET
from service.records.bicycle import load
from service.records.builds import list_builds
from service.records.care import due_now
from service.records.people import Who


def due_of_builds(
    session: Session,
    who: Who,
    *,
    build: UUID | None,
    after: tuple[int, date | None, UUID] | None,
    limit: int,
    library: Library,
    now: datetime,
) -> tuple[Sequence[Any], list[tuple[seen.Bicycle, tuple[Due, ...]]]]:
    """The lines of a page of builds (one more where there are further ones), and what is due on each that is shown.

    Raises NotFound for a build of another workshop.
    """
    if build is not None:
        lines: list[Any] = []
        wanted = [build]
    else:
        lines = list_builds(session, who, after=after, limit=limit + 1)
        wanted = [line["id"] for line in lines[:limit] if line["state"] != "retired"]
    found = []
    for build_id in wanted:
        bicycle = load(session, who, build_id, library)
        found.append((bicycle, due_now(bicycle, library, who, now)))
    return lines, found


def by_day(dues: Iterable[Due], until: date) -> tuple[Due, ...]:
    """What is pressing already, and of the rest what falls due by a day."""
    return tuple(due for due in dues if due.state not in QUIET or (due.day is not None and due.day <= until))
