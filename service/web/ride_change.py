"""The pages that correct or remove a ride or a reading of the odometer, and say what of what is due it moved."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any, NamedTuple
from uuid import UUID

from starlette.responses import Response

from service.context import Db, Library, Now, Who, signed_in_router
from service.domain.moved import Moved
from service.errors import NotFound, Refusal
from service.records import builds, people, riding
from service.records.moving_dates import what_moves
from service.schemas.riding import OdometerChanged, RideChanged
from service.web.clock_times import time_shown, when_typed
from service.web.forms import NOTHING_WRONG, Form, Typed, Wrong, read
from service.web.pages import render
from service.web.ride import CONDITIONS

router = signed_in_router(include_in_schema=False)


class Row(NamedTuple):
    """What is corrected: its address, the version the form is made from, and what stands in the fields."""

    what: str
    address: str
    version: int
    facts: dict[str, Any]


@router.get("/builds/{build_id}/rides/{ride_id}")
def show_ride_change(build_id: UUID, ride_id: UUID, db: Db, who: Who) -> Response:
    """The ride in a form."""
    return _ride_page(build_id, ride_id, db, who)


@router.post("/builds/{build_id}/rides/{ride_id}")
def change_ride(build_id: UUID, ride_id: UUID, form: Form, db: Db, who: Who, library: Library, now: Now) -> Response:
    """Corrects or removes the ride, and shows what that moved."""
    try:
        with db.writing() as session:
            ride = riding.get_ride(session, who, ride_id)
            _check_build(ride.build_id, build_id, "ride", ride_id)
            with what_moves(session, who, build_id, library=library, now=now) as told:
                if form("do") == "remove":
                    riding.remove_ride(session, who, ride_id, form.version())
                else:
                    sent = _ride_typed(form, who, now, ride.started_at, ride.day)
                    riding.change_ride(session, who, ride_id, sent, version=form.version(), now=now)
    except Refusal as refusal:
        return _ride_page(build_id, ride_id, db, who, typed=form, wrong=Wrong(refusal))
    return _told(build_id, db, who, "ride " + _done(form), told)


def _ride_typed(form: Typed, who: people.Who, now: datetime, at: datetime, day: object) -> RideChanged:
    values: dict[str, Any] = {**form.filled("conditions"), **form.numbers("km"), "note": form("note")}
    values |= form.ticked("loaded", "descents") | {"sure": form.has("km.sure")}
    if not _same_time(form, at, day, who):
        values |= when_typed(form, who, now, at="started_at", day="day")
    return read(RideChanged, values)


@router.get("/builds/{build_id}/odometer/{reading_id}")
def show_reading_change(build_id: UUID, reading_id: UUID, db: Db, who: Who) -> Response:
    """The reading in a form."""
    return _reading_page(build_id, reading_id, db, who)


@router.post("/builds/{build_id}/odometer/{reading_id}")
def change_reading(
    build_id: UUID, reading_id: UUID, form: Form, db: Db, who: Who, library: Library, now: Now
) -> Response:
    """Corrects or removes the reading, and shows what that moved."""
    try:
        with db.writing() as session:
            reading = riding.get_reading(session, who, reading_id)
            _check_build(reading.build_id, build_id, "odometer reading", reading_id)
            with what_moves(session, who, build_id, library=library, now=now) as told:
                if form("do") == "remove":
                    riding.remove_reading(session, who, reading_id, form.version())
                else:
                    sent = _reading_typed(form, who, now, reading.at, reading.day)
                    riding.change_reading(session, who, reading_id, sent, version=form.version(), now=now)
    except Refusal as refusal:
        return _reading_page(build_id, reading_id, db, who, typed=form, wrong=Wrong(refusal))
    return _told(build_id, db, who, "reading " + _done(form), told)


def _reading_typed(form: Typed, who: people.Who, now: datetime, at: datetime, day: object) -> OdometerChanged:
    values: dict[str, Any] = {**form.numbers("km"), **form.ticked("restarts")}
    if not _same_time(form, at, day, who):
        values |= when_typed(form, who, now, at="at", day="day")
    return read(OdometerChanged, values)


def _check_build(found: UUID, wanted: UUID, noun: str, row_id: UUID) -> None:
    if found != wanted:
        raise NotFound(noun, row_id)


def _same_time(form: Typed, at: datetime, day: object, who: people.Who) -> bool:
    """Whether the fields stand as they were shown; then the instant keeps its seconds, and its zone's day."""
    return form("day") == str(day) and form("time") == time_shown(at, who.time_zone)


def _done(form: Typed) -> str:
    return "is removed" if form("do") == "remove" else "is corrected"


def _told(build_id: UUID, db: Db, who: people.Who, done: str, told: Sequence[Moved]) -> Response:
    with db.reading() as session:
        name = builds.get_build(session, who, build_id).name
    return render(
        "ride_moved.html",
        build={"id": build_id, "name": name},
        done=f"The {done}",
        states=[each for each in told if each.was != each.now],
        days=[each for each in told if each.was == each.now],
    )


def _ride_page(
    build_id: UUID, ride_id: UUID, db: Db, who: people.Who, *, typed: Typed | None = None, wrong: Wrong = NOTHING_WRONG
) -> Response:
    with db.reading() as session:
        ride = riding.get_ride(session, who, ride_id)
        _check_build(ride.build_id, build_id, "ride", ride_id)
        facts = ride.model_dump(include={"day", "conditions", "note"}) | {"km": ride.metres / 1000}
        facts |= {"time": time_shown(ride.started_at, who.time_zone)}
        facts |= {name: "yes" if getattr(ride, name) else None for name in ("loaded", "descents")}
        name = builds.get_build(session, who, build_id).name
        row = Row("ride", f"/builds/{build_id}/rides/{ride_id}", ride.version, facts)
    return _page({"id": build_id, "name": name}, row, typed, wrong)


def _reading_page(
    build_id: UUID, reading_id: UUID, db: Db, who: people.Who,
    *, typed: Typed | None = None, wrong: Wrong = NOTHING_WRONG,
) -> Response:  # fmt: skip
    with db.reading() as session:
        reading = riding.get_reading(session, who, reading_id)
        _check_build(reading.build_id, build_id, "odometer reading", reading_id)
        facts = {"day": reading.day, "km": reading.metres / 1000, "restarts": "yes" if reading.restarts else None}
        facts |= {"time": time_shown(reading.at, who.time_zone)}
        name = builds.get_build(session, who, build_id).name
        row = Row("odometer", f"/builds/{build_id}/odometer/{reading_id}", reading.version, facts)
    return _page({"id": build_id, "name": name}, row, typed, wrong)


def _page(build: dict[str, Any], row: Row, typed: Typed | None, wrong: Wrong) -> Response:
    return render(
        "ride_change.html",
        status=wrong.status,
        build=build,
        row=row,
        conditions=CONDITIONS,
        typed=typed or Typed.of(row.facts),
        wrong=wrong,
    )
