"""What a correction within a transaction moves of what is due on a build."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from uuid import UUID

from sqlmodel import Session

from service.domain.moved import Moved, moved
from service.domain.procedure import Library
from service.records.bicycle import load
from service.records.care import due_now
from service.records.people import Who


@contextmanager
def what_moves(session: Session, who: Who, build_id: UUID, *, library: Library, now: datetime) -> Iterator[list[Moved]]:
    """A list that holds, once the work within is done, the items whose state or day is another one than before."""
    before = due_now(load(session, who, build_id, library), library, who, now)
    told: list[Moved] = []
    yield told
    told.extend(moved(before, due_now(load(session, who, build_id, library), library, who, now)))
