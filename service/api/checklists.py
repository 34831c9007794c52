"""The API of checklists: jobs started, drawn up, ticked and finished."""

from collections.abc import Mapping
from uuid import UUID

from fastapi import Request, Response

from service.api.queries import check_queries
from service.context import Db, Library, Now, Who, is_unchanged, not_modified, signed_in_router
from service.domain.steps import Checklist
from service.errors import Conflict, Gone, NotFound, PartsChanged, Refusal
from service.records import checklists, views
from service.schemas.checklists import (
    ChecklistChanged,
    ChecklistLine,
    ChecklistPage,
    ChecklistShown,
    ChecklistStarted,
    MarkSent,
)
from service.schemas.problems import UNCHANGED, refusals
from service.schemas.showing import write_checklist

router = signed_in_router(check_queries, prefix="/api/v1", tags=["checklists"])


def _answer(drawn: Checklist, status: int = 200, headers: Mapping[str, str] | None = None) -> Response:
    """A job drawn up, written as ChecklistShown describes it."""
    return Response(write_checklist(drawn), status, headers, media_type="application/json")


@router.get("/builds/{build_id}/checklists", summary="List the jobs of a build", responses=refusals(NotFound))
def list_checklists(build_id: UUID, db: Db, who: Who) -> ChecklistPage:
    """Newest first."""
    with db.reading() as session:
        rows = checklists.list_jobs(session, who, build_id)
        return ChecklistPage(items=[ChecklistLine.model_validate(row) for row in rows], next=None)


@router.post(
    "/builds/{build_id}/checklists",
    status_code=201,
    summary="Start a job",
    response_model=ChecklistShown,
    responses=refusals(Refusal, NotFound, Conflict, Gone),
)
def start_checklist(build_id: UUID, sent: ChecklistStarted, db: Db, who: Who, library: Library, now: Now) -> Response:
    """Assemble, replace, service, strip or check; one job of assembling at a time."""
    with db.writing() as session:
        row, new = checklists.start_job(session, who, build_id, sent, library=library, now=now)
        drawn = checklists.draw(session, who, row.id, library=library, now=now)[2]
        return _answer(drawn, 201 if new else 200)


@router.get(
    "/checklists/{checklist_id}",
    summary="Read a checklist",
    response_model=ChecklistShown,
    responses=refusals(NotFound, Conflict) | UNCHANGED,
)
def get_checklist(checklist_id: UUID, request: Request, db: Db, who: Who, library: Library, now: Now) -> Response:
    """Drawn up for the parts as they are today; 304 where nothing has changed since."""
    with db.reading() as session:
        job = checklists.get_job(session, who, checklist_id)
        tag = views.tag_of_build(session, who, job.build_id, library=library, now=now)
        if is_unchanged(request, tag):
            return not_modified(tag)
        drawn = checklists.draw(session, who, checklist_id, library=library, now=now)[2]
        return _answer(drawn, headers={"ETag": tag, "Cache-Control": "private, no-cache"})


@router.patch(
    "/checklists/{checklist_id}",
    summary="Finish a job",
    response_model=ChecklistShown,
    responses=refusals(NotFound, Conflict),
)
def finish_checklist(
    checklist_id: UUID, sent: ChecklistChanged, db: Db, who: Who, library: Library, now: Now
) -> Response:
    """Logs its events and readings in the same transaction; finished twice is once."""
    with db.writing() as session:
        return _answer(checklists.finish_job(session, who, checklist_id, library=library, now=now)[1])


@router.put(
    "/checklists/{checklist_id}/marks/{step}",
    summary="Tick or skip a step",
    response_model=ChecklistShown,
    responses=refusals(Refusal, NotFound, Conflict, PartsChanged, Gone),
)
def tick_step(checklist_id: UUID, step: str, sent: MarkSent, db: Db, who: Who, library: Library, now: Now) -> Response:
    """For exactly the parts that the fingerprint names; of two marks the later one counts."""
    with db.writing() as session:
        return _answer(checklists.tick_step(session, who, checklist_id, step, sent, library=library, now=now))


@router.delete(
    "/checklists/{checklist_id}/marks/{step}",
    summary="Take a tick back",
    response_model=ChecklistShown,
    responses=refusals(NotFound, Conflict),
)
def untick_step(checklist_id: UUID, step: str, db: Db, who: Who, library: Library, now: Now) -> Response:
    """Parts that were fitted with it stay on."""
    with db.writing() as session:
        return _answer(checklists.untick_step(session, who, checklist_id, step, library=library, now=now))
