"""The pages of files with rides: a track is stored at once, of a list the columns are chosen and every row shown."""

import base64
import binascii
import zlib
from collections.abc import AsyncIterator
from dataclasses import asdict, fields
from datetime import datetime
from typing import Annotated, Any
from uuid import UUID

from fastapi import Depends, Request
from starlette.datastructures import UploadFile
from starlette.responses import Response

from service.context import Db, Now, Who, signed_in_router
from service.domain.ride_columns import UNITS, Columns, guess
from service.domain.sheet import Sheet
from service.errors import Asks, Refusal
from service.formats.csv_rows import LARGEST_BYTES, read_csv
from service.formats.gpx import is_gpx
from service.records import builds, importing, people, riding
from service.records.importing import TrackReading
from service.schemas.importing import ToldBeside
from service.web.forms import NOTHING_WRONG, Typed, Wrong, read
from service.web.pages import render, see
from service.web.ride import CONDITIONS

router = signed_in_router(include_in_schema=False)
PIECE = 1 << 16
MOST_FIELDS = 60
SHOWN = 50
"""Rows of a kind that are shown; the rest are counted."""
LARGEST_FIELD = 2 * LARGEST_BYTES
USES = (
    ("when", "Day", False),
    ("time_of_day", "Time of day", True),
    ("distance", "Distance", False),
    ("moving_time", "Moving time", True),
    ("climb", "Climb", True),
    ("conditions_column", "Conditions", True),
    ("note", "Remark", True),
)
"""What a column can be for, how it is called, whether there may be none."""
ORDERS = (("day-first", "the day: 31.12.2026"), ("month-first", "the month: 12/31/2026"))
DECIMALS = (("point", "a point: 42.1"), ("comma", "a comma: 42,1"))
REPEATS = (
    ("ask", "ask me about each"),
    ("leave-out", "leave them out"),
    ("keep", "keep them: they are rides of their own"),
)


class Sent(Typed):
    """A form with the file that came with it."""

    file: UploadFile | None = None


async def _sent(request: Request) -> AsyncIterator[Sent]:
    async with request.form(max_files=1, max_fields=MOST_FIELDS, max_part_size=LARGEST_FIELD) as form:
        sent = Sent((name, text) for name, text in form.multi_items() if isinstance(text, str))
        sent.file = next(
            (each for _, each in form.multi_items() if isinstance(each, UploadFile) and each.filename), None
        )
        yield sent


FileForm = Annotated[Sent, Depends(_sent)]


@router.get("/builds/{build_id}/ride-files")
def show_ride_files(build_id: UUID, db: Db, who: Who, ride: UUID | None = None, said: str = "") -> Response:
    """Asks for a file."""
    return _page(build_id, db, who, ride=ride, said=said)


@router.post("/builds/{build_id}/ride-files")
def take_ride_file(build_id: UUID, form: FileForm, db: Db, who: Who, now: Now) -> Response:
    """Stores the ride of a track, or shows what a list holds."""
    try:
        if form.file is None:
            raise Refusal("No file came with it.", errors=[("/file", "is needed: choose a file")])
        first = form.file.file.read(PIECE)
        if not is_gpx(first, form.file.filename or ""):
            data = first + form.file.file.read(LARGEST_BYTES + 1 - len(first))
            return _rows_page(build_id, data, read_csv(data), form, db, who, now)
        reading = TrackReading()
        while first:
            reading.feed(first)
            first = form.file.file.read(PIECE)
        track = reading.done()
        with db.writing() as session:
            ride, new = importing.store_track(session, who, build_id, track, _beside(form), now=now)
            ride_id = ride.id
    except Refusal as refusal:
        if isinstance(refusal, Asks):
            refusal.errors = ()  # there is no field of the distance here: the box above asks
        return _page(build_id, db, who, typed=form, wrong=Wrong(refusal))
    return see(f"/builds/{build_id}/ride-files?ride={ride_id}&said={'new' if new else 'again'}")


@router.post("/builds/{build_id}/ride-files/rows")
def take_ride_rows(build_id: UUID, form: FileForm, db: Db, who: Who, now: Now) -> Response:
    """Looks at the rows again with other columns, or stores the rides."""
    try:
        data = _unpacked(form("packed"))
        sheet = read_csv(data)
    except Refusal as refusal:
        return _page(build_id, db, who, typed=form, wrong=Wrong(refusal))
    if form("do") != "store":
        return _rows_page(build_id, data, sheet, form, db, who, now)
    try:
        told = _beside(form)
        rides = importing.read_sheet(who, build_id, sheet, _columns(form), conditions=told.conditions, now=now)
        with db.writing() as session:
            checked = importing.import_rides(
                session, who, build_id, rides, told,
                repeats=_repeats(form), sure=form.has("sure"), leave_out_wrong=form.has("leave_out_wrong"),
            )  # fmt: skip
    except Refusal as refusal:
        if all(fault.pointer.startswith("/lines/") for fault in refusal.errors):
            refusal.errors = ()  # the page lists the rows below anyway
        return _rows_page(build_id, data, sheet, form, db, who, now, wrong=Wrong(refusal))
    return see(f"/builds/{build_id}/ride-files?said={len(checked.sorted.new)}")


def _beside(form: Typed) -> ToldBeside:
    return read(ToldBeside, {**form.filled("conditions", "day"), **form.ticked("loaded", "descents", "sure")})


def _columns(form: Typed) -> Columns:
    """The columns that were chosen; an empty choice of a column is none, of anything else is to be found out."""
    uses = {use for use, _, _ in USES}
    said = {each.name: form(each.name) for each in fields(Columns) if each.name in form.names()}
    return Columns(**{name: text if name in uses else text or None for name, text in said.items()})  # type: ignore[arg-type]


def _repeats(form: Typed) -> Any:
    chosen = form("repeats")
    return chosen if chosen in [value for value, _ in REPEATS] else "ask"


def _packed(data: bytes) -> str:
    """The file as the page carries it to its next step: nothing is kept here before it is imported."""
    return base64.b64encode(zlib.compress(data)).decode("ascii")


def _unpacked(text: str) -> bytes:
    try:
        packed, unpacking = base64.b64decode(text, validate=True), zlib.decompressobj()
        data = unpacking.decompress(packed, LARGEST_BYTES + 1)
        if not unpacking.eof and len(data) <= LARGEST_BYTES:
            raise ValueError  # cut short: a part of the rides must not pass for all
    except (binascii.Error, ValueError, zlib.error):
        raise Refusal("The file did not come along with the page.", errors=[("/file", "choose it again")]) from None
    return data


def _page(
    build_id: UUID, db: Db, who: people.Who,
    *, typed: Typed | None = None, wrong: Wrong = NOTHING_WRONG, ride: UUID | None = None, said: str = "",
) -> Response:  # fmt: skip
    with db.reading() as session:
        name = builds.get_build(session, who, build_id).name
        stored = None if ride is None else riding.get_ride(session, who, ride)
        done = {"km": stored.metres / 1000, "day": stored.day, "again": said == "again"} if stored else None
    return render(
        "ride_files.html",
        status=wrong.status,
        build={"id": build_id, "name": name},
        conditions=[(value, f"{words}, {more}" if more else words) for value, words, more in CONDITIONS],
        done=done,
        rides_count=int(said) if said.isascii() and said.isdigit() and len(said) < 8 else None,
        typed=typed or Typed(),
        wrong=wrong,
    )


def _rows_page(
    build_id: UUID, data: bytes, sheet: Sheet, form: Typed, db: Db, who: people.Who, now: datetime,
    *, wrong: Wrong = NOTHING_WRONG,
) -> Response:  # fmt: skip
    columns, found = _columns(form), None
    try:
        beside = _beside(form)
        rides = importing.read_sheet(who, build_id, sheet, columns, conditions=beside.conditions, now=now)
        columns = rides.columns
        with db.reading() as session:
            checked = importing.check_rides(
                session, who, build_id, rides, repeats=_repeats(form), sure=form.has("sure")
            )
        found = importing.show_checked(checked, dry_run=True)
    except Refusal as refusal:
        wrong = wrong or Wrong(refusal)
        if columns == Columns():
            columns = guess(sheet)
    with db.reading() as session:
        name = builds.get_build(session, who, build_id).name
    return render(
        "ride_rows.html",
        status=wrong.status,
        build={"id": build_id, "name": name},
        packed=_packed(data),
        names=[(each, each) for each in sheet.names],
        uses=USES,
        units={use: [(unit, unit) for unit in units] for use, units in UNITS.items()},
        orders=ORDERS,
        decimals=DECIMALS,
        repeats=REPEATS,
        found=found,
        shown=SHOWN,
        typed=_filled_in(form, columns),
        wrong=wrong,
    )


def _filled_in(form: Typed, columns: Columns) -> Typed:
    """The form with what was found out."""
    kept = {name: form(name) for name in ("conditions", "loaded", "descents", "repeats", "sure", "leave_out_wrong")}
    return Typed.of({**kept, **asdict(columns)})
