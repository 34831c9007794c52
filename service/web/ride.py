"""The page of a ride: three taps. And of the odometer, for who counts that way."""

from datetime import datetime
from typing import Any
from uuid import UUID

from starlette.responses import Response

from service.context import Db, Now, Who, signed_in_router
from service.errors import Refusal
from service.records import builds, people, riding
from service.schemas.riding import OdometerRead, RideLogged, RideShown
from service.schemas.showing import show_reading, show_ride
from service.web.clock_times import when_typed
from service.web.forms import NOTHING_WRONG, Form, Typed, Wrong, id_for, read
from service.web.pages import render, see

router = signed_in_router(include_in_schema=False)
LAST_RIDES = 10
CHIPS = 4
CONDITIONS = (
    ("dry", "dry", ""),
    ("dusty", "dusty", ""),
    ("wet", "wet", ""),
    ("gritty", "gritty", "mud or sand"),
    ("salted", "salted road", ""),
    ("roller", "on a roller", "indoors; the rear tyre wears"),
    ("indoor", "on a trainer", "rear wheel off or driven directly: no tyre, rim or brake wears"),
)


@router.get("/builds/{build_id}/ride")
def show_ride_form(build_id: UUID, db: Db, who: Who, now: Now) -> Response:
    """Asks how far, on what, when."""
    return _page(build_id, db, who, now)


@router.post("/builds/{build_id}/ride")
def log_ride(build_id: UUID, form: Form, db: Db, who: Who, now: Now) -> Response:
    """Logs the ride."""
    try:
        values: dict[str, Any] = {"build": build_id, **form.filled("id", "conditions", "note"), **form.numbers("km")}
        if "km" not in values:
            values |= form.numbers("again")
            values |= {"km": values.pop("again")} if "again" in values else {}
        values |= when_typed(form, who, now, at="started_at", day="day") or {"day": who.today(now)}
        values |= form.ticked("loaded", "descents")
        values |= {"sure": form.has("km.sure")}
        with db.writing() as session:
            ride, _ = riding.log_ride(session, who, read(RideLogged, values), now=now)
            ride_id = ride.id
    except Refusal as refusal:
        return _page(build_id, db, who, now, typed=form, wrong=Wrong(refusal))
    return see(f"/builds/{build_id}?said=ride&ride={ride_id}")


@router.post("/builds/{build_id}/odometer")
def read_odometer(build_id: UUID, form: Form, db: Db, who: Who, now: Now) -> Response:
    """Keeps what the instrument shows."""
    try:
        values: dict[str, Any] = {"build": build_id, **form.filled("id"), **form.numbers("odometer")}
        values |= form.ticked("restarts")
        if "odometer" in values:
            values["km"] = values.pop("odometer")
        values |= {"day": form("day")} if form.has("day") else {"at": now}
        with db.writing() as session:
            riding.read_odometer(session, who, read(OdometerRead, values), now=now)
    except Refusal as refusal:
        return _page(build_id, db, who, now, typed=form, odometer_wrong=Wrong(refusal))
    return see(f"/builds/{build_id}?said=odometer")


def _page(
    build_id: UUID, db: Db, who: people.Who, now: datetime,
    *, typed: Typed | None = None, wrong: Wrong = NOTHING_WRONG, odometer_wrong: Wrong = NOTHING_WRONG,
) -> Response:  # fmt: skip
    with db.reading() as session:
        build = builds.get_build(session, who, build_id)
        name = build.name
        rides = [show_ride(row) for row in riding.list_rides(session, who, build=build_id, limit=LAST_RIDES)]
        readings = [show_reading(row) for row in riding.list_readings(session, who, build=build_id, limit=LAST_RIDES)]
    typed = typed or Typed.of({"day": who.today(now)})
    return render(
        "ride.html",
        status=wrong.status if wrong else odometer_wrong.status,
        build={"id": build_id, "name": name},
        rides=rides,
        readings=readings,
        again=_again(rides),
        conditions=CONDITIONS,
        today=who.today(now),
        typed=typed,
        wrong=wrong,
        odometer_wrong=odometer_wrong,
        new_id=id_for(typed, wrong or odometer_wrong),
    )


def _again(rides: list[RideShown]) -> list[str]:
    """The last distances that differ, newest first, as they are typed."""
    return list(dict.fromkeys(f"{ride.km:.10g}" for ride in rides))[:CHIPS]
