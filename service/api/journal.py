"""The API of the journal: every change, and undoing one request."""

from typing import Annotated
from uuid import UUID

from fastapi import Query, Request, Response

from service.api.paging import Cursor, Limit, key_of, next_page, row_number
from service.api.queries import check_queries
from service.context import Db, Who, signed_in_router
from service.errors import Conflict, NotFound
from service.records import undo
from service.schemas.journal import JournalLine, JournalPage, Undone
from service.schemas.problems import refusals

router = signed_in_router(check_queries, prefix="/api/v1/journal", tags=["journal"])


@router.get("", summary="Read the journal")
def read_journal(
    request: Request,
    response: Response,
    db: Db,
    who: Who,
    noun: Annotated[str | None, Query(max_length=60, description="Of this kind of row.")] = None,
    row: Annotated[str | None, Query(alias="id", max_length=2000, description="Of this row.")] = None,
    limit: Limit = 50,
    cursor: Cursor = None,
) -> JournalPage:
    """Every change of this workshop, newest first; needs the right to work."""
    who.check_may("work")
    after = key_of(cursor, row_number)
    with db.reading() as session:
        rows = undo.read_journal(
            session, who, noun=noun, row_id=row, before=None if after is None else after[0], limit=limit + 1
        )
        following = next_page(request, response, rows, limit, lambda line: (line.id,))
        return JournalPage(items=[JournalLine.model_validate(line) for line in rows[:limit]], next=following)


@router.post("/{request_id}/undo", summary="Undo a request", responses=refusals(NotFound, Conflict))
def undo_request(request_id: UUID, db: Db, who: Who) -> Undone:
    """Everything it changed, or nothing: refused where a row has moved on since."""
    with db.writing() as session:
        return Undone(lines=undo.undo_request(session, who, str(request_id)))
