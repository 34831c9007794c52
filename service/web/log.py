"""The page of a log entry: what was done or found, on which part, and what was read."""

from datetime import datetime
from typing import Any
from uuid import UUID

from starlette.responses import Response

from service.context import Db, Library, Now, Who, signed_in_router
from service.domain import bicycle as seen
from service.domain import procedure
from service.domain.due import offers
from service.errors import Malformed, Refusal
from service.ids import new_id, parse_id
from service.records import care, people
from service.records.bicycle import load
from service.schemas.care import EventLogged
from service.web.forms import NOTHING_WRONG, Form, Typed, Wrong, id_for, read
from service.web.jobs import WHOLE, task_title
from service.web.log_readings import asked_of, at_field, readings_typed
from service.web.pages import render, see

router = signed_in_router(include_in_schema=False)
KINDS = (
    ("inspected", "looked over", ""),
    ("adjusted", "adjusted", ""),
    ("tightened", "tightened", ""),
    ("cleaned", "cleaned", ""),
    ("lubricated", "lubricated", ""),
    ("renewed", "renewed", "fluid, sealant or grease; a part that was replaced is a swap"),
    ("trued", "trued", ""),
    ("overhauled", "overhauled", ""),
    ("repaired", "repaired", ""),
)
BUILD_KINDS = (
    ("crashed", "crashed or fell hard", "asks for a look at everything that carries"),
    ("put away", "put away for a time", ""),
    ("woken", "taken out again", ""),
    ("travelled", "travelled", "packed, flown, on a rack"),
)
FOUND = (("", "nothing said", ""), ("fine", "fine", ""), ("worn", "worn", ""), ("damaged", "damaged", ""))


@router.get("/builds/{build_id}/log")
def show_log(
    build_id: UUID, db: Db, who: Who, library: Library, now: Now, part: str = "", task: str = "", kind: str = "",
    ride: str = "",
) -> Response:  # fmt: skip
    """The parts to choose from, or the form for one; after a ride, with that ride."""
    typed = Typed.of({"part": part, "task": task, "kind": kind, "ride": ride, "day": who.today(now)})
    return _page(build_id, db, who, library, now, typed=typed)


@router.post("/builds/{build_id}/log")
def log(build_id: UUID, form: Form, db: Db, who: Who, library: Library, now: Now) -> Response:
    """Keeps the entry and its readings together."""
    part_id = parse_id(form("part"))
    day = form("day") if form.has("day") and form("day") != str(who.today(now)) else ""
    when = {"day": day} if day else {}
    try:
        with db.writing() as session:
            bicycle = load(session, who, build_id, library)
            category = _category(part_id, bicycle)
            if form.has("kind") and _must_ask(form, category, library):
                say = "tick what it completes, or that it completes none"
                raise Malformed(f"Several tasks are done so: {say}.", errors=[("/task", say)])
            found = library.categories.get(category)
            readings = readings_typed(form, part_id, asked_of(found.wear if found else (), library), when)
            if not form.has("kind") and not readings:
                raise Malformed("Say what was done, or write down a reading.", errors=[("/kind", "what was done?")])
            if form.has("kind"):
                event = read(EventLogged, _event(form, build_id, part_id) | when)
                care.log_event(session, who, event, library=library, now=now)
            for name, reading in readings:
                with at_field(name):
                    care.measure_wear(session, who, reading, library=library, now=now)
    except Refusal as refusal:
        return _page(build_id, db, who, library, now, typed=form, wrong=Wrong(refusal))
    ride_id = parse_id(form("ride"))
    return see(f"/builds/{build_id}?said=log" + (f"&ride={ride_id}" if ride_id is not None else ""))


def _category(part_id: UUID | None, bicycle: seen.Bicycle) -> str:
    if part_id is None:
        return WHOLE
    part = bicycle.parts.get(part_id)
    return part.category if part is not None else ""


def _must_ask(form: Typed, category: str, library: procedure.Library) -> bool:
    """Of several tasks of one kind none is completed unless it is named: so it is asked, once."""
    return len(offers(library, category, form("kind"))) > 1 and not form.all("task") and not form.has("none")


def _event(form: Typed, build_id: UUID, part_id: UUID | None) -> dict[str, Any]:
    values: dict[str, Any] = form.filled("id", "kind", "found", "note") | form.ticked("by_shop")
    values |= {"build": build_id} if part_id is None else {"part": part_id}
    tasks = [task for task in form.all("task") if task]
    if tasks or form.has("none"):
        values["tasks"] = tasks
    return values


def _page(
    build_id: UUID, db: Db, who: people.Who, library: procedure.Library, now: datetime,
    *, typed: Typed, wrong: Wrong = NOTHING_WRONG,
) -> Response:  # fmt: skip
    with db.reading() as session:
        bicycle = load(session, who, build_id, library)
    part_id = parse_id(typed("part"))
    placed = next((each for each in bicycle.placed if each.part.id == part_id), None)
    chosen = placed is not None or typed("part") == "whole"
    category = library.categories.get(placed.slot if placed is not None else WHOLE)
    kind = typed("kind")
    tasks = [f"{category.category}.{task.key}" for task in category.tasks] if category is not None else []
    return render(
        "log.html",
        status=wrong.status,
        build=bicycle.build,
        placed=placed,
        fitted=[each for each in bicycle.placed if not each.planned],
        chosen=chosen,
        kinds=KINDS if placed is not None else (*BUILD_KINDS, *KINDS),
        found=FOUND,
        tasks=[(task, task_title(task, library)) for task in (_offered(tasks, category, kind, library) or tasks)],
        asked=asked_of(category.wear, library) if category is not None and placed is not None else [],
        fresh=new_id,
        today=who.today(now),
        typed=typed,
        wrong=wrong,
        new_id=id_for(typed, wrong),
        library=library,
    )


def _offered(tasks: list[str], category: Any, kind: str, library: procedure.Library) -> list[str]:
    if category is None or not kind:
        return []
    offered = offers(library, category.category, kind)
    return [task for task in tasks if task in offered]
