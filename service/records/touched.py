"""The three sort columns of a build, set right before a list is read; derived, so never journalled."""

from datetime import date, datetime, time
from typing import Any, NamedTuple
from uuid import UUID
from zoneinfo import ZoneInfo

from sqlalchemy import CursorResult, select, update
from sqlmodel import Session, col

from service.database import Database
from service.domain.due import summary
from service.domain.procedure import Library
from service.errors import Busy, Full, NotFound
from service.records.bicycle import load
from service.records.care import due_now
from service.records.lock import TOUCHED
from service.records.people import Who
from service.tables import Build

MOST_AT_ONCE = 12
"""Builds that one list waits for: some 25 ms each with forty parts on it."""


class Judged(NamedTuple):
    """What is due first on a build, and the row as it was when that was judged."""

    build_id: UUID
    version: int
    changed_at: datetime
    rank: int
    on: date | None
    what: str | None


def refresh_stale(database: Database, who: Who, *, library: Library, now: datetime, most: int = MOST_AT_ONCE) -> int:
    """Sets right the columns of builds that are out of date, those touched last first; answers how many it judged.

    Beyond `most` they keep their old place in lists until the next reader, or whoever calls this until it answers
    less than `most`. Each is judged in a reading block and stored only where its row is still as it was then, so what
    is written meanwhile leaves it out of date, and several processes at once do no harm. Where somebody else writes
    for long or the disk is full, nothing is stored and a list shows the old order.
    """
    with database.reading() as session:
        stale = select(col(Build.id)).where(col(Build.workshop_id) == who.workshop_id, col(Build.due_stale))
        ids = session.execute(stale.order_by(col(Build.changed_at).desc()).limit(most)).scalars().all()
        found = [judge(session, who, build_id, library=library, now=now) for build_id in ids]
    if found:
        try:
            with database.writing({"who": who}) as session:
                for each in sorted(found):
                    store(session, each, now)
        except (Busy, Full):
            pass  # what was asked for is a list; it is still right to show it
    return len(found)


def judge(session: Session, who: Who, build_id: UUID, *, library: Library, now: datetime) -> Judged:
    """What is due first on a build. Raises NotFound."""
    row = session.execute(select(col(Build.version), col(Build.changed_at)).where(col(Build.id) == build_id)).first()
    if row is None:
        raise NotFound("build", build_id)
    bicycle = load(session, who, build_id, library)
    asks_nothing = bicycle.build.state == "retired"  # it must not stand before what is ridden
    rank, on, what = summary(() if asks_nothing else due_now(bicycle, library, who, now))
    return Judged(build_id, row.version, row.changed_at, rank, on, what)


def store(session: Session, judged: Judged, now: datetime) -> bool:
    """Stores what was judged, unless the build was written or marked since; answers whether it was stored."""
    same = (col(Build.version) == judged.version) & (col(Build.changed_at) == judged.changed_at)
    change = update(Build).where(col(Build.id) == judged.build_id, same)
    values = {"due_rank": judged.rank, "due_on": judged.on, "due_what": judged.what, "due_stale": False}
    done: CursorResult[Any] = session.execute(  # type: ignore[assignment]
        change.values(**values, changed_at=now).execution_options(synchronize_session=False)
    )
    return done.rowcount == 1


def refresh_touched(session: Session, who: Who, *, library: Library, now: datetime) -> None:
    """Sets right every build that was locked in this transaction, for what is built up whole in one."""
    touched: set[UUID] = session.info.pop(TOUCHED, set())
    session.flush()
    for build_id in sorted(touched):
        try:
            store(session, judge(session, who, build_id, library=library, now=now), now)
        except NotFound:
            continue  # removed in this very transaction


def refresh_for_today(session: Session, who: Who, *, now: datetime) -> None:
    """Marks the builds that nobody touched since yesterday, for some things fall due by the day alone."""
    morning = datetime.combine(who.today(now), time(), ZoneInfo(who.time_zone))
    mine = (col(Build.workshop_id) == who.workshop_id) & (col(Build.state) != "retired")
    mark = update(Build).where(mine, col(Build.changed_at) < morning).values(due_stale=True, changed_at=now)
    session.execute(mark.execution_options(synchronize_session=False))
