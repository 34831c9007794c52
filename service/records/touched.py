"""The three sort columns of a build, kept up in the transaction that touched it; derived, so never journalled."""

from datetime import datetime, time
from uuid import UUID
from zoneinfo import ZoneInfo

from sqlalchemy import select, update
from sqlmodel import Session, col

from service.domain.due import summary
from service.domain.procedure import Library
from service.errors import NotFound
from service.records.bicycle import load
from service.records.care import due_now
from service.records.lock import TOUCHED
from service.records.people import Who
from service.tables import Build

MOST_A_DAY = 200


def refresh_touched(session: Session, who: Who | None, *, library: Library, now: datetime) -> None:
    """Refreshes every build that was locked in this transaction. Call it once, at its end."""
    touched: set[UUID] = session.info.pop(TOUCHED, set())
    if who is None:
        return
    session.flush()
    for build_id in sorted(touched):
        try:
            refresh(session, who, build_id, library=library, now=now)
        except NotFound:
            continue  # removed in this very transaction


def refresh(session: Session, who: Who, build_id: UUID, *, library: Library, now: datetime) -> None:
    """Sets what is due first on a build. Raises NotFound."""
    bicycle = load(session, who, build_id, library)
    asks_nothing = bicycle.build.state == "retired"  # it must not stand before what is ridden
    rank, on, what = summary(() if asks_nothing else due_now(bicycle, library, who, now))
    session.execute(
        update(Build)
        .where(col(Build.id) == build_id)
        .values(due_rank=rank, due_on=on, due_what=what, changed_at=now)
        .execution_options(synchronize_session=False)
    )


def refresh_for_today(session: Session, who: Who, *, library: Library, now: datetime) -> None:
    """Refreshes the builds that nobody touched since yesterday, for some things fall due by the day alone.

    At most `MOST_A_DAY` of them, longest untouched first: a page that waits must not wait long.
    """
    morning = datetime.combine(who.today(now), time(), ZoneInfo(who.time_zone))
    mine = (col(Build.workshop_id) == who.workshop_id) & (col(Build.state) != "retired")
    stale = select(col(Build.id)).where(mine, col(Build.changed_at) < morning).order_by(col(Build.changed_at))
    for build_id in session.execute(stale.limit(MOST_A_DAY)).scalars().all():
        refresh(session, who, build_id, library=library, now=now)
