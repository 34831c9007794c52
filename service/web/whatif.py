"""The page that asks what a part would change that exists nowhere yet; nothing of it is stored."""

from typing import Any
from uuid import UUID

from starlette.responses import Response

from service.context import Db, Library, Who, signed_in_router
from service.domain import procedure
from service.domain.compare import Comparison
from service.domain.facts import category_of
from service.errors import Refusal
from service.records import people, planning
from service.records.bicycle import load
from service.schemas.planning import WhatIfSent
from service.web.comparing import Row, rows_of
from service.web.facts import facts_typed, money_typed, names_of_facts
from service.web.fit import fittable, seats_of
from service.web.forms import NOTHING_WRONG, Form, Typed, Wrong, read
from service.web.pages import render

router = signed_in_router(include_in_schema=False)


@router.get("/builds/{build_id}/what-if")
def show_what_if(build_id: UUID, db: Db, who: Who, library: Library, category: str = "", at: str = "") -> Response:
    """The kinds of part, or the form of one kind."""
    return _page(build_id, db, who, library, typed=Typed.of({"category": category, "place": at} if category else {}))


@router.post("/builds/{build_id}/what-if")
def ask_what_if(build_id: UUID, form: Form, db: Db, who: Who, library: Library) -> Response:
    """What would change."""
    try:
        category = category_of(library, form("category"))
        values: dict[str, Any] = {"category": category.category, "place": form("place")} | form.filled("name", "origin")
        values |= form.numbers("mass_g") | money_typed(form, who.currency, "price")
        values["specs"] = facts_typed(category, form)
        sent = read(WhatIfSent, {"parts": [values]})
        with db.reading() as session:
            found = planning.what_if(session, who, build_id, sent, library=library)
    except Refusal as refusal:
        refusal.errors = tuple(each._replace(pointer=each.pointer.removeprefix("/parts/0")) for each in refusal.errors)
        return _page(build_id, db, who, library, typed=form, wrong=Wrong(refusal))
    return _page(build_id, db, who, library, typed=form, found=found)


def _page(
    build_id: UUID, db: Db, who: people.Who, library: procedure.Library,
    *, typed: Typed, wrong: Wrong = NOTHING_WRONG, found: Comparison | None = None,
) -> Response:  # fmt: skip
    category = _category(typed, library, wrong)
    currency = planning.currency_for(who)
    with db.reading() as session:
        bicycle = load(session, who, build_id, library, with_log=False)
    places: list[tuple[str, str]] = []
    if category is not None:
        seats = {seat.place: seat for seat in reversed(seats_of(category, bicycle, library))}
        places = [(place, seat.words) for place, seat in reversed(seats.items())]
    rows: list[Row] = rows_of(found, library, currency) if found is not None else []
    return render(
        "what_if.html",
        status=wrong.status,
        build=bicycle.build,
        category=category,
        categories=fittable(library),
        places=places,
        comparison=found,
        rows=rows,
        currency=currency,
        typed=typed,
        wrong=wrong.named(names_of_facts(category)),
        library=library,
    )


def _category(typed: Typed, library: procedure.Library, wrong: Wrong) -> procedure.Category | None:
    if not typed("category"):
        return None
    return library.categories.get(typed("category")) if wrong else category_of(library, typed("category"))
