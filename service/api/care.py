"""The API of care: maintenance events, wear measurements, what is due, rules and put-offs."""

from datetime import date
from typing import Annotated
from uuid import UUID

from fastapi import Depends, Query, Request, Response

from service.api.paging import Cursor, Limit, Window, key_of, next_page, row_number
from service.api.queries import check_queries
from service.context import Db, IfMatch, Library, Now, Today, Who, signed_in_router, tag_row
from service.errors import Asks, Conflict, Gone, NeedsIfMatch, NotFound, Refusal, Stale
from service.records import care, coming, rules
from service.records.rules import Subject
from service.schemas.care import (
    DuePage,
    EventChanged,
    EventLogged,
    EventPage,
    EventShown,
    PutOffSent,
    PutOffShown,
    RuleSent,
    RuleShown,
    WearChanged,
    WearMeasured,
    WearPage,
    WearShown,
)
from service.schemas.fields import read_day, read_instant
from service.schemas.problems import refusals
from service.schemas.showing import show_event, show_measurement, show_put_off, show_rule, write_due_page

router = signed_in_router(check_queries, prefix="/api/v1", tags=["care"])
Within = Annotated[Window, Depends()]
LOGGED = refusals(Refusal, NotFound, Conflict, Gone)
MEASURED = refusals(Refusal, NotFound, Asks, Conflict, Gone)
MEASUREMENT_CHANGED = refusals(Refusal, NotFound, Stale, NeedsIfMatch, Asks)
CHANGED = refusals(Refusal, NotFound, Stale, NeedsIfMatch)
REMOVED = refusals(NotFound, Stale, NeedsIfMatch)
SUBJECT = refusals(Refusal, NotFound)


@router.get("/maintenance-events", summary="List maintenance events")
def list_maintenance_events(
    request: Request, response: Response, db: Db, who: Who, within: Within, limit: Limit = 50, cursor: Cursor = None
) -> EventPage:
    """Newest first; those of a build are its own and those of the parts that are on it now."""
    after = key_of(cursor, read_instant, UUID)
    with db.reading() as session:
        rows = care.list_events(
            session, who, **within.of_either(), after=(after[0], after[1]) if after else None, limit=limit + 1
        )
        tasks = care.tasks_completed(session, [row.id for row in rows])
        following = next_page(request, response, rows, limit, lambda row: (row.at.isoformat(), row.id))
        items = [show_event(row, tasks.get(row.id, [])) for row in rows[:limit]]
        return EventPage(items=items, next=following)


@router.post("/maintenance-events", status_code=201, summary="Log a maintenance event", responses=LOGGED)
def log_maintenance_event(
    sent: EventLogged, response: Response, db: Db, who: Who, library: Library, now: Now
) -> EventShown:
    """Of several tasks of this kind none is completed unless it is named; `may_complete` lists them."""
    with db.writing() as session:
        event, new = care.log_event(session, who, sent, library=library, now=now)
        response.status_code = 201 if new else 200
        tag_row(response, event.version)
        return show_event(*care.with_tasks(session, who, event, library))


@router.get("/maintenance-events/{event_id}", summary="Read an event", responses=refusals(NotFound))
def get_maintenance_event(event_id: UUID, response: Response, db: Db, who: Who, library: Library) -> EventShown:
    """An event, with the ETag that a change needs."""
    with db.reading() as session:
        event = care.get_event(session, who, event_id)
        tag_row(response, event.version)
        return show_event(*care.with_tasks(session, who, event, library))


@router.patch("/maintenance-events/{event_id}", summary="Correct an event", responses=CHANGED)
def change_maintenance_event(
    event_id: UUID,
    sent: EventChanged,
    response: Response,
    db: Db,
    who: Who,
    version: IfMatch,
    library: Library,
    now: Now,
) -> EventShown:
    """A merge patch (RFC 7396). Needs If-Match."""
    with db.writing() as session:
        event = care.change_event(session, who, event_id, sent, version=version, library=library, now=now)
        tag_row(response, event.version)
        return show_event(*care.with_tasks(session, who, event, library))


@router.delete("/maintenance-events/{event_id}", status_code=204, summary="Remove an event", responses=REMOVED)
def remove_maintenance_event(event_id: UUID, db: Db, who: Who, version: IfMatch) -> None:
    """What it reset stands as before. Needs If-Match."""
    with db.writing() as session:
        care.remove_event(session, who, event_id, version)


@router.get("/wear-measurements", summary="List wear measurements")
def list_wear_measurements(
    request: Request, response: Response, db: Db, who: Who, within: Within, limit: Limit = 50, cursor: Cursor = None
) -> WearPage:
    """Newest first; those of a build are of the parts that are on it now."""
    after = key_of(cursor, read_instant, UUID)
    with db.reading() as session:
        rows = care.list_measurements(
            session, who, **within.of_either(), after=(after[0], after[1]) if after else None, limit=limit + 1
        )
        following = next_page(request, response, rows, limit, lambda row: (row.at.isoformat(), row.id))
        return WearPage(items=[show_measurement(row) for row in rows[:limit]], next=following)


@router.post("/wear-measurements", status_code=201, summary="Store a wear measurement", responses=MEASURED)
def measure_wear(sent: WearMeasured, response: Response, db: Db, who: Who, library: Library, now: Now) -> WearShown:
    """An exact reading, or the two marks of a gauge between which it lies."""
    with db.writing() as session:
        row, new = care.measure_wear(session, who, sent, library=library, now=now)
        response.status_code = 201 if new else 200
        tag_row(response, row.version)
        return show_measurement(row)


@router.get("/wear-measurements/{measurement_id}", summary="Read a measurement", responses=refusals(NotFound))
def get_wear_measurement(measurement_id: UUID, response: Response, db: Db, who: Who) -> WearShown:
    """A measurement, with the ETag that a change needs."""
    with db.reading() as session:
        row = care.get_measurement(session, who, measurement_id)
        tag_row(response, row.version)
        return show_measurement(row)


@router.patch("/wear-measurements/{measurement_id}", summary="Correct a measurement", responses=MEASUREMENT_CHANGED)
def change_wear_measurement(
    measurement_id: UUID,
    sent: WearChanged,
    response: Response,
    db: Db,
    who: Who,
    library: Library,
    version: IfMatch,
    now: Now,
) -> WearShown:
    """A merge patch (RFC 7396). Needs If-Match."""
    with db.writing() as session:
        row = care.change_measurement(session, who, measurement_id, sent, version=version, library=library, now=now)
        tag_row(response, row.version)
        return show_measurement(row)


@router.delete(
    "/wear-measurements/{measurement_id}", status_code=204, summary="Remove a measurement", responses=REMOVED
)
def remove_wear_measurement(measurement_id: UUID, db: Db, who: Who, version: IfMatch) -> None:
    """As if it had not been read. Needs If-Match."""
    with db.writing() as session:
        care.remove_measurement(session, who, measurement_id, version)


@router.get("/due", summary="What is due", response_model=DuePage, responses=refusals(NotFound))
def list_due(
    request: Request,
    response: Response,
    db: Db,
    who: Who,
    library: Library,
    now: Now,
    build: Annotated[UUID | None, Query(description="Of this build alone.")] = None,
    until: Annotated[date | None, Query(description="Only what is pressing, or falls due by this day.")] = None,
    limit: Annotated[int, Query(ge=1, le=50, description="How many builds at most.")] = 20,
    cursor: Cursor = None,
) -> Response:
    """Builds soonest first, each with its items, most pressing first."""
    after = key_of(cursor, row_number, read_day, UUID)
    with db.reading_lists(first_page=after is None and build is None) as session:
        key = None if after is None else (after[0], after[1], after[2])
        lines, found = coming.due_of_builds(session, who, build=build, after=key, limit=limit, library=library, now=now)
        following = next_page(request, response, lines, limit, lambda row: (row["due_rank"], row["due_on"], row["id"]))
        if until is not None:
            found = [(bicycle, coming.by_day(dues, until)) for bicycle, dues in found]
        page = write_due_page(found, following)
        return Response(page, headers=response.headers, media_type="application/json")


@router.put("/parts/{part_id}/tasks/{task}/put-off", summary="Put a part's task off", responses=SUBJECT)
def put_off_part_task(
    part_id: UUID, task: str, sent: PutOffSent, db: Db, who: Who, library: Library, today: Today
) -> PutOffShown:
    """Moves the line, never the state; a safety task needs a reason and at most 30 days."""
    with db.writing() as session:
        subject = Subject(part_id=part_id)
        return show_put_off(rules.put_off(session, who, subject, task, sent, library=library, today=today))


@router.delete(
    "/parts/{part_id}/tasks/{task}/put-off", status_code=204, summary="Take a put-off back", responses=SUBJECT
)
def cancel_part_put_off(part_id: UUID, task: str, db: Db, who: Who, library: Library) -> None:
    """The line is where it was."""
    with db.writing() as session:
        rules.no_put_off(session, who, Subject(part_id=part_id), task, library=library)


@router.put("/builds/{build_id}/tasks/{task}/put-off", summary="Put a bicycle's task off", responses=SUBJECT)
def put_off_build_task(
    build_id: UUID, task: str, sent: PutOffSent, db: Db, who: Who, library: Library, today: Today
) -> PutOffShown:
    """Moves the line, never the state; a safety task needs a reason and at most 30 days."""
    with db.writing() as session:
        subject = Subject(build_id=build_id)
        return show_put_off(rules.put_off(session, who, subject, task, sent, library=library, today=today))


@router.delete(
    "/builds/{build_id}/tasks/{task}/put-off", status_code=204, summary="Take a put-off back", responses=SUBJECT
)
def cancel_build_put_off(build_id: UUID, task: str, db: Db, who: Who, library: Library) -> None:
    """The line is where it was."""
    with db.writing() as session:
        rules.no_put_off(session, who, Subject(build_id=build_id), task, library=library)


@router.put("/parts/{part_id}/tasks/{task}/rule", summary="Set a part's own limit", responses=SUBJECT)
def set_part_rule(part_id: UUID, task: str, sent: RuleSent, db: Db, who: Who, library: Library) -> RuleShown:
    """In place of the library's; or switches the task off with a reason."""
    with db.writing() as session:
        return show_rule(rules.set_rule(session, who, Subject(part_id=part_id), task, sent, library=library))


@router.delete("/parts/{part_id}/tasks/{task}/rule", status_code=204, summary="Drop a part's rule", responses=SUBJECT)
def drop_part_rule(part_id: UUID, task: str, db: Db, who: Who, library: Library) -> None:
    """The library's limit holds again."""
    with db.writing() as session:
        rules.drop_rule(session, who, Subject(part_id=part_id), task, library=library)


@router.put("/builds/{build_id}/tasks/{task}/rule", summary="Set a bicycle's own limit", responses=SUBJECT)
def set_build_rule(build_id: UUID, task: str, sent: RuleSent, db: Db, who: Who, library: Library) -> RuleShown:
    """In place of the library's; or switches the task off with a reason."""
    with db.writing() as session:
        return show_rule(rules.set_rule(session, who, Subject(build_id=build_id), task, sent, library=library))


@router.delete(
    "/builds/{build_id}/tasks/{task}/rule", status_code=204, summary="Drop a bicycle's rule", responses=SUBJECT
)
def drop_build_rule(build_id: UUID, task: str, db: Db, who: Who, library: Library) -> None:
    """The library's limit holds again."""
    with db.writing() as session:
        rules.drop_rule(session, who, Subject(build_id=build_id), task, library=library)
