"""The API of parts: their facts, the makers' figures, where they are and what they ran."""

from typing import Annotated, Any
from uuid import UUID

from fastapi import Query, Request, Response

from service.api.paging import Cursor, Limit, key_of, next_page
from service.api.queries import check_queries
from service.context import Db, IfMatch, Library, Now, Who, is_unchanged, not_modified, signed_in_router, tag_row
from service.domain.facts import category_of
from service.domain.looking import sought
from service.errors import Asks, Conflict, Gone, Malformed, NeedsIfMatch, NotFound, Refusal, Stale
from service.records import life, parts, planning, views
from service.schemas.care import DueList
from service.schemas.parts import (
    PartChanged,
    PartLine,
    PartPage,
    PartSent,
    PartShown,
    PartState,
    SpecSent,
    TorqueFigureSent,
)
from service.schemas.plan_showing import with_fits
from service.schemas.problems import UNCHANGED, refusals
from service.schemas.showing import show_due
from service.schemas.wear import WearList, show_wear

router = signed_in_router(check_queries, prefix="/api/v1/parts", tags=["parts"])
MOST_FACTS = 20
"""Each is a comparison of its own with every part; a database takes no endless row of them."""
LINE = ("id", "category", "name", "tag", "origin", "state", "on_build", "version")


@router.get("", summary="List parts", responses=refusals(Refusal, NotFound))
def list_parts(
    request: Request,
    response: Response,
    db: Db,
    who: Who,
    library: Library,
    category: Annotated[str | None, Query(max_length=60, description="Of this category.")] = None,
    state: Annotated[PartState | None, Query(description="In this state.")] = None,
    in_bin: Annotated[bool | None, Query(description="True: fitted nowhere; false: fitted.")] = None,
    fits: Annotated[
        str | None,
        Query(
            max_length=160, description="BUILD:SLOT:PLACE: those in the parts bin for this place, with how they fit."
        ),
    ] = None,
    limit: Limit = 50,
    cursor: Cursor = None,
) -> PartPage:
    """Parts by category; `spec.KEY=` keeps those whose fact is this number, with its give, or these words.

    With `fits` each page has those first that meet, then those that need care, wait for a measurement, or conflict.
    """
    after = key_of(cursor, str, UUID)
    if category is not None:
        category_of(library, category)
    opening = planning.Opening.of(fits, library) if fits is not None else None
    kinds = (category,) if category is not None else tuple(opening.categories(library)) if opening is not None else ()
    facts = [sought(library, key, worth, kinds) for key, worth in _facts_asked(request)]
    with db.reading() as session:
        rows = parts.list_parts(
            session,
            who,
            categories=kinds,
            state=state,
            in_bin=in_bin if opening is None else True,
            there=opening is not None,
            facts=facts,
            after=None if after is None else (after[0], after[1]),
            limit=limit + 1,
        )
        items = [PartLine(**dict(zip(LINE, row, strict=True)), fits=None) for row in rows[:limit]]
        if opening is not None:
            found = planning.fit_of_parts(session, who, opening, [each.id for each in items], library=library)
            items = with_fits(items, found)
        return PartPage(items=items, next=next_page(request, response, rows, limit, lambda row: (row[1], row[0])))


def _facts_asked(request: Request) -> list[tuple[str, str]]:
    """The facts by which parts are looked for. Raises Malformed for more than a part is known by."""
    asked = [(name[5:], worth) for name, worth in request.query_params.multi_items() if name.startswith("spec.")]
    if len(asked) > MOST_FACTS:
        right = f"at most {MOST_FACTS} facts"
        raise Malformed(f"Parts are looked for by {right} at once, not {len(asked)}.", errors=[("/spec.KEY", right)])
    return asked


@router.post("", status_code=201, summary="Store a part", responses=refusals(Refusal, Asks, Conflict, Gone))
def add_part(sent: PartSent, response: Response, db: Db, who: Who, library: Library, now: Now) -> PartShown:
    """The same id with the same content is once: the answer is then 200."""
    with db.writing() as session:
        part, new = parts.add_part(session, who, sent, library, now=now)
        response.status_code = 201 if new else 200
        tag_row(response, part.version)
        return life.part_shown(session, who, part.id, library=library, now=now)


@router.get("/{part_id}", summary="Read a part", response_model=PartShown, responses=refusals(NotFound) | UNCHANGED)
def get_part(part_id: UUID, request: Request, response: Response, db: Db, who: Who, library: Library, now: Now) -> Any:
    """A part with its facts, where it is and what it has run; 304 where nothing has changed since."""
    with db.reading() as session:
        version = parts.get_part(session, who, part_id).version
        tag = views.tag_of(session, who, version, library=library, now=now)
        response.headers["ETag"], response.headers["Cache-Control"] = tag, "private, no-cache"
        if is_unchanged(request, tag):
            return not_modified(tag)
        return life.part_shown(session, who, part_id, library=library, now=now)


@router.patch(
    "/{part_id}", summary="Change a part", responses=refusals(Refusal, NotFound, Conflict, Stale, NeedsIfMatch)
)
def change_part(
    part_id: UUID, sent: PartChanged, response: Response, db: Db, who: Who, version: IfMatch, library: Library, now: Now
) -> PartShown:
    """A merge patch (RFC 7396): fields that are left out stay, null empties. Needs If-Match."""
    with db.writing() as session:
        parts.change_part(session, who, part_id, sent, version, now=now)
        shown = life.part_shown(session, who, part_id, library=library, now=now)
        tag_row(response, shown.version)
        return shown


@router.delete(
    "/{part_id}", status_code=204, summary="Remove a part", responses=refusals(NotFound, Conflict, Stale, NeedsIfMatch)
)
def remove_part(part_id: UUID, db: Db, who: Who, version: IfMatch) -> None:
    """Only a part without a history; another is set to gone. Needs If-Match."""
    with db.writing() as session:
        parts.remove_part(session, who, part_id, version)


@router.put("/{part_id}/specs/{field}", summary="Enter a fact", responses=refusals(Refusal, NotFound, Asks))
def set_spec(
    part_id: UUID, field: str, sent: SpecSent, response: Response, db: Db, who: Who, library: Library, now: Now
) -> PartShown:
    """In place of what was there; an unlikely number is asked for again."""
    with db.writing() as session:
        parts.set_spec(session, who, part_id, field, sent, library)
        shown = life.part_shown(session, who, part_id, library=library, now=now)
        tag_row(response, shown.version)
        return shown


@router.delete("/{part_id}/specs/{field}", status_code=204, summary="Take a fact back", responses=refusals(NotFound))
def remove_spec(part_id: UUID, field: str, db: Db, who: Who) -> None:
    """It is not known again."""
    with db.writing() as session:
        parts.remove_spec(session, who, part_id, field)


@router.put(
    "/{part_id}/torque-figures/{fastening}",
    summary="Enter a maker's torque",
    responses=refusals(Refusal, NotFound, Asks),
)
def set_torque_figure(
    part_id: UUID,
    fastening: str,
    sent: TorqueFigureSent,
    response: Response,
    db: Db,
    who: Who,
    library: Library,
    now: Now,
) -> PartShown:
    """The maker's figure governs from now on; an unlikely one is asked for again."""
    with db.writing() as session:
        parts.set_torque_figure(session, who, part_id, fastening, sent, library=library)
        shown = life.part_shown(session, who, part_id, library=library, now=now)
        tag_row(response, shown.version)
        return shown


@router.delete(
    "/{part_id}/torque-figures/{fastening}",
    status_code=204,
    summary="Take a maker's torque back",
    responses=refusals(Refusal, NotFound),
)
def remove_torque_figure(part_id: UUID, fastening: str, db: Db, who: Who, library: Library) -> None:
    """The general range holds again."""
    with db.writing() as session:
        parts.remove_torque_figure(session, who, part_id, fastening, library=library)


@router.get("/{part_id}/due", summary="What is due on a part", responses=refusals(NotFound))
def list_part_due(part_id: UUID, db: Db, who: Who, library: Library, now: Now) -> DueList:
    """Its tasks and wearing dimensions, most pressing first."""
    with db.reading() as session:
        _, dues = life.due_of_part(session, who, part_id, library=library, now=now)
        return DueList(items=[show_due(due) for due in dues], next=None)


@router.get("/{part_id}/wear", summary="How a part wears", responses=refusals(NotFound))
def list_part_wear(part_id: UUID, db: Db, who: Who, library: Library, now: Now) -> WearList:
    """Its dimensions: readings, level and rate now with their spread, limits, the forecast or why there is none."""
    with db.reading() as session:
        found = life.wear_of_part(session, who, part_id, library=library, now=now)
        return WearList(items=[show_wear(*each) for each in found], next=None)
