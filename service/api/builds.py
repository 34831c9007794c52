"""The API of builds: the bicycle with its tree of parts, what is fitted, swapped and planned, the rider's position."""

from typing import Annotated, Any
from uuid import UUID

from fastapi import Query, Request, Response

from service.api.paging import Cursor, Limit, key_of, next_page, row_number
from service.api.queries import check_queries
from service.context import Db, IfMatch, Library, Now, Who, is_unchanged, not_modified, signed_in_router, tag_row
from service.errors import Asks, Conflict, Gone, NeedsIfMatch, NotFound, PartsChanged, Refusal, Stale
from service.records import accepting, builds, fitting, swaps, views
from service.schemas.builds import (
    AcceptanceSent,
    BuildChanged,
    BuildPage,
    BuildSent,
    BuildShown,
    BuildState,
    FindingPage,
    FindingShown,
    FittingChanged,
    FittingPage,
    FittingSent,
    FittingShown,
    PlanPage,
    PlanSent,
    PlanShown,
    SetUpPage,
    SetUpSent,
    SetUpShown,
    SwapSent,
)
from service.schemas.fields import read_day
from service.schemas.problems import UNCHANGED, refusals
from service.schemas.showing import show_build_line, show_finding, show_fitting, show_plan

router = signed_in_router(check_queries, prefix="/api/v1", tags=["builds"])


@router.get("/builds", summary="List builds")
def list_builds(
    request: Request,
    response: Response,
    db: Db,
    who: Who,
    state: Annotated[BuildState | None, Query(description="In this state.")] = None,
    limit: Limit = 50,
    cursor: Cursor = None,
) -> BuildPage:
    """The most pressing first."""
    after = key_of(cursor, row_number, read_day, UUID)
    with db.reading_lists(first_page=after is None) as session:
        key = None if after is None else (after[0], after[1], after[2])
        rows = builds.list_builds(session, who, state=state, after=key, limit=limit + 1)
        following = next_page(request, response, rows, limit, lambda row: (row["due_rank"], row["due_on"], row["id"]))
        return BuildPage(items=[show_build_line(row) for row in rows[:limit]], next=following)


@router.post("/builds", status_code=201, summary="Store a build", responses=refusals(Refusal, Conflict, Gone))
def add_build(sent: BuildSent, response: Response, db: Db, who: Who, library: Library, now: Now) -> BuildShown:
    """The same id with the same content is once: the answer is then 200."""
    with db.writing() as session:
        build, new = builds.add_build(session, who, sent)
        response.status_code = 201 if new else 200
        tag_row(response, build.version)
        return views.build_shown(session, who, build.id, library=library, now=now)


@router.get(
    "/builds/{build_id}", summary="Read a build", response_model=BuildShown, responses=refusals(NotFound) | UNCHANGED
)
def get_build(
    build_id: UUID, request: Request, response: Response, db: Db, who: Who, library: Library, now: Now
) -> Any:
    """The build with its tree of parts and what is missing; 304 where nothing has changed since."""
    with db.reading() as session:
        tag = views.tag_of_build(session, who, build_id, library=library, now=now)
        response.headers["ETag"], response.headers["Cache-Control"] = tag, "private, no-cache"
        if is_unchanged(request, tag):
            return not_modified(tag)
        return views.build_shown(session, who, build_id, library=library, now=now)


@router.patch(
    "/builds/{build_id}", summary="Change a build", responses=refusals(Refusal, NotFound, Stale, NeedsIfMatch)
)
def change_build(
    build_id: UUID,
    sent: BuildChanged,
    response: Response,
    db: Db,
    who: Who,
    version: IfMatch,
    library: Library,
    now: Now,
) -> BuildShown:
    """A merge patch (RFC 7396): fields that are left out stay, null empties. Needs If-Match."""
    with db.writing() as session:
        builds.change_build(session, who, build_id, sent, version)
        shown = views.build_shown(session, who, build_id, library=library, now=now)
        tag_row(response, shown.version)
        return shown


@router.delete(
    "/builds/{build_id}",
    status_code=204,
    summary="Remove a build",
    responses=refusals(NotFound, Conflict, Stale, NeedsIfMatch),
)
def remove_build(build_id: UUID, db: Db, who: Who, version: IfMatch) -> None:
    """Only a build on which nothing ever happened; another is set to retired. Needs If-Match."""
    with db.writing() as session:
        builds.remove_build(session, who, build_id, version)


@router.get("/builds/{build_id}/findings", summary="How the joins stand", responses=refusals(NotFound))
def list_findings(build_id: UUID, db: Db, who: Who, library: Library) -> FindingPage:
    """Conflicts first."""
    with db.reading() as session:
        found = views.findings_of(session, who, build_id, library)
        return FindingPage(items=[show_finding(each) for each in found], next=None)


@router.put(
    "/builds/{build_id}/findings/{join}/acceptance",
    summary="Accept a conflict",
    responses=refusals(NotFound, Conflict, PartsChanged),
)
def accept_finding(
    build_id: UUID, join: str, sent: AcceptanceSent, db: Db, who: Who, library: Library, now: Now
) -> FindingShown:
    """With a reason, where it may be; never in brakes, steering, wheel retention, threads. It adds an inspection."""
    with db.writing() as session:
        return show_finding(accepting.accept(session, who, build_id, join, sent, library=library, now=now))


@router.delete(
    "/builds/{build_id}/findings/{join}/acceptance",
    status_code=204,
    summary="Take an acceptance back",
    responses=refusals(NotFound),
)
def cancel_acceptance(build_id: UUID, join: str, db: Db, who: Who) -> None:
    """The conflict stands again."""
    with db.writing() as session:
        accepting.take_back(session, who, build_id, join)


@router.get("/builds/{build_id}/fittings", summary="List fittings", responses=refusals(NotFound))
def list_fittings(build_id: UUID, db: Db, who: Who) -> FittingPage:
    """What is and was on this build and in what it carried, newest first."""
    with db.reading() as session:
        rows = fitting.list_fittings(session, who, build_id)
        return FittingPage(items=[show_fitting(row) for row in rows], next=None)


@router.post(
    "/builds/{build_id}/fittings",
    status_code=201,
    summary="Fit a part",
    responses=refusals(Refusal, NotFound, Conflict, Gone),
)
def fit_part(
    build_id: UUID, sent: FittingSent, response: Response, db: Db, who: Who, library: Library, now: Now
) -> FittingShown:
    """On the build, or into a part that is on it; a tyre brings the wheel it needs."""
    with db.writing() as session:
        done = fitting.fit_part(session, who, build_id, sent, library=library, now=now)
        response.status_code = 201 if done.new else 200
        return show_fitting(done.fitting, done.also)


@router.patch("/fittings/{fitting_id}", summary="Take off, or correct", responses=refusals(Refusal, NotFound, Conflict))
def change_fitting(
    fitting_id: UUID, sent: FittingChanged, db: Db, who: Who, library: Library, now: Now
) -> FittingShown:
    """Its beginning or end; the fitting keeps its id, so ticks stay."""
    with db.writing() as session:
        return show_fitting(fitting.change_fitting(session, who, fitting_id, sent, library=library, now=now))


@router.delete("/fittings/{fitting_id}", status_code=204, summary="Undo a fitting", responses=refusals(NotFound))
def remove_fitting(fitting_id: UUID, db: Db, who: Who) -> None:
    """For one that was entered by mistake: as if it had never been."""
    with db.writing() as session:
        fitting.remove_fitting(session, who, fitting_id)


@router.post(
    "/builds/{build_id}/swaps",
    status_code=201,
    summary="Swap a part",
    responses=refusals(Refusal, NotFound, Conflict, Gone, Asks),
)
def swap_part(
    build_id: UUID, sent: SwapSent, response: Response, db: Db, who: Who, library: Library, now: Now
) -> FittingShown:
    """One part off and another on, in one instant and one transaction."""
    with db.writing() as session:
        done = swaps.swap_part(session, who, build_id, sent, library=library, now=now)
        response.status_code = 201 if done.new else 200
        return show_fitting(done.fitting, done.also)


@router.get("/builds/{build_id}/plan", summary="List the plan", responses=refusals(NotFound))
def list_plan(build_id: UUID, db: Db, who: Who) -> PlanPage:
    """Candidates for places, the chosen ones among them."""
    with db.reading() as session:
        return PlanPage(items=[show_plan(row) for row in builds.list_plan(session, who, build_id)], next=None)


@router.put("/builds/{build_id}/plan/{part_id}", summary="Plan a part", responses=refusals(Refusal, NotFound, Conflict))
def plan_part(build_id: UUID, part_id: UUID, sent: PlanSent, db: Db, who: Who, library: Library) -> PlanShown:
    """Makes it a candidate; choosing it lets go of the one chosen before at that place."""
    with db.writing() as session:
        return show_plan(builds.plan_part(session, who, build_id, part_id, sent, library=library))


@router.delete(
    "/builds/{build_id}/plan/{part_id}", status_code=204, summary="Take off the plan", responses=refusals(NotFound)
)
def unplan_part(build_id: UUID, part_id: UUID, db: Db, who: Who) -> None:
    """The part stays in the parts bin."""
    with db.writing() as session:
        builds.unplan_part(session, who, build_id, part_id)


@router.get("/builds/{build_id}/set-ups", summary="List set-ups", responses=refusals(NotFound))
def list_set_ups(build_id: UUID, db: Db, who: Who) -> SetUpPage:
    """The rider's position and pressures, newest first."""
    with db.reading() as session:
        rows = builds.list_set_ups(session, who, build_id)
        return SetUpPage(items=[SetUpShown.model_validate(row) for row in rows], next=None)


@router.post(
    "/builds/{build_id}/set-ups",
    status_code=201,
    summary="Store a set-up",
    responses=refusals(NotFound, Conflict, Gone),
)
def add_set_up(build_id: UUID, sent: SetUpSent, response: Response, db: Db, who: Who, now: Now) -> SetUpShown:
    """The rider's position and pressures at one time."""
    with db.writing() as session:
        row, new = builds.add_set_up(session, who, build_id, sent, now=now)
        response.status_code = 201 if new else 200
        return SetUpShown.model_validate(row)
