"""The API of calendar addresses; they are listed and ended as devices."""

from fastapi import Request

from service.api.queries import check_queries
from service.context import Db, Now, Who, signed_in_router
from service.errors import Refusal
from service.records import calendars
from service.schemas.calendars import CalendarMade, CalendarSent
from service.schemas.problems import refusals

router = signed_in_router(check_queries, prefix="/api/v1", tags=["people"])


@router.post("/calendars", status_code=201, summary="Make a calendar address", responses=refusals(Refusal))
def add_calendar(sent: CalendarSent, request: Request, db: Db, who: Who, now: Now) -> CalendarMade:
    """An address that any calendar program can subscribe to, without signing in; shown once."""
    with db.writing() as session:
        secret = calendars.add_calendar(session, who, sent.title or "Calendar", now)
    base = request.app.state.address or str(request.base_url).rstrip("/")
    return CalendarMade(address=f"{base}/calendar/{secret}.ics")
