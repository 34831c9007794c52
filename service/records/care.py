"""Maintenance events and wear measurements: logging, correcting, removing, listing; what is due; rules and put-offs."""

from collections.abc import Iterable, Sequence
from datetime import date, datetime
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from sqlalchemy import Select, and_, or_, select
from sqlmodel import Session, col

from service.domain import bicycle as seen
from service.domain.desk import Desk
from service.domain.due import Due, desk_of, dues_at, offers
from service.domain.procedure import Library, Task
from service.errors import NotFound, Refusal
from service.ids import new_id
from service.records.lock import check_version, take_build, take_part
from service.records.moments import moment
from service.records.once import check_same_details, store_once
from service.records.parts import get_part
from service.records.people import Who
from service.records.reading_checks import check_stored
from service.schemas.care import EventChanged, EventLogged, WearChanged, WearMeasured
from service.tables import Build, EventTask, Fitting, MaintenanceEvent, Part, WearMeasurement

BUILD_EVENTS = ("crashed", "put away", "woken", "travelled")


def due_now(bicycle: seen.Bicycle, library: Library, who: Who, now: datetime) -> tuple[Due, ...]:
    """Everything that is due or will be on a build, most pressing first, counted in the workshop's days."""
    return dues_at(desk_now(bicycle, library, who, now))


def desk_now(bicycle: seen.Bicycle, library: Library, who: Who, now: datetime) -> Desk:
    """What is judged by, on the workshop's day."""
    local = now.astimezone(ZoneInfo(who.time_zone))
    return desk_of(bicycle, library, today=who.today(now), now=local, weekly_metres=who.weekly_metres)


def log_event(
    session: Session, who: Who, sent: EventLogged, *, library: Library, now: datetime
) -> tuple[MaintenanceEvent, bool]:
    """Stores something done or found, with the tasks it completes; answers it and whether it is new.

    Raises Refusal for a kind that only a whole bicycle has, an unknown task, a time ahead of `now`.
    """
    at, day = moment(who, sent.at, sent.day, now)
    category = _take_subject(session, who, sent)
    _check_kind(sent, category)
    tasks = _tasks(library, category, sent)
    event = MaintenanceEvent(
        id=sent.id or new_id(),
        part_id=sent.part,
        build_id=sent.build,
        kind=sent.kind,
        found=sent.found,
        at=at,
        day=day,
        by_id=who.person_id,
        by_shop=sent.by_shop,
        note=sent.note,
    )
    filled_in = {"by_id"} if sent.at or sent.day else {"by_id", "at", "day"}
    stored, new = store_once(session, event, ignore=frozenset(filled_in))
    if new:
        add_tasks(session, stored, tasks)
    elif sent.tasks is not None:
        check_same_details(session, stored, _task_rows(stored, tasks), of="event_id", pointer="/tasks")
    return stored, new


def _take_subject(session: Session, who: Who, sent: EventLogged) -> str:
    if sent.build is not None:
        take_build(session, who, sent.build)
        return "whole-bicycle"
    assert sent.part is not None  # noqa: S101 - the schema has made sure of it
    take_part(session, who, sent.part)
    return get_part(session, who, sent.part).category


def _check_kind(sent: EventLogged, category: str) -> None:
    if sent.kind in BUILD_EVENTS and sent.build is None:
        raise Refusal(
            f"Only a whole bicycle is {sent.kind}; give build instead of part.",
            errors=[("/kind", "needs build"), ("/part", "should be left out")],
        )


def _tasks(library: Library, category: str, sent: EventLogged) -> list[str]:
    """The tasks an event completes: those named; else the only one of its kind, never one of several."""
    if sent.tasks is None:
        offered = offers(library, category, sent.kind)
        return [offered[0]] if len(offered) == 1 else []
    return _check_tasks(library, category, sent.tasks)


def _check_tasks(library: Library, category: str, tasks: Iterable[str]) -> list[str]:
    known = {f"{category}.{task.key}" for task in tasks_of(library, category)}
    for task in tasks:
        if task not in known:
            wanted = ", ".join(sorted(known)) or "none"
            raise Refusal(
                f"A {category} has no task {task}; it has {wanted}.", errors=[("/tasks", f"should be of {wanted}")]
            )
    return list(dict.fromkeys(tasks))


def tasks_of(library: Library, category: str) -> Sequence[Task]:
    """The tasks of a category; none for one that is not known."""
    found = library.categories.get(category)
    return found.tasks if found is not None else ()


def add_tasks(session: Session, event: MaintenanceEvent, tasks: Iterable[str]) -> None:
    """Notes which tasks an event completes, on its own subject."""
    session.add_all(_task_rows(event, tasks))
    session.flush()


def _task_rows(event: MaintenanceEvent, tasks: Iterable[str]) -> list[EventTask]:
    build_id, part_id = event.build_id, event.part_id
    return [EventTask(id=new_id(), event_id=event.id, build_id=build_id, part_id=part_id, task=task) for task in tasks]


def get_event(session: Session, who: Who, event_id: UUID) -> MaintenanceEvent:
    """An event of this workshop. Raises NotFound for any other."""
    row = session.execute(
        _events_of(who).where(col(MaintenanceEvent.id) == event_id).execution_options(populate_existing=True)
    ).scalar_one_or_none()
    if row is None:
        raise NotFound("maintenance event", event_id)
    found: MaintenanceEvent = row
    return found


def _events_of(who: Who) -> Select[Any]:
    return (
        select(MaintenanceEvent)
        .outerjoin(Build, col(MaintenanceEvent.build_id) == col(Build.id))
        .outerjoin(Part, col(MaintenanceEvent.part_id) == col(Part.id))
        .where(or_(col(Build.workshop_id) == who.workshop_id, col(Part.workshop_id) == who.workshop_id))
    )


def tasks_completed(session: Session, event_ids: Iterable[UUID]) -> dict[UUID, list[str]]:
    """The tasks each of these events completes."""
    found: dict[UUID, list[str]] = {}
    rows = session.execute(
        select(col(EventTask.event_id), col(EventTask.task))
        .where(col(EventTask.event_id).in_(list(event_ids)))
        .order_by(col(EventTask.task))
    )
    for event_id, task in rows:
        found.setdefault(event_id, []).append(task)
    return found


def with_tasks(
    session: Session, who: Who, event: MaintenanceEvent, library: Library
) -> tuple[MaintenanceEvent, list[str], list[str]]:
    """An event, the tasks it completes, and those of its kind that it could."""
    category = "whole-bicycle" if event.part_id is None else get_part(session, who, event.part_id).category
    done = tasks_completed(session, [event.id]).get(event.id, [])
    return event, done, list(offers(library, category, event.kind))


def _take_event(session: Session, who: Who, event: MaintenanceEvent) -> None:
    if event.build_id is not None:
        take_build(session, who, event.build_id)
    elif event.part_id is not None:
        take_part(session, who, event.part_id)


def change_event(
    session: Session,
    who: Who,
    event_id: UUID,
    sent: EventChanged,
    *,
    version: int | None,
    library: Library,
    now: datetime,
) -> MaintenanceEvent:
    """Applies a merge patch to an event. Raises as `log_event`, and Stale."""
    _take_event(session, who, get_event(session, who, event_id))
    event = get_event(session, who, event_id)
    check_version(event, version)
    for name in ("found", "by_shop", "note"):
        if name in sent.model_fields_set:
            setattr(event, name, getattr(sent, name))
    if sent.at is not None or sent.day is not None:
        event.at, event.day = moment(who, sent.at, sent.day, now)
    if sent.tasks is not None:
        category = "whole-bicycle" if event.part_id is None else get_part(session, who, event.part_id).category
        wanted = _check_tasks(library, category, sent.tasks)
        for row in session.execute(select(EventTask).where(col(EventTask.event_id) == event_id)).scalars():
            session.delete(row)
        session.flush()
        add_tasks(session, event, wanted)
    session.flush()
    return event


def remove_event(session: Session, who: Who, event_id: UUID, version: int | None) -> None:
    """Removes an event and what it completed; what it reset stands as before. Raises NotFound, Stale."""
    _take_event(session, who, get_event(session, who, event_id))
    event = get_event(session, who, event_id)
    check_version(event, version)
    for table in (EventTask, WearMeasurement):
        for row in session.execute(select(table).where(col(table.event_id) == event_id)).scalars():
            session.delete(row)
    session.flush()
    session.delete(event)
    session.flush()


def list_events(
    session: Session,
    who: Who,
    *,
    build: UUID | None = None,
    part: UUID | None = None,
    since: date | None = None,
    until: date | None = None,
    after: tuple[datetime, UUID] | None = None,
    limit: int = 50,
) -> list[MaintenanceEvent]:
    """A page of events, newest first; those of a build are its own and those of the parts that are on it now."""
    of = MaintenanceEvent
    query = _events_of(who)
    if part is not None:
        query = query.where(col(of.part_id) == part)
    if build is not None:
        query = query.where(or_(col(of.build_id) == build, col(of.part_id).in_(parts_on(session, build))))
    return _page(session, query, of, since=since, until=until, after=after, limit=limit)


def parts_on(session: Session, build_id: UUID) -> set[UUID]:
    """The parts that are on a build now, at any depth."""
    found: set[UUID] = set()
    where = col(Fitting.build_id) == build_id
    for _ in range(4):
        level = set(session.execute(select(col(Fitting.part_id)).where(where, col(Fitting.to_at).is_(None))).scalars())
        if not level - found:
            break
        found |= level
        where = col(Fitting.into_part_id).in_(level)
    return found


def _page(
    session: Session,
    query: Select[Any],
    table: Any,
    *,
    since: date | None,
    until: date | None,
    after: tuple[datetime, UUID] | None,
    limit: int,
) -> list[Any]:
    at, row_id = col(table.at), col(table.id)
    if since is not None:
        query = query.where(col(table.day) >= since)
    if until is not None:
        query = query.where(col(table.day) <= until)
    if after is not None:
        query = query.where(or_(at < after[0], and_(at == after[0], row_id < after[1])))
    return list(session.execute(query.order_by(at.desc(), row_id.desc()).limit(limit)).scalars())


def measure_wear(
    session: Session, who: Who, sent: WearMeasured, *, library: Library, now: datetime
) -> tuple[WearMeasurement, bool]:
    """Stores a reading; answers it and whether it is new.

    Raises Refusal for a dimension or place the category does not have, what its scale does not have, or a time ahead
    of `now`; Asks where it is unlikely.
    """
    at, day = moment(who, sent.at, sent.day, now)
    take_part(session, who, sent.part)
    check_dimension(library, get_part(session, who, sent.part).category, sent.dimension, sent.place)
    low, high = (sent.low, sent.high) if sent.reading is None else (sent.reading, sent.reading)
    assert low is not None  # noqa: S101 - the schema has made sure of it
    row = WearMeasurement(
        id=sent.id or new_id(),
        part_id=sent.part,
        dimension=sent.dimension,
        place=sent.place,
        low=low,
        high=high,
        tool=sent.tool,
        at=at,
        day=day,
        note=sent.note,
    )
    given = sent.at is not None or sent.day is not None
    stored, new = store_once(session, row, ignore=frozenset() if given else frozenset({"at", "day"}))
    if new:
        check_stored(session, who, stored, library, sure=sent.sure)
    return stored, new


def check_dimension(library: Library, category: str, dimension: str, place: str) -> None:
    """Raises Refusal for a wearing dimension or a place on the part that its category does not have."""
    found = library.categories.get(category)
    known = {wear.key: wear for wear in found.wear} if found is not None else {}
    if dimension not in known:
        wanted = ", ".join(sorted(known)) or "none"
        raise Refusal(
            f"A {category} has no wearing dimension {dimension}; it has {wanted}.",
            errors=[("/dimension", f"should be one of {wanted}")],
        )
    places = known[dimension].places
    if (places and place not in places) or (place and not places):
        wanted = ", ".join(places) or "empty"
        raise Refusal(f"{known[dimension].title} is read at: {wanted}.", errors=[("/place", f"should be {wanted}")])


def get_measurement(session: Session, who: Who, measurement_id: UUID) -> WearMeasurement:
    """A measurement of this workshop. Raises NotFound for any other."""
    row = session.execute(
        _measurements_of(who).where(col(WearMeasurement.id) == measurement_id).execution_options(populate_existing=True)
    ).scalar_one_or_none()
    if row is None:
        raise NotFound("wear measurement", measurement_id)
    found: WearMeasurement = row
    return found


def _measurements_of(who: Who) -> Select[Any]:
    return (
        select(WearMeasurement)
        .join(Part, col(WearMeasurement.part_id) == col(Part.id))
        .where(col(Part.workshop_id) == who.workshop_id)
    )


def change_measurement(
    session: Session,
    who: Who,
    measurement_id: UUID,
    sent: WearChanged,
    *,
    version: int | None,
    library: Library,
    now: datetime,
) -> WearMeasurement:
    """Applies a merge patch to a measurement. Raises as `measure_wear`, and Stale; Refusal for low above high."""
    take_part(session, who, get_measurement(session, who, measurement_id).part_id)
    row = get_measurement(session, who, measurement_id)
    check_version(row, version)
    exact = row.low == row.high
    for name, worth in sent.model_dump(exclude_unset=True, exclude={"at", "day", "sure"}).items():
        setattr(row, name, worth)
    if exact and "high" not in sent.model_fields_set:
        row.high = row.low
    if row.high is not None and row.low > row.high:
        raise Refusal(
            "low is above high; the mark that goes in comes first.",
            errors=[("/low", f"should be at most {row.high:g}")],
        )
    if sent.at is not None or sent.day is not None:
        row.at, row.day = moment(who, sent.at, sent.day, now)
    session.flush()
    if sent.model_fields_set - {"note", "sure"}:
        check_stored(session, who, row, library, sure=sent.sure, exact_at="/low")
    return row


def remove_measurement(session: Session, who: Who, measurement_id: UUID, version: int | None) -> None:
    """Removes a measurement. Raises NotFound, Stale."""
    take_part(session, who, get_measurement(session, who, measurement_id).part_id)
    row = get_measurement(session, who, measurement_id)
    check_version(row, version)
    session.delete(row)
    session.flush()


def list_measurements(
    session: Session,
    who: Who,
    *,
    build: UUID | None = None,
    part: UUID | None = None,
    since: date | None = None,
    until: date | None = None,
    after: tuple[datetime, UUID] | None = None,
    limit: int = 50,
) -> list[WearMeasurement]:
    """A page of measurements, newest first; those of a build are of the parts that are on it now."""
    query = _measurements_of(who)
    if part is not None:
        query = query.where(col(WearMeasurement.part_id) == part)
    if build is not None:
        query = query.where(col(WearMeasurement.part_id).in_(parts_on(session, build)))
    return _page(session, query, WearMeasurement, since=since, until=until, after=after, limit=limit)
