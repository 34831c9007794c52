"""The pages that take a part off a bicycle, or swap it for another."""

from datetime import datetime
from uuid import UUID

from starlette.responses import Response

from service.context import Db, Library, Now, Who, signed_in_router
from service.domain import procedure
from service.domain.ends import role_specs
from service.errors import Conflict, Refusal
from service.ids import parse_id
from service.records import fitting, life, parts, people, swaps
from service.schemas.builds import FittingChanged, SwapSent
from service.schemas.parts import PartShown
from service.web.clock_times import when_typed
from service.web.forms import NOTHING_WRONG, Form, Typed, Wrong, id_for, read
from service.web.pages import render, see

router = signed_in_router(include_in_schema=False)
MOST_PARTS = 100


@router.get("/parts/{part_id}/take-off")
def show_take_off(part_id: UUID, db: Db, who: Who, library: Library, now: Now) -> Response:
    """Asks why and when."""
    return _take_off_page(part_id, db, who, library, now)


@router.post("/parts/{part_id}/take-off")
def take_off(part_id: UUID, form: Form, db: Db, who: Who, library: Library, now: Now) -> Response:
    """Ends the fitting; the part lies in the parts bin."""
    try:
        fitting_id = parse_id(form("fitting"))
        values: dict[str, object] = {"why_removed": form("why_removed").strip() or None}
        values |= when_typed(form, who, now, at="end_at", day="end_day") or {"end_at": now}
        values |= {"end_rides": form("rides")} if form.has("rides") and "end_day" in values else {}
        with db.writing() as session:
            if fitting_id is None:
                raise Conflict("This part is fitted nowhere.")
            fitting.change_fitting(session, who, fitting_id, read(FittingChanged, values), library=library, now=now)
    except Refusal as refusal:
        return _take_off_page(part_id, db, who, library, now, typed=form, wrong=Wrong(refusal))
    return see(f"/parts/{part_id}")


def _take_off_page(
    part_id: UUID, db: Db, who: people.Who, library: procedure.Library, now: datetime,
    *, typed: Typed | None = None, wrong: Wrong = NOTHING_WRONG,
) -> Response:  # fmt: skip
    with db.reading() as session:
        part = life.part_shown(session, who, part_id, library=library, now=now)
    return render(
        "take_off.html", status=wrong.status, part=part, today=who.today(now), typed=typed or Typed(), wrong=wrong
    )


@router.get("/parts/{part_id}/swap")
def show_swap(part_id: UUID, db: Db, who: Who, library: Library, now: Now, on: str = "") -> Response:
    """Asks what goes on."""
    return _swap_page(part_id, db, who, library, now, typed=Typed.of({"on": on} if on else {}))


@router.post("/parts/{part_id}/swap")
def swap(part_id: UUID, form: Form, db: Db, who: Who, library: Library, now: Now) -> Response:
    """One off and another on; then offers the job of replacing."""
    try:
        values: dict[str, object] = {"off": part_id, **form.filled("id", "why_removed")}
        values |= when_typed(form, who, now, at="at", day="day")
        values |= form.filled("rides") if "at" not in values else {}
        values |= {"same_again": True} if form("on") == "same" else {"on": form("on")}
        with db.writing() as session:
            on = life.part_shown(session, who, part_id, library=library, now=now).on
            if on is None:
                raise Conflict("This part is fitted nowhere; fit the other one instead.")
            done = swaps.swap_part(session, who, on.build, read(SwapSent, values), library=library, now=now)
            new_part = done.fitting.part_id
    except Refusal as refusal:
        return _swap_page(part_id, db, who, library, now, typed=form, wrong=Wrong(refusal))
    return see(f"/builds/{on.build}/jobs?about={new_part}&swapped=yes")


def _swap_page(
    part_id: UUID, db: Db, who: people.Who, library: procedure.Library, now: datetime,
    *, typed: Typed, wrong: Wrong = NOTHING_WRONG,
) -> Response:  # fmt: skip
    with db.reading() as session:
        part = life.part_shown(session, who, part_id, library=library, now=now)
        lines = []
        for slot in _slots(part, library):
            lines += parts.list_parts(session, who, category=slot, in_bin=True, limit=MOST_PARTS)
    choices = [("same", "The same again", "a new part with the facts of the old one")]
    choices += [(str(line[0]), line[2], f"{line[4]}, {line[5]}") for line in lines if line[5] != "gone"]
    return render(
        "swap.html",
        status=wrong.status,
        part=part,
        choices=choices,
        today=who.today(now),
        typed=typed,
        wrong=wrong,
        new_id=id_for(typed, wrong),
    )


def _slots(part: PartShown, library: procedure.Library) -> list[str]:
    """Its own category, and those that stand in for it or that it stands in for."""
    category = library.categories.get(part.category)
    roles = {part.category, *(role_specs(category) if category is not None else ())}
    near = [each.category for each in library.categories.values() if roles & {each.category, *role_specs(each)}]
    return [part.category, *(each for each in near if each != part.category)]
