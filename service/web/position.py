"""The page of the rider's position: bar and saddle from the parts, what reaches a target, set-ups over time."""

from typing import Any
from uuid import UUID

from starlette.responses import Response

from service.context import Db, Library, Now, Who, signed_in_router
from service.domain import procedure
from service.domain.bar_and_saddle import Asked, position
from service.domain.position import Point
from service.errors import Malformed, Refusal
from service.ids import parse_id
from service.records import builds, people
from service.records.computed import bicycle_of, set_ups_of
from service.schemas.builds import SetUpSent
from service.web.charts import position_chart
from service.web.forms import NOTHING_WRONG, Form, Typed, Wrong, as_number, id_for, read
from service.web.pages import render, see

router = signed_in_router(include_in_schema=False)
FIGURES = ("saddle_height_mm", "saddle_setback_mm", "bar_reach_mm", "bar_drop_mm", "front_kpa", "rear_kpa")
BOUNDS = {"spacers_mm": (0, 200), "forward_mm": (-2000, 2000), "up_mm": (-2000, 2000), "inseam_mm": (300, 1300)}


@router.get("/builds/{build_id}/position")
def show_position(
    build_id: UUID, db: Db, who: Who, library: Library,
    spacers_mm: str = "", forward_mm: str = "", up_mm: str = "", inseam_mm: str = "", first: str = "", second: str = "",
) -> Response:  # fmt: skip
    """The position as it is, and what was asked besides."""
    texts = {"spacers_mm": spacers_mm, "forward_mm": forward_mm, "up_mm": up_mm, "inseam_mm": inseam_mm}
    return _page(build_id, db, who, library, typed=Typed.of(texts | {"first": first, "second": second}))


@router.post("/builds/{build_id}/set-ups")
def add_set_up(build_id: UUID, form: Form, db: Db, who: Who, library: Library, now: Now) -> Response:
    """Writes a set-up down; the same form sent twice is one."""
    try:
        numbers = form.numbers(*FIGURES)
        if not numbers:
            raise Malformed("Write one figure down at least.", errors=[("/saddle_height_mm", "or another figure")])
        typed: dict[str, Any] = form.filled("id", "note") | {
            name: float(each) if isinstance(each, int) else each for name, each in numbers.items()
        }
        with db.writing() as session:
            builds.add_set_up(session, who, build_id, read(SetUpSent, typed), now=now)
    except Refusal as refusal:
        return _page(build_id, db, who, library, typed=form, wrong=Wrong(refusal))
    return see(f"/builds/{build_id}/position#set-ups")


def _page(
    build_id: UUID, db: Db, who: people.Who, library: procedure.Library, *,
    typed: Typed, wrong: Wrong = NOTHING_WRONG,
) -> Response:  # fmt: skip
    asked = Asked()
    try:
        asked = _asked(typed)
    except Malformed as refusal:
        wrong = wrong or Wrong(refusal)
    with db.reading() as session:
        bicycle = bicycle_of(session, who, build_id, library)
        set_ups = set_ups_of(session, who, build_id)
    found = position(bicycle, library, set_ups, asked)
    return render(
        "position.html",
        status=wrong.status,
        build=bicycle.build,
        position=found,
        chart=position_chart(found),
        typed=typed,
        wrong=wrong,
        id=id_for(typed, wrong),
        zone=who.time_zone,
        library=library,
    )


def _asked(typed: Typed) -> Asked:
    """What the address asks besides. Raises Malformed for what cannot be asked."""
    given = {name: _number(typed, name) for name in BOUNDS}
    forward, up = given["forward_mm"], given["up_mm"]
    if (forward is None) != (up is None):
        name = "up_mm" if up is None else "forward_mm"
        raise Malformed("A target takes both figures.", errors=[(f"/{name}", "is needed too")])
    first, second = parse_id(typed("first")), parse_id(typed("second"))
    return Asked(
        spacers_mm=given["spacers_mm"],
        target=Point(forward, up) if forward is not None and up is not None else None,
        inseam_mm=given["inseam_mm"],
        first=first if second else None,
        second=second if first else None,
    )


def _number(typed: Typed, name: str) -> float | None:
    if not typed.has(name):
        return None
    low, high = BOUNDS[name]
    asked = as_number(typed(name), f"/{name}")
    if isinstance(asked, str) or not low <= asked <= high:
        say = f"should be a number from {low} to {high}"
        raise Malformed(f"This {say}.", errors=[(f"/{name}", say)])
    return float(asked)
