"""The first statement of every write: it takes the row that others must wait for, checks and counts its version."""

from collections.abc import Iterable
from datetime import UTC, datetime
from typing import Any
from uuid import UUID

from sqlalchemy import select, true, update
from sqlmodel import Session, col

from service.errors import NotFound, Stale
from service.records.people import Who
from service.tables import Build, Fitting, Part

DEEPEST = 4
TOUCHED = "touched builds"
"""Under this name the session keeps the ids of the builds it has locked."""


def take_build(session: Session, who: Who, build_id: UUID, version: int | None = None) -> int:
    """Locks a build for this transaction, counts its version up, marks its sort columns; answers the new version.

    One that this transaction holds already is not counted again. Raises NotFound for another workshop's, Stale where
    `version` is given and is no longer the stored one.
    """
    if version is None and build_id in session.info.get(TOUCHED, ()):
        return int(session.execute(select(col(Build.version)).where(col(Build.id) == build_id)).scalar_one())
    new = _take(session, who, Build, build_id, version)
    session.info.setdefault(TOUCHED, set()).add(build_id)
    return new


def take_part(session: Session, who: Who, part_id: UUID, version: int | None = None) -> int:
    """Locks a part and the build it is on; answers the part's new version. Raises as `take_build`."""
    for build_id in sorted(builds_of(session, [part_id])):
        take_build(session, who, build_id)
    return _take(session, who, Part, part_id, version)


def take_parts(session: Session, who: Who, part_ids: Iterable[UUID]) -> None:
    """Locks parts after their builds, in the order of their ids.

    No further build is taken now: out of order, two writers could wait for one another. Whoever calls this looks after
    it where the parts are, and refuses what has moved meanwhile.
    """
    for part_id in sorted(set(part_ids)):
        _take(session, who, Part, part_id, None)


def take_builds_of(session: Session, who: Who, part_ids: Iterable[UUID], *and_builds: UUID) -> None:
    """Locks every build that these parts are on, and those named, always in the order of their ids."""
    for build_id in sorted({*builds_of(session, part_ids), *and_builds}):
        take_build(session, who, build_id)


def take_ridden(session: Session, who: Who, build_id: UUID, since: datetime | None) -> None:
    """Locks a build whose distance changes from an instant on (None: from the beginning), and marks others with it.

    A part that was moved on since then brings its distance along: what is due where it is now changes too.
    """
    others = sorted(_moved_on(session, who, build_id, since) - {build_id})
    for before in (each for each in others if each < build_id):
        _mark(session, who, before)
    take_build(session, who, build_id)
    for each in (each for each in others if each > build_id):
        _mark(session, who, each)
    for late in sorted(_moved_on(session, who, build_id, since) - {build_id, *others}):
        _mark(session, who, late)  # moved while this waited for the lock: rare enough to mark it out of order


def _mark(session: Session, who: Who, build_id: UUID) -> None:
    mine = (col(Build.id) == build_id) & (col(Build.workshop_id) == who.workshop_id)
    change = update(Build).where(mine).values(due_stale=True, changed_at=datetime.now(UTC))
    session.execute(change.execution_options(synchronize_session=False))


def _moved_on(session: Session, who: Who, build_id: UUID, since: datetime | None) -> set[UUID]:
    """The builds where what was on a build after an instant, and was taken off there or out of its part, is now."""
    ended = select(col(Fitting.part_id)).join(Part, col(Part.id) == col(Fitting.part_id))
    ended = ended.where(col(Part.workshop_id) == who.workshop_id, col(Fitting.to_at).is_not(None))
    if since is not None:
        ended = ended.where(col(Fitting.to_at) > since)
    gone = set(session.execute(ended).scalars())
    if not gone:
        return set()  # the usual ride: nothing was taken off anywhere since
    lasted = true() if since is None else col(Fitting.to_at).is_(None) | (col(Fitting.to_at) > since)
    on = select(col(Fitting.part_id)).where(col(Fitting.build_id) == build_id, lasted)
    level, carried = set(session.execute(on).scalars()), set[UUID]()
    for _ in range(DEEPEST):
        carried |= level
        inside = select(col(Fitting.part_id)).where(col(Fitting.into_part_id).in_(level), lasted)
        level = set(session.execute(inside).scalars()) - carried if level else set()
    return builds_of(session, carried & gone)


def builds_of(session: Session, part_ids: Iterable[UUID]) -> set[UUID]:
    """The builds these parts are on now, through whatever they sit in."""
    found: set[UUID] = set()
    level = set(part_ids)
    for _ in range(DEEPEST):
        if not level:
            break
        rows = session.execute(
            select(col(Fitting.build_id), col(Fitting.into_part_id)).where(
                col(Fitting.part_id).in_(level), col(Fitting.to_at).is_(None)
            )
        ).all()
        found |= {build_id for build_id, _ in rows if build_id is not None}
        level = {into for _, into in rows if into is not None}
    return found


def _take(session: Session, who: Who, table: type[Any], row_id: UUID, version: int | None) -> int:
    who.check_may("work")
    session.flush()
    stale = {"due_stale": True} if table is Build else {}
    change = (
        update(table)
        .where(table.id == row_id, table.workshop_id == who.workshop_id)
        .values(version=table.version + 1, changed_at=datetime.now(UTC), **stale)
        .returning(table.version)
        .execution_options(synchronize_session=False)
    )
    if version is not None:
        change = change.where(table.version == version)
    new = session.execute(change).scalar_one_or_none()
    if new is not None:
        return int(new)
    noun = table.__name__.lower()
    stored = session.execute(
        select(table.version).where(table.id == row_id, table.workshop_id == who.workshop_id)
    ).scalar_one_or_none()
    if stored is None:
        raise NotFound(noun, row_id)
    raise Stale(
        f"This {noun} was changed since you read version {version}; it is at {stored} now. Read it again, then decide.",
        current={"version": stored},
    )


def check_version(row: Any, version: int | None) -> None:
    """For rows that are locked through their build: counts the version up. Raises Stale where `version` is not it."""
    if version is not None and version != row.version:
        noun = str(row.__tablename__).replace("_", " ")
        raise Stale(
            f"This {noun} was changed since you read version {version}; it is at {row.version} now. "
            "Read it again, then decide.",
            current={"version": row.version},
        )
    row.version += 1
