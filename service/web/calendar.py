"""The calendar feed, and the page on which its addresses are made and ended."""

import hashlib
from uuid import UUID

from fastapi import APIRouter, Request
from starlette.responses import Response

from service.context import Db, Library, Now, Who, signed_in_router
from service.records import calendars, people
from service.web.forms import Form
from service.web.pages import render, see

router = signed_in_router(include_in_schema=False)
open_router = APIRouter(include_in_schema=False)
"""What answers without anybody signed in: a calendar program has neither cookie nor token."""


@open_router.get("/calendar/{secret}.ics")
def get_feed(secret: str, request: Request, db: Db, library: Library, now: Now) -> Response:
    """What is due, as a calendar; 304 where nothing has changed."""
    with db.reading() as session:
        who, first_today = calendars.who_reads(session, secret, now)
        content = calendars.feed(session, who, library, now)
    if first_today and who.device_id is not None:
        with db.writing() as session:
            people.see_device(session, who.device_id, now)
    tag = f'"{hashlib.sha256(content).hexdigest()[:32]}"'
    headers = {"ETag": tag, "Cache-Control": "private, no-cache"}
    known = [each.strip().removeprefix("W/") for each in request.headers.get("if-none-match", "").split(",")]
    if tag in known:
        return Response(status_code=304, headers=headers)
    return Response(content, headers=headers, media_type="text/calendar; charset=utf-8")


@router.get("/calendar")
def show_calendars(db: Db, who: Who) -> Response:
    """The addresses there are, by name."""
    return _page(db, who)


@router.post("/calendar")
def add_calendar(form: Form, request: Request, db: Db, who: Who, now: Now) -> Response:
    """Makes an address and shows it this once."""
    title = form("title").replace("\x00", "").strip()[:120] or "Calendar"
    with db.writing() as session:
        secret = calendars.add_calendar(session, who, title, now)
    base = request.app.state.address or str(request.base_url).rstrip("/")
    page = _page(db, who, f"{base}/calendar/{secret}.ics")
    page.headers["Cache-Control"] = "no-store"
    return page


@router.post("/calendar/{device_id}/end")
def end_calendar(device_id: UUID, db: Db, who: Who, now: Now) -> Response:
    """Ends an address at once."""
    with db.writing() as session:
        people.revoke_device(session, who, device_id, now)
    return see("/calendar")


def _page(db: Db, who: Who, made: str = "") -> Response:
    with db.reading() as session:
        found = [each for each in people.list_devices(session, who) if each.kind == "calendar"]
    return render("calendar.html", found=found, made=made)
