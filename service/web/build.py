"""The page of one build: its parts as a tree, what is missing, how they meet, what is pressing, the job under way."""

from collections.abc import Sequence
from typing import Any, NamedTuple, get_args
from uuid import UUID

from starlette.responses import Response

from service.context import Db, Library, Now, Who, signed_in_router
from service.domain import bicycle as seen
from service.domain import procedure
from service.domain.after_ride import asks_after
from service.domain.checklist import draw_up
from service.domain.due import Due
from service.domain.joins import findings
from service.domain.loosened import loosened
from service.domain.missing import missing_parts
from service.errors import Refusal
from service.ids import new_id, parse_id
from service.records import builds, checklists, people
from service.records.bicycle import load
from service.records.care import due_now
from service.records.views import WORST_FIRST
from service.schemas.builds import BuildChanged, BuildState, Use
from service.schemas.showing import show_build
from service.web.forms import NOTHING_WRONG, Form, Typed, Wrong, read
from service.web.in_short import lines_of
from service.web.jobs import title_of_job
from service.web.pages import render, see

router = signed_in_router(include_in_schema=False)
PRESSING = ("do not ride", "overdue", "due", "look once", "plan it")
MOST_PRESSING = 5
EMPTIABLE = ("rider_mass_g", "load_g", "front_brake_hand", "mass_weighed_g")


class JobUnderWay(NamedTuple):
    """A started job as the build's page tells of it."""

    id: UUID
    title: str
    done: int
    skipped: int
    total: int
    minutes: int


@router.get("/builds/{build_id}")
def show_one_build(
    build_id: UUID, db: Db, who: Who, library: Library, now: Now, said: str = "", ride: str = ""
) -> Response:
    """The build as it is; after a ride, with what that ride asks for."""
    with db.reading() as session:
        bicycle = load(session, who, build_id, library, with_bench=True)
        rows = checklists.list_jobs(session, who, build_id)
        open_rows = [row for row in rows if row.finished_at is None]
        started = checklists.job_as_seen(session, open_rows[0]) if open_rows else None
    job = None
    if started is not None:
        checklist = draw_up(bicycle, library, started, now=now, today=who.today(now))
        count = checklist.progress
        title = title_of_job(started, bicycle, library)
        job = JobUnderWay(started.id, title, count.done, count.skipped, count.total, checklist.minutes_left)
    return render("build.html", **_seen(bicycle, who, library, now, parse_id(ride)), job=job, said=SAID.get(said, ""),
        in_short=list(lines_of(bicycle, library, None if who.may == "read" else who.currency)),
        can_assemble=bool(bicycle.placed) and not any(row.job == "assemble" for row in open_rows)
        and bicycle.build.state in ("planned", "assembling"),
    )  # fmt: skip


SAID = {
    "fitted": "Fitted.",
    "planned": "Planned. Its steps are in the job of assembling.",
    "accepted": "Accepted, for these parts and these facts alone.",
    "taken-back": "Taken back: the conflict stands again.",
    "ride": "The ride is logged.",
    "log": "Written down.",
    "odometer": "The reading is kept: what was ridden and not logged is filled in.",
    "finished": "The job is finished; what it did and what was read is logged.",
}


def _seen(
    bicycle: seen.Bicycle, who: people.Who, library: procedure.Library, now: Any, ride_id: UUID | None
) -> dict[str, Any]:
    found = findings(bicycle, library)
    dues = due_now(bicycle, library, who, now)
    missing = missing_parts(bicycle, library)
    ridden = next((each for each in bicycle.rides.get(bicycle.build.id, ()) if each.id == ride_id), None)
    worst_first = sorted(found, key=lambda each: (WORST_FIRST.index(each.answer), each.join))
    return {
        "build": show_build(bicycle, missing=missing, findings=found, dues=dues, now=now),
        "missing": missing,
        "telling": [each for each in worst_first if each.answer in ("conflicts", "needs care")],
        "unmeasured": [each for each in worst_first if each.answer == "not measured yet"],
        "meet": sum(each.answer == "meets" for each in found),
        "dues": _pressing(dues),
        "loosened": loosened(bicycle, library, who.today(now)),
        "ride": ridden,
        "asks": asks_after(ridden, dues, library) if ridden is not None else (),
        "fresh": new_id,
        "library": library,
        "who": who,
        "new_id": new_id(),
    }


def _pressing(dues: Sequence[Due]) -> list[Due]:
    return [due for due in dues if due.state in PRESSING and due.within is None][:MOST_PRESSING]


@router.get("/builds/{build_id}/change")
def show_change(build_id: UUID, db: Db, who: Who) -> Response:
    """The build's own facts in a form."""
    return _change_page(build_id, db, who)


@router.post("/builds/{build_id}/change")
def change_build(build_id: UUID, form: Form, db: Db, who: Who) -> Response:
    """Keeps what was changed."""
    try:
        with db.writing() as session:
            builds.change_build(session, who, build_id, read(BuildChanged, _changes(form)), form.version())
    except Refusal as refusal:
        return _change_page(build_id, db, who, typed=form, wrong=Wrong(refusal))
    return see(f"/builds/{build_id}")


def _changes(form: Typed) -> dict[str, Any]:
    numbers = form.numbers("rider_mass_g", "load_g", "km_before", "mass_weighed_g")
    given: dict[str, Any] = form.filled("state", "use", "front_brake_hand") | numbers | form.ticked("motor")
    given |= {name: None for name in EMPTIABLE if not form.has(name)}
    return {"km_before": 0} | given | {"name": form("name"), "note": form("note")}


@router.post("/builds/{build_id}/remove")
def remove_build(build_id: UUID, form: Form, db: Db, who: Who) -> Response:
    """Removes a build on which nothing ever happened."""
    try:
        with db.writing() as session:
            builds.remove_build(session, who, build_id, form.version())
    except Refusal as refusal:
        return _change_page(build_id, db, who, wrong=Wrong(refusal))
    return see("/")


def _change_page(
    build_id: UUID, db: Db, who: people.Who, *, typed: Typed | None = None, wrong: Wrong = NOTHING_WRONG
) -> Response:
    with db.reading() as session:
        build = builds.get_build(session, who, build_id)
        facts = build.model_dump(include={"name", "state", "use", "note", *EMPTIABLE})
        facts |= {"motor": "yes" if build.motor else None, "km_before": build.metres_before / 1000}
        version = build.version
    return render(
        "build_change.html",
        status=wrong.status,
        build={"id": build_id, "name": facts["name"]},
        version=version,
        typed=typed or Typed.of(facts),
        wrong=wrong,
        states=[(each, each) for each in get_args(BuildState)],
        uses=[(each, each) for each in get_args(Use)],
    )
