"""Reading the journal, and undoing one request: its lines applied backwards, all or nothing."""

from collections.abc import Iterable, Sequence
from typing import Any, NoReturn
from uuid import UUID

from sqlalchemy import inspect, select
from sqlmodel import Session, SQLModel, col

from service.errors import Conflict, NotFound
from service.records.journal import content_of, goes_along
from service.records.lock import take_builds_of, take_part
from service.records.people import Who
from service.tables import Build, Journal, Part

OURS = frozenset({"version", "changed_at", "due_stale"})
"""Columns that count changes themselves: an undo counts on, it does not count back."""
NOT_UNDONE = frozenset({"workshop", "person", "member", "device", "sign_in", "share", "channel"})
"""Who may come in is changed where it is shown, never by undoing."""


def read_journal(
    session: Session, who: Who, *, noun: str | None = None, row_id: str | None = None, before: int | None, limit: int
) -> Sequence[Journal]:
    """Lines of this workshop, newest first, from before a given one."""
    query = select(Journal).where(col(Journal.workshop_id) == who.workshop_id)
    if noun is not None:
        query = query.where(col(Journal.noun) == noun)
    if row_id is not None:
        query = query.where(col(Journal.row_id) == row_id)
    if before is not None:
        query = query.where(col(Journal.id) < before)
    return session.execute(query.order_by(col(Journal.id).desc()).limit(limit)).scalars().all()


def undo_request(session: Session, who: Who, request_id: str) -> int:
    """Undoes everything that one request changed; answers how many lines that were.

    Raises NotFound for a request that changed nothing here, Conflict where a row has moved on since, or where the
    request was about people and devices.
    """
    who.check_may("work")
    lines = (
        session.execute(
            select(Journal)
            .where(col(Journal.request_id) == request_id, col(Journal.workshop_id) == who.workshop_id)
            .order_by(col(Journal.id).desc())
        )
        .scalars()
        .all()
    )
    if not lines:
        raise NotFound("request in the journal called", request_id)
    kept = sorted({line.noun for line in lines} & NOT_UNDONE)
    if kept:
        raise Conflict(f"Changes of {', '.join(kept)} are not undone; change them where they are shown.")
    _lock(session, who, lines)
    tables = {str(mapper.class_.__tablename__): mapper.class_ for mapper in inspect(Build).registry.mappers}
    for line in lines:
        _undo(session, tables[line.noun], line)
        session.flush()  # a row that goes must be gone before the one whose place it took comes back
    return len(lines)


def _lock(session: Session, who: Who, lines: Iterable[Journal]) -> None:
    named: dict[str, set[UUID]] = {"build": set(), "part": set()}
    for line in lines:
        for state in (line.before, line.after):
            for key, worth in (state or {}).items():
                noun = "build" if key == "build_id" else "part" if key in ("part_id", "into_part_id") else None
                if noun is not None and worth is not None:
                    named[noun].add(UUID(worth))
        if line.noun in named:
            named[line.noun].add(UUID(line.row_id))
    builds = session.execute(select(col(Build.id)).where(col(Build.id).in_(named["build"]))).scalars()
    parts = session.execute(select(col(Part.id)).where(col(Part.id).in_(named["part"]))).scalars().all()
    take_builds_of(session, who, parts, *builds)
    for part_id in sorted(parts):
        take_part(session, who, part_id)


def _undo(session: Session, table: type[SQLModel], line: Journal) -> None:
    row = session.get(table, _key(table, line.row_id), populate_existing=True, with_for_update=True)
    if line.verb == "removed":
        if row is not None:
            _moved_on(line)
        session.add(table.model_validate(line.before))
        return
    if row is None or _compared(content_of(row)) != _compared(line.after or {}):
        _moved_on(line)
    if line.verb == "added":
        if any(True for _ in goes_along(session, row)):
            _moved_on(line)  # what later requests hung on it would go with it, unasked
        session.delete(row)
        return
    was = table.model_validate(line.before)
    for key in line.before or {}:
        if key not in OURS:
            setattr(row, key, getattr(was, key))
    if "version" in (line.before or {}):
        row.version += 1  # type: ignore[attr-defined]


def _key(table: type[SQLModel], written: str) -> Any:
    columns = inspect(table).primary_key
    members = written.split("/", len(columns) - 1)
    kinds = [column.type.python_type for column in columns]
    read = [kind(member) if kind in (UUID, int) else member for kind, member in zip(kinds, members, strict=True)]
    return read[0] if len(read) == 1 else tuple(read)


def _compared(state: dict[str, Any]) -> dict[str, Any]:
    derived = ("due_rank", "due_on", "due_what")
    return {key: worth for key, worth in state.items() if key not in OURS and key not in derived}


def _moved_on(line: Journal) -> NoReturn:
    raise Conflict(
        f"The {line.noun.replace('_', ' ')} has been changed since; undo the later change first, or change it by hand.",
        errors=[("", f"{line.noun} {line.row_id} has moved on")],
    )
