"""The API of trouble: what is heard, felt or seen, the causes to try, and whether to ride until then."""

from typing import Annotated
from uuid import UUID

from fastapi import Query

from service.api.queries import check_queries
from service.context import Db, Library, Who, signed_in_router
from service.errors import NotFound, Refusal
from service.records.trouble import Asked
from service.records.trouble import list_trouble as find_trouble
from service.schemas.problems import refusals
from service.schemas.trouble import TroublePage, show_trouble

router = signed_in_router(check_queries, prefix="/api/v1", tags=["care"])


@router.get("/trouble", summary="List symptoms and their causes", responses=refusals(Refusal, NotFound))
def list_trouble(
    db: Db,
    who: Who,
    library: Library,
    stage: Annotated[str | None, Query(description="Only what turns up then, such as riding.")] = None,
    category: Annotated[str | None, Query(description="Only what has a cause that begins at this category.")] = None,
    part: Annotated[UUID | None, Query(description="Only what has a cause that begins at this part.")] = None,
    build: Annotated[UUID | None, Query(description="On this build: where each cause sits, or why it cannot.")] = None,
) -> TroublePage:
    """Each symptom with its causes in the order to try them; one thing at a time, and ride after each."""
    with db.reading() as session:
        _, found = find_trouble(session, who, Asked(stage, category, part, build), library)
    return TroublePage(items=[show_trouble(each) for each in found], next=None)
