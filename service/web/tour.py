"""The page before a tour: what it will be, then what to do, to look at, to carry, to buy and to book."""

from datetime import date, datetime
from typing import Any
from uuid import UUID

from starlette.requests import Request
from starlette.responses import Response

from service.context import Db, Library, Now, Who, signed_in_router
from service.domain import procedure
from service.domain.loosened import loosened
from service.domain.tour import Tour, TourItem
from service.domain.tour_plan import TourPlan
from service.errors import Malformed, Refusal
from service.ids import new_id
from service.records import builds, people, touring
from service.web.forms import NOTHING_WRONG, Typed, Wrong
from service.web.pages import render
from service.web.ride import CONDITIONS

router = signed_in_router(include_in_schema=False)
KM = 1000
OUTDOORS = tuple(each for each in CONDITIONS if each[0] not in ("roller", "indoor"))
MEANING = {
    "do before": "To be done before you leave.",
    "look before": "Look at it before you leave; where it is near its end, do it, or carry one.",
    "on the way": "Comes round on the way: have what it takes with you.",
    "cannot be said": "Nothing can be told of it until it is looked at or measured once.",
}


@router.get("/builds/{build_id}/tour")
def show_tour(build_id: UUID, request: Request, db: Db, who: Who, library: Library, now: Now) -> Response:
    """The form, and the answer once it is filled in."""
    typed = Typed(request.query_params.multi_items())
    if not typed.names():
        return _page(build_id, db, who, library, now, typed=Typed.of({"loaded": "yes"}))
    try:
        return _page(build_id, db, who, library, now, typed=typed, tour=_tour(typed))
    except Malformed as wrong:
        return _page(build_id, db, who, library, now, typed=typed, wrong=Wrong(wrong))


def _tour(typed: Typed) -> Tour:
    """The tour that was typed. Raises Malformed with every field that is wrong."""
    errors = []
    numbers: dict[str, float] = {}
    for name, right in (("km", "a distance such as 1200"), ("days", "a number of days such as 21")):
        try:
            value = typed.numbers(name).get(name, "")
        except Refusal:
            value = ""
        if isinstance(value, int | float):
            numbers[name] = value
        else:
            errors.append((f"/{name}", f"should be {right}"))
    try:
        leaving = date.fromisoformat(typed("leaving"))
    except ValueError:
        errors.append(("/leaving", "should be the day of leaving"))
        leaving = date.min
    conditions = typed("conditions", "dry")
    if conditions not in [each[0] for each in OUTDOORS]:
        errors.append(("/conditions", "should be one of these"))
    if errors:
        raise Malformed("The tour is not told yet.", errors=errors)
    ticked = typed.ticked("loaded", "descents")
    return Tour(numbers["km"] * KM, int(numbers["days"]), leaving, conditions, ticked["loaded"], ticked["descents"])


def _page(
    build_id: UUID, db: Db, who: people.Who, library: procedure.Library, now: datetime,
    *, typed: Typed, tour: Tour | None = None, wrong: Wrong = NOTHING_WRONG,
) -> Response:  # fmt: skip
    today = who.today(now)
    told: dict[str, Any] = {"plan": None, "groups": [], "felt": [], "loosened": ()}
    with db.reading() as session:
        name = builds.get_build(session, who, build_id).name
        if tour is not None:
            try:
                bicycle, plan = touring.tour_of(session, who, build_id, tour, library=library, now=now)
            except Refusal as refusal:
                wrong = Wrong(refusal)
            else:
                decided = loosened(bicycle, library, today)
                felt = [each for each in plan.of("cannot be said") if _is_felt(each)]
                told = {"plan": plan, "groups": _groups(plan), "felt": felt, "loosened": decided}
    return render(
        "tour.html",
        status=wrong.status,
        build={"id": build_id, "name": name},
        conditions=OUTDOORS,
        meaning=MEANING,
        today=today,
        typed=typed,
        wrong=wrong,
        new_id=new_id,
        library=library,
        **told,
    )


def _groups(plan: TourPlan) -> list[tuple[str, list[Any]]]:
    """The groups that ask for something, each with its items; what a bundle does as well is told with the bundle."""
    shown = []
    for group in MEANING:
        items = [each for each in plan.of(group) if each.within is None and not _is_felt(each)]
        if items:
            shown.append((group, items))
    return shown


def _is_felt(item: TourItem) -> bool:
    """Has it no rate by its nature, and does nothing ask for it today? Then it is not told one by one."""
    return item.group == "cannot be said" and item.due.by_wear and item.due.state == "fine" and not item.due.last
