"""Calendar addresses: each is a device of its own kind, and what its feed says."""

from datetime import UTC, datetime, time
from uuid import UUID
from zoneinfo import ZoneInfo

from sqlalchemy import select
from sqlmodel import Session, col

from service.domain import calendar
from service.domain.procedure import Library
from service.errors import NotFound
from service.formats.ical import CalendarEvent, write_calendar
from service.records import people
from service.records.bicycle import load
from service.records.care import due_now
from service.records.people import Who
from service.tables import Build


def add_calendar(session: Session, who: Who, title: str, now: datetime) -> str:
    """The secret of a new calendar address, read only; it is shown once, only its hash is kept."""
    return people.add_device(session, who.person_id, title=title, kind="calendar", now=now)


def who_reads(session: Session, secret: str, now: datetime) -> tuple[Who, bool]:
    """Whose calendar this is, and whether it was not yet read today. Raises NotFound for a wrong or ended address."""
    found = people.who_asks(session, secret, "calendar", now)
    if found is None:
        raise NotFound("calendar", "at this address")
    return found


def feed(session: Session, who: Who, library: Library, now: datetime) -> bytes:
    """The calendar of all builds of the workshop that are not retired. Each build costs its own statements."""
    wanted = select(col(Build.id)).where(col(Build.workshop_id) == who.workshop_id, col(Build.state) != "retired")
    events: list[CalendarEvent] = []
    for build_id in session.scalars(wanted.order_by(col(Build.id))).all():
        events += _events(session, who, build_id, library, now)
    return write_calendar("Bicycle care", sorted(events, key=lambda each: (each.day, each.summary, each.uid)))


def _events(session: Session, who: Who, build_id: UUID, library: Library, now: datetime) -> list[CalendarEvent]:
    bicycle = load(session, who, build_id, library)
    written = calendar.last_written(bicycle)
    if written is None:
        return []
    zone = ZoneInfo(who.time_zone)
    day = calendar.as_of(bicycle, written.astimezone(zone).date(), who.today(now))
    seen_at = datetime.combine(day, time(23, 59, 59), zone).astimezone(UTC)
    return [
        CalendarEvent(
            uid=calendar.uid_of(due),
            day=on,
            stamp=written,
            summary=calendar.summary_of(due, bicycle.build.name),
            description=calendar.description_of(due),
        )
        for on, due in calendar.dated(due_now(bicycle, library, who, seen_at), day, library)
    ]
