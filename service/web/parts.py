"""The parts bin: parts by category, looked up by a fact, or by whether they would meet at a place of a build."""

from collections.abc import Sequence
from itertools import groupby
from typing import Any, NamedTuple
from uuid import UUID

from starlette.responses import Response

from service.context import Db, Library, Who, signed_in_router
from service.domain import procedure
from service.domain.ends import ENDS, end_in
from service.domain.facts import category_of
from service.domain.looking import sought
from service.errors import Malformed, Refusal
from service.ids import parse_id
from service.records import builds, parts, people, planning
from service.records.bicycle import load
from service.schemas.parts import PartLine
from service.schemas.plan_showing import with_fits
from service.web.fit import fittable, seats_of
from service.web.forms import NOTHING_WRONG, Typed, Wrong
from service.web.pages import render
from service.web.words import place as place_in_words

router = signed_in_router(include_in_schema=False)
AT_ONCE = 100
MOST_BUILDS = 200
LINE = ("id", "category", "name", "tag", "origin", "state", "on_build", "version")
WHICH = [("", "in the parts bin"), ("fitted", "fitted"), ("all", "all, also those that are gone")]


class Asked(NamedTuple):
    """What is looked for, as it was typed."""

    category: str
    which: str
    field: str
    worth: str
    build: str
    place: str


@router.get("/parts")
def show_parts(
    db: Db, who: Who, library: Library,
    category: str = "", which: str = "", field: str = "", worth: str = "",
    build: str = "", place: str = "", after: str = "",
) -> Response:  # fmt: skip
    """The parts that match."""
    kind = category_of(library, category) if category else None
    asked = Asked(category, which, field, worth.strip(), build, place)
    wrong, rows, lines, places = NOTHING_WRONG, list[tuple[object, ...]](), list[PartLine](), list[tuple[str, str]]()
    with db.reading() as session:
        known = builds.list_builds(session, who, limit=MOST_BUILDS)
        try:
            opening, places = _opening(session, who, asked, kind, library)
            if opening is not None or len(places) < 2:
                rows = _rows(session, who, asked, opening, library, after=_key(after))
            lines = [PartLine(**dict(zip(LINE, row, strict=True)), fits=None) for row in rows[:AT_ONCE]]
            if opening is not None:
                found = planning.fit_of_parts(session, who, opening, [each.id for each in lines], library=library)
                lines = with_fits(lines, found)
        except Refusal as refusal:
            wrong = Wrong(refusal)
    if which != "all":
        lines = [line for line in lines if line.state != "gone"]
    last = rows[AT_ONCE - 1] if len(rows) > AT_ONCE else None
    return render(
        "parts.html",
        status=wrong.status,
        groups=[(slot, list(each)) for slot, each in groupby(lines, key=_group)],
        categories=[(each.category, each.title) for each in fittable(library)],
        fields=[(spec.key, spec.title) for spec in kind.specs] if kind is not None else [],
        builds=[(str(each["id"]), each["name"]) for each in known],
        places=places,
        which=WHICH,
        asked=asked,
        further=f"after={last[1]}~{last[0]}" if last else None,
        typed=Typed.of(asked._asdict()),
        wrong=wrong,
        library=library,
    )  # fmt: skip


def _group(line: PartLine) -> str:
    """Parts stand under their category, or under how they fit."""
    if line.fits is None:
        return line.category
    return f"= {line.fits.answer or 'nothing there that it would meet'}"


def _opening(
    session: Any, who: people.Who, asked: Asked, kind: procedure.Category | None, library: procedure.Library
) -> tuple[planning.Opening | None, list[tuple[str, str]]]:
    """The place that a part is looked for, once build and kind are chosen and it is clear which; and the places."""
    build_id = parse_id(asked.build)
    if kind is None or build_id is None:
        return None, []
    bicycle = load(session, who, build_id, library, with_log=False)
    seats = dict.fromkeys(seat.place for seat in seats_of(kind, bicycle, library))
    there = [place for place in seats if kind.end not in ENDS or end_in(place) in (None, kind.end)]
    places = [(each, place_in_words(each) or "on the bicycle") for each in there]
    if asked.place not in there and len(there) != 1:
        return None, places
    wanted = asked.place if asked.place in there else there[0]
    return planning.Opening(build_id, kind.category, wanted), places


def _rows(
    session: Any, who: people.Who, asked: Asked, opening: planning.Opening | None, library: procedure.Library,
    *, after: tuple[str, UUID] | None,
) -> list[tuple[object, ...]]:  # fmt: skip
    kinds: Sequence[str] = (asked.category,) if asked.category else ()
    if opening is not None:
        kinds = opening.categories(library)
    facts = [sought(library, asked.field, asked.worth, tuple(kinds))] if asked.field and asked.worth else []
    return parts.list_parts(
        session,
        who,
        categories=kinds,
        in_bin=True if opening is not None else {"": True, "fitted": False}.get(asked.which),
        there=opening is not None,
        facts=facts,
        after=after,
        limit=AT_ONCE + 1,
    )


def _key(after: str) -> tuple[str, UUID] | None:
    if not after:
        return None
    category, _, part_id = after.partition("~")
    found = parse_id(part_id)
    if found is None:
        raise Malformed("This address of further parts cannot be read; start again from the first page.")
    return category, found
