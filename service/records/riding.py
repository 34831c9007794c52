"""Rides and odometer readings: logging, correcting, removing, listing."""

from datetime import UTC, date, datetime
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from sqlalchemy import Select, func, or_, select
from sqlmodel import Session, col

from service.domain import bicycle as seen
from service.domain.instants import ride_instant
from service.domain.odometer import check_reading
from service.errors import Asks, NotFound
from service.ids import new_id
from service.records.lock import check_version, take_ridden
from service.records.moments import check_not_ahead, moment
from service.records.once import is_sent_again, store_once
from service.records.people import Who
from service.schemas.riding import OdometerChanged, OdometerRead, RideChanged, RideLogged
from service.tables import Build, OdometerReading, Ride

METRES = 1000
MOST_IN_A_DAY = 2_000_000
"""Metres in one day beyond which a ride is asked for again (common practice, no source)."""


def log_ride(session: Session, who: Who, sent: RideLogged, *, now: datetime) -> tuple[Ride, bool]:
    """Stores a ride, km to whole metres; answers it and whether it is new.

    Raises Refusal for a time ahead of `now`, Asks where the day's sum passes 2,000 km.
    """
    started_at, day = _when(who, sent.started_at, sent.day, now)
    take_ridden(session, who, sent.build, started_at)
    metres = max(1, round(sent.km * METRES))
    ride = Ride(
        id=sent.id or new_id(),
        build_id=sent.build,
        person_id=who.person_id,
        started_at=started_at,
        day=day,
        metres=metres,
        moving_s=sent.moving_s,
        climb_m=sent.climb_m,
        conditions=sent.conditions,
        loaded=sent.loaded,
        descents=sent.descents,
        source="hand",
        note=sent.note,
    )
    stored, new = store_once(session, ride, ignore=frozenset({"person_id"}))
    if new and not sent.sure:
        ask_about_day(session, stored)
    return stored, new


def _when(who: Who, at: datetime | None, day: date | None, now: datetime) -> tuple[datetime, date]:
    """When a ride began and its civil day; with a day alone it counts from noon. Raises Refusal ahead of `now`."""
    zone = ZoneInfo(who.time_zone)
    pointer = "/day" if at is None else "/started_at"
    if at is None:
        at = now if day is None else ride_instant(day, zone).astimezone(UTC)
    check_not_ahead(at, now, pointer, "ridden")
    return at, day or at.astimezone(zone).date()


def ask_about_day(session: Session, ride: Ride) -> None:
    """Raises Asks where the rides of that day, with this one, come to more than 2,000 km."""
    of_the_day = (col(Ride.build_id) == ride.build_id) & (col(Ride.day) == ride.day)
    metres = session.execute(select(func.sum(col(Ride.metres))).where(of_the_day)).scalar() or 0
    if metres > MOST_IN_A_DAY:
        raise Asks(
            f"That makes {metres / METRES:,.0f} km on {ride.day}; more than 2,000 km in a day is unlikely. "
            'Correct the figure, or send it with "sure": true.',
            confirm="sure",
            pointer="/km",
        )


def get_ride(session: Session, who: Who, ride_id: UUID) -> Ride:
    """A ride of this workshop. Raises NotFound for any other."""
    row: Ride = _get(session, who, Ride, ride_id, "ride")
    return row


def _get(session: Session, who: Who, table: type[Any], row_id: UUID, noun: str) -> Any:
    row = session.execute(
        select(table)
        .join(Build, table.build_id == col(Build.id))
        .where(table.id == row_id, col(Build.workshop_id) == who.workshop_id)
        .execution_options(populate_existing=True)  # asked again once the build is locked
    ).scalar_one_or_none()
    if row is None:
        raise NotFound(noun, row_id)
    return row


def change_ride(
    session: Session, who: Who, ride_id: UUID, sent: RideChanged, *, version: int | None, now: datetime
) -> Ride:
    """Applies a merge patch to a ride. Raises as `log_ride`, and Stale."""
    ride = get_ride(session, who, ride_id)
    moves = sent.started_at is not None or sent.day is not None
    take_ridden(session, who, ride.build_id, None if moves else ride.started_at)
    ride = get_ride(session, who, ride_id)
    session.refresh(ride)
    check_version(ride, version)
    changes = sent.model_dump(exclude_unset=True, exclude={"km", "sure", "started_at", "day"})
    if sent.km is not None:
        changes["metres"] = max(1, round(sent.km * METRES))
    if sent.started_at is not None or sent.day is not None:
        changes["started_at"], changes["day"] = _when(who, sent.started_at, sent.day, now)
    for name, worth in changes.items():
        setattr(ride, name, worth)
    session.flush()
    if not sent.sure:
        ask_about_day(session, ride)
    return ride


def remove_ride(session: Session, who: Who, ride_id: UUID, version: int | None) -> UUID:
    """Removes a ride; answers its build. Raises NotFound, Stale."""
    ride = get_ride(session, who, ride_id)
    build_id: UUID = ride.build_id
    take_ridden(session, who, build_id, ride.started_at)
    ride = get_ride(session, who, ride_id)
    check_version(ride, version)
    session.delete(ride)
    session.flush()
    return build_id


def list_rides(
    session: Session,
    who: Who,
    *,
    build: UUID | None = None,
    since: date | None = None,
    until: date | None = None,
    after: tuple[datetime, UUID] | None = None,
    limit: int = 50,
) -> list[Ride]:
    """A page of rides, newest first."""
    return _page(session, _window(Ride, who, build, since, until), Ride.started_at, Ride.id, after=after, limit=limit)


def _window(table: type[Any], who: Who, build: UUID | None, since: date | None, until: date | None) -> Select[Any]:
    query = select(table).join(Build, table.build_id == col(Build.id)).where(col(Build.workshop_id) == who.workshop_id)
    if build is not None:
        query = query.where(table.build_id == build)
    if since is not None:
        query = query.where(table.day >= since)
    return query if until is None else query.where(table.day <= until)


def _page(
    session: Session, query: Select[Any], at: Any, row_id: Any, *, after: tuple[datetime, UUID] | None, limit: int
) -> list[Any]:
    if after is not None:
        query = query.where(or_(col(at) < after[0], (col(at) == after[0]) & (col(row_id) < after[1])))
    return list(session.execute(query.order_by(col(at).desc(), col(row_id).desc()).limit(limit)).scalars())


def read_odometer(session: Session, who: Who, sent: OdometerRead, *, now: datetime) -> tuple[OdometerReading, bool]:
    """Stores what the instrument showed; answers it and whether it is new.

    Raises Refusal where it shows less than before and does not say that it restarts, or lies ahead of `now`.
    """
    take_ridden(session, who, sent.build, None)  # it says how far was ridden since the reading before
    at, day = moment(who, sent.at, sent.day, now)
    reading = OdometerReading(
        id=sent.id or new_id(),
        build_id=sent.build,
        at=at,
        day=day,
        metres=round(sent.km * METRES),
        restarts=sent.restarts,
    )
    if not is_sent_again(session, reading):
        _check_order(session, reading)
    return store_once(session, reading, ignore=frozenset() if sent.at or sent.day else frozenset({"at", "day"}))


def _check_order(session: Session, reading: OdometerReading) -> None:
    of = OdometerReading
    columns = (of.id, of.build_id, of.at, of.day, of.metres, of.restarts)
    rows = session.execute(select(*map(col, columns)).where(col(of.build_id) == reading.build_id))
    others = [seen.OdometerReading(*row) for row in rows]
    own = seen.OdometerReading(reading.id, reading.build_id, reading.at, reading.day, reading.metres, reading.restarts)
    check_reading(own, others)


def get_reading(session: Session, who: Who, reading_id: UUID) -> OdometerReading:
    """A reading of this workshop. Raises NotFound for any other."""
    row: OdometerReading = _get(session, who, OdometerReading, reading_id, "odometer reading")
    return row


def change_reading(
    session: Session, who: Who, reading_id: UUID, sent: OdometerChanged, *, version: int | None, now: datetime
) -> OdometerReading:
    """Applies a merge patch to a reading. Raises as `read_odometer`, and Stale."""
    take_ridden(session, who, get_reading(session, who, reading_id).build_id, None)
    reading = get_reading(session, who, reading_id)
    session.refresh(reading)
    check_version(reading, version)
    if sent.km is not None:
        reading.metres = round(sent.km * METRES)
    if sent.restarts is not None:
        reading.restarts = sent.restarts
    if sent.at is not None or sent.day is not None:
        reading.at, reading.day = moment(who, sent.at, sent.day, now)
    session.flush()
    _check_order(session, reading)
    return reading


def remove_reading(session: Session, who: Who, reading_id: UUID, version: int | None) -> UUID:
    """Removes a reading; answers its build. Raises NotFound, Stale."""
    build_id = get_reading(session, who, reading_id).build_id
    take_ridden(session, who, build_id, None)
    reading = get_reading(session, who, reading_id)
    check_version(reading, version)
    session.delete(reading)
    session.flush()
    return build_id


def list_readings(
    session: Session,
    who: Who,
    *,
    build: UUID | None = None,
    since: date | None = None,
    until: date | None = None,
    after: tuple[datetime, UUID] | None = None,
    limit: int = 50,
) -> list[OdometerReading]:
    """A page of readings, newest first."""
    of = OdometerReading
    return _page(session, _window(of, who, build, since, until), of.at, of.id, after=after, limit=limit)
