"""The API of what to do before a tour."""

from datetime import date
from typing import Annotated
from uuid import UUID

from fastapi import Query

from service.api.queries import check_queries
from service.context import Db, Library, Now, Who, signed_in_router
from service.domain.tour import Tour
from service.errors import NotFound, Refusal
from service.records import touring
from service.schemas.problems import refusals
from service.schemas.riding import Conditions
from service.schemas.touring import TourShown, show_tour

router = signed_in_router(check_queries, prefix="/api/v1", tags=["care"])


@router.get("/builds/{build_id}/tour", summary="Before a tour", responses=refusals(Refusal, NotFound))
def get_tour(
    build_id: UUID,
    db: Db,
    who: Who,
    library: Library,
    now: Now,
    km: Annotated[float, Query(description="The tour's length, km.", allow_inf_nan=False)],
    days: Annotated[int, Query(description="Its days.")],
    leaving: Annotated[date, Query(description="The day of leaving.")],
    conditions: Annotated[Conditions, Query(description="The ground and weather for most of it.")] = "dry",
    loaded: Annotated[bool, Query(description="15 kg of luggage or more, or a trailer.")] = True,
    descents: Annotated[bool, Query(description="Long descents.")] = False,
) -> TourShown:
    """What to do before, look at before, do on the way; what to buy, to carry, to book, and what cannot be said."""
    tour = Tour(km * 1000, days, leaving, conditions, loaded, descents)
    with db.reading() as session:
        return show_tour(*touring.tour_of(session, who, build_id, tour, library=library, now=now))
