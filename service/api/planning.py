"""The API of planning: what if, two bicycles side by side, what is still to be got. Nothing of it is stored."""

from uuid import UUID

from service.api.queries import check_queries
from service.context import Db, Library, Now, Who, signed_in_router
from service.errors import Asks, Conflict, NotFound, Refusal
from service.records import planning
from service.schemas.plan_showing import show_comparison, show_shopping, show_what_if
from service.schemas.planning import ComparisonSent, ComparisonShown, ShoppingShown, WhatIfSent, WhatIfShown
from service.schemas.problems import refusals

router = signed_in_router(check_queries, prefix="/api/v1/builds", tags=["planning"])
REFUSED = refusals(Refusal, NotFound, Conflict, Asks)


@router.post("/{build_id}/what-if", summary="Ask what if", responses=REFUSED)
def work_out_what_if(build_id: UUID, sent: WhatIfSent, db: Db, who: Who, library: Library) -> WhatIfShown:
    """What parts that exist nowhere, or candidates, would change: joins, gears, tyre room, mass, cost, small parts."""
    with db.reading() as session:
        found = planning.what_if(session, who, build_id, sent, library=library)
        return show_what_if(found, planning.currency_for(who))


@router.post("/compare", summary="Compare two bicycles", responses=REFUSED)
def work_out_comparison(sent: ComparisonSent, db: Db, who: Who, library: Library) -> ComparisonShown:
    """Two builds, or one build with either of two candidates for a place."""
    with db.reading() as session:
        found = planning.compare_sides(session, who, sent.sides, library=library)
        return show_comparison(found, planning.currency_for(who))


@router.get("/{build_id}/shopping", summary="What is still to be got", responses=refusals(NotFound))
def get_shopping(build_id: UUID, db: Db, who: Who, library: Library, now: Now) -> ShoppingShown:
    """Parts, small parts, consumables and tools, and what goes along to a shop."""
    with db.reading() as session:
        bicycle, found = planning.shopping_of(session, who, build_id, library=library, now=now)
        return show_shopping(found, bicycle, library, planning.currency_for(who))
