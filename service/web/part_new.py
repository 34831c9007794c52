"""The page that adds a part with its facts, and how to measure each of them."""

from typing import Any

from starlette.responses import Response

from service.context import Db, Library, Who, signed_in_router
from service.domain import procedure
from service.domain.facts import category_of
from service.errors import Refusal
from service.ids import parse_id
from service.records import parts, people
from service.schemas.parts import PartSent
from service.web.facts import facts_typed, money_typed, names_of_facts
from service.web.fit import fittable
from service.web.forms import NOTHING_WRONG, Form, Typed, Wrong, id_for, read
from service.web.pages import render, see

router = signed_in_router(include_in_schema=False)
ORIGINS = (
    ("new", "new", ""),
    ("second-hand", "second-hand", "its steps begin with a look at what a used one must not show"),
    ("owned", "it was lying here", "as second-hand, without a seller"),
    ("came fitted", "came fitted", "on the frame or bicycle when it was bought"),
)
STATES = (
    ("in hand", "in hand", ""),
    ("ordered", "ordered", "holds up only the steps that work on it"),
    ("planned", "only planned", ""),
)
OWN = ("id", "name", "tag", "origin", "state", "expected_on", "made_on", "note")
NUMBERS = ("km_before", "mass_claimed_g", "mass_weighed_g", "pieces")


@router.get("/parts/new")
def show_new_part(
    who: Who, library: Library, category: str = "", build: str = "", at: str = "", into: str = "", swap: str = ""
) -> Response:
    """The kinds of part, or the form of one kind."""
    values = {"category": category, "build": build, "at": at, "into": into, "swap": swap}
    return _page(who, library, typed=Typed.of({name: text for name, text in values.items() if text}))


@router.post("/parts/new")
def add_part(form: Form, db: Db, who: Who, library: Library) -> Response:
    """Adds the part, and goes back to where it was wanted."""
    try:
        category = category_of(library, form("category"))
        values: dict[str, Any] = {"category": category.category}
        values |= form.filled(*OWN) | form.numbers(*NUMBERS) | money_typed(form, who.currency, "price", "price_new")
        values["specs"] = facts_typed(category, form)
        with db.writing() as session:
            part, _ = parts.add_part(session, who, read(PartSent, values), library)
            part_id = part.id
    except Refusal as refusal:
        return _page(who, library, typed=form, wrong=Wrong(refusal))
    build, old = parse_id(form("build")), parse_id(form("swap"))
    if old is not None:
        return see(f"/parts/{old}/swap?on={part_id}")
    if build is not None:
        at, into = form("at"), parse_id(form("into")) or ""
        where = f"&at={at}&into={into}" if at.replace(".", "").isalpha() else ""
        return see(f"/builds/{build}/fit?slot={category.category}&part={part_id}{where}")
    return see(f"/parts/{part_id}")


def _page(who: people.Who, library: procedure.Library, *, typed: Typed, wrong: Wrong = NOTHING_WRONG) -> Response:
    category = library.categories.get(typed("category")) if wrong else _category(typed, library)
    return render(
        "part_new.html",
        status=wrong.status,
        category=category,
        categories=fittable(library),
        origins=ORIGINS,
        states=STATES,
        currency=who.currency,
        typed=typed,
        wrong=wrong.named(names_of_facts(category)),
        new_id=id_for(typed, wrong),
    )


def _category(typed: Typed, library: procedure.Library) -> procedure.Category | None:
    return category_of(library, typed("category")) if typed("category") else None
