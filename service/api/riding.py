"""The API of riding: rides and odometer readings."""

from typing import Annotated
from uuid import UUID

from fastapi import Depends, Request, Response

from service.api.paging import Cursor, Limit, Window, key_of, next_page
from service.api.queries import check_queries
from service.context import Db, IfMatch, Library, Now, Who, signed_in_router, tag_row
from service.errors import Asks, Conflict, Gone, NeedsIfMatch, NotFound, Refusal, Stale
from service.records import after_ride, riding
from service.schemas.fields import read_instant
from service.schemas.problems import refusals
from service.schemas.riding import (
    OdometerChanged,
    OdometerPage,
    OdometerRead,
    OdometerShown,
    RideAsks,
    RideChanged,
    RideLogged,
    RidePage,
    RideShown,
)
from service.schemas.showing import show_asks, show_reading, show_ride

router = signed_in_router(check_queries, prefix="/api/v1", tags=["riding"])
Within = Annotated[Window, Depends()]
CHANGED = refusals(Refusal, NotFound, Stale, NeedsIfMatch, Asks)
REMOVED = refusals(NotFound, Stale, NeedsIfMatch)


@router.get("/rides", summary="List rides")
def list_rides(
    request: Request, response: Response, db: Db, who: Who, within: Within, limit: Limit = 50, cursor: Cursor = None
) -> RidePage:
    """Newest first."""
    after = key_of(cursor, read_instant, UUID)
    with db.reading() as session:
        rows = riding.list_rides(
            session, who, **within.of_build(), after=(after[0], after[1]) if after else None, limit=limit + 1
        )
        following = next_page(request, response, rows, limit, lambda row: (row.started_at.isoformat(), row.id))
        return RidePage(items=[show_ride(row) for row in rows[:limit]], next=following)


@router.post(
    "/rides", status_code=201, summary="Log a ride", responses=refusals(Refusal, NotFound, Asks, Conflict, Gone)
)
def log_ride(sent: RideLogged, response: Response, db: Db, who: Who, now: Now) -> RideShown:
    """The same id with the same content is once: the answer is then 200."""
    with db.writing() as session:
        ride, new = riding.log_ride(session, who, sent, now=now)
        response.status_code = 201 if new else 200
        tag_row(response, ride.version)
        return show_ride(ride)


@router.get("/rides/{ride_id}", summary="Read a ride", responses=refusals(NotFound))
def get_ride(ride_id: UUID, response: Response, db: Db, who: Who) -> RideShown:
    """A ride, with the ETag that a change needs."""
    with db.reading() as session:
        ride = riding.get_ride(session, who, ride_id)
        tag_row(response, ride.version)
        return show_ride(ride)


@router.get("/rides/{ride_id}/prompt", summary="What a ride asks for", responses=refusals(NotFound))
def get_ride_prompt(ride_id: UUID, db: Db, who: Who, library: Library, now: Now) -> RideAsks:
    """Only what its conditions, load and descents ask of parts that are on the bicycle, and is not done since."""
    with db.reading() as session:
        return show_asks(after_ride.asks_after_ride(session, who, ride_id, library=library, now=now))


@router.patch("/rides/{ride_id}", summary="Correct a ride", responses=CHANGED)
def change_ride(
    ride_id: UUID, sent: RideChanged, response: Response, db: Db, who: Who, version: IfMatch, now: Now
) -> RideShown:
    """A merge patch (RFC 7396). Needs If-Match."""
    with db.writing() as session:
        ride = riding.change_ride(session, who, ride_id, sent, version=version, now=now)
        tag_row(response, ride.version)
        return show_ride(ride)


@router.delete("/rides/{ride_id}", status_code=204, summary="Remove a ride", responses=REMOVED)
def remove_ride(ride_id: UUID, db: Db, who: Who, version: IfMatch) -> None:
    """Its distance leaves every part that was on. Needs If-Match."""
    with db.writing() as session:
        riding.remove_ride(session, who, ride_id, version)


@router.get("/odometer-readings", summary="List odometer readings")
def list_odometer_readings(
    request: Request, response: Response, db: Db, who: Who, within: Within, limit: Limit = 50, cursor: Cursor = None
) -> OdometerPage:
    """Newest first."""
    after = key_of(cursor, read_instant, UUID)
    with db.reading() as session:
        rows = riding.list_readings(
            session, who, **within.of_build(), after=(after[0], after[1]) if after else None, limit=limit + 1
        )
        following = next_page(request, response, rows, limit, lambda row: (row.at.isoformat(), row.id))
        return OdometerPage(items=[show_reading(row) for row in rows[:limit]], next=following)


@router.post(
    "/odometer-readings",
    status_code=201,
    summary="Read the odometer",
    responses=refusals(Refusal, NotFound, Conflict, Gone),
)
def read_odometer(sent: OdometerRead, response: Response, db: Db, who: Who, now: Now) -> OdometerShown:
    """Fills what was ridden and not logged; never adds to rides."""
    with db.writing() as session:
        reading, new = riding.read_odometer(session, who, sent, now=now)
        response.status_code = 201 if new else 200
        tag_row(response, reading.version)
        return show_reading(reading)


@router.get("/odometer-readings/{reading_id}", summary="Read a reading", responses=refusals(NotFound))
def get_odometer_reading(reading_id: UUID, response: Response, db: Db, who: Who) -> OdometerShown:
    """A reading, with the ETag that a change needs."""
    with db.reading() as session:
        reading = riding.get_reading(session, who, reading_id)
        tag_row(response, reading.version)
        return show_reading(reading)


@router.patch("/odometer-readings/{reading_id}", summary="Correct a reading", responses=CHANGED)
def change_odometer_reading(
    reading_id: UUID, sent: OdometerChanged, response: Response, db: Db, who: Who, version: IfMatch, now: Now
) -> OdometerShown:
    """A merge patch (RFC 7396). Needs If-Match."""
    with db.writing() as session:
        reading = riding.change_reading(session, who, reading_id, sent, version=version, now=now)
        tag_row(response, reading.version)
        return show_reading(reading)


@router.delete("/odometer-readings/{reading_id}", status_code=204, summary="Remove a reading", responses=REMOVED)
def remove_odometer_reading(reading_id: UUID, db: Db, who: Who, version: IfMatch) -> None:
    """What it filled is gone again. Needs If-Match."""
    with db.writing() as session:
        riding.remove_reading(session, who, reading_id, version)
