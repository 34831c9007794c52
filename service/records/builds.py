"""Builds: adding, changing, removing, listing; what is planned on them; the rider's position."""

from collections.abc import Sequence
from datetime import UTC, date, datetime
from typing import Any
from uuid import UUID

from sqlalchemy import exists, or_, select
from sqlmodel import Session, col

from service.domain.procedure import Library
from service.errors import Conflict, NotFound
from service.ids import new_id
from service.records.hosts import Host, host_for
from service.records.journal import check_not_removed
from service.records.lock import take_build, take_builds_of, take_parts
from service.records.occupied import check_not_chosen
from service.records.once import store_once
from service.records.parts import get_part, minor_of
from service.records.people import Who
from service.schemas.builds import BuildChanged, BuildSent, PlanSent, SetUpSent
from service.tables import Build, Checklist, Fitting, MaintenanceEvent, OdometerReading, Part, Plan, Ride, SetUp

METRES = 1000


def add_build(session: Session, who: Who, sent: BuildSent) -> tuple[Build, bool]:
    """Stores a build; answers it and whether it is new."""
    who.check_may("work")
    row = Build(
        **sent.model_dump(exclude={"id", "km_before", "compare_price"}),
        id=sent.id or new_id(),
        workshop_id=who.workshop_id,
        metres_before=round(sent.km_before * METRES),
        compare_price_minor=minor_of(who, sent.compare_price, "/compare_price"),
        changed_at=datetime.now(UTC),
    )
    return store_once(session, row)


def get_build(session: Session, who: Who, build_id: UUID) -> Build:
    """A build of this workshop. Raises NotFound for any other."""
    build: Build | None = session.execute(
        select(Build)
        .where(col(Build.id) == build_id, col(Build.workshop_id) == who.workshop_id)
        .execution_options(populate_existing=True)
    ).scalar_one_or_none()
    if build is None:
        raise NotFound("build", build_id)
    return build


def change_build(session: Session, who: Who, build_id: UUID, sent: BuildChanged, version: int | None) -> Build:
    """Applies a merge patch. Raises NotFound, Stale."""
    take_build(session, who, build_id, version)
    build = get_build(session, who, build_id)
    changes = sent.model_dump(exclude_unset=True, exclude={"km_before", "compare_price"})
    if sent.km_before is not None:
        changes["metres_before"] = round(sent.km_before * METRES)
    if "compare_price" in sent.model_fields_set:
        changes["compare_price_minor"] = minor_of(who, sent.compare_price, "/compare_price")
    for name, worth in changes.items():
        setattr(build, name, worth)
    session.flush()
    return build


def remove_build(session: Session, who: Who, build_id: UUID, version: int | None) -> None:
    """Removes a build on which nothing ever happened. Raises Conflict for one with a history."""
    take_build(session, who, build_id, version)
    build = get_build(session, who, build_id)
    for table in (Fitting, Ride, OdometerReading, MaintenanceEvent, Checklist):
        if session.execute(select(exists().where(table.build_id == build_id))).scalar():  # type: ignore[arg-type]
            raise Conflict(
                f"{build.name} has a history ({table.__name__}); set its state to retired, and its history stays."
            )
    for held in (Plan, SetUp):
        for row in session.execute(select(held).where(held.build_id == build_id)).scalars():  # type: ignore[arg-type]
            session.delete(row)
    session.flush()
    session.delete(build)
    session.flush()


def list_builds(
    session: Session,
    who: Who,
    *,
    state: str | None = None,
    after: tuple[int, date | None, UUID] | None = None,
    limit: int = 50,
) -> list[Any]:
    """A page of builds, the most pressing first: by rank of what is due, its day, id."""
    key = (col(Build.due_rank), col(Build.due_on), col(Build.id))
    query = select(
        *(col(Build.id), col(Build.name), col(Build.state), col(Build.use), col(Build.due_rank), col(Build.due_on)),
        *(col(Build.due_what), col(Build.version), col(Build.changed_at)),
    ).where(col(Build.workshop_id) == who.workshop_id)
    if state is not None:
        query = query.where(col(Build.state) == state)
    if after is not None:
        rank, on, build_id = after
        later_day = (
            col(Build.due_on).is_(None) & (col(Build.id) > build_id)
            if on is None
            else or_(
                col(Build.due_on) > on,
                col(Build.due_on).is_(None),
                (col(Build.due_on) == on) & (col(Build.id) > build_id),
            )
        )
        query = query.where(or_(key[0] < rank, (key[0] == rank) & later_day))
    query = query.order_by(key[0].desc(), key[1].asc().nulls_last(), key[2]).limit(limit)
    return list(session.execute(query).mappings())


def plan_part(session: Session, who: Who, build_id: UUID, part_id: UUID, sent: PlanSent, *, library: Library) -> Plan:
    """Makes a part a candidate for a place, or changes the row it has; choosing it lets go of the one chosen before.

    Raises Conflict for a part that is fitted, and where one of another kind is chosen there for the same work; Refusal
    for a place its category does not have.
    """
    take_builds_of(session, who, [part_id, *([sent.into_part] if sent.into_part is not None else [])], build_id)
    take_parts(session, who, [part_id])  # else it could be fitted elsewhere between the look and the row
    part = get_part(session, who, part_id)
    fitted = (col(Fitting.part_id) == part_id) & col(Fitting.to_at).is_(None)
    if session.execute(select(exists().where(fitted))).scalar():
        raise Conflict(
            f"{part.name} is fitted; take it off before you plan it elsewhere.", errors=[("/part", "is fitted")]
        )
    if part.state == "gone":
        raise Conflict(f"{part.name} is gone; plan another part.", errors=[("/part", "is gone")])
    host = host_for(session, who, build_id, part, into_part=sent.into_part, place=sent.place, at=None, library=library)
    row = session.execute(
        select(Plan).where(col(Plan.build_id) == build_id, col(Plan.part_id) == part_id)
    ).scalar_one_or_none()
    if sent.chosen:
        check_not_chosen(session, build_id, part, into=host.into_part_id, place=host.place, library=library)
        _let_go(session, build_id, part, host)
    if row is None:
        row = Plan(id=_free_id(session, sent.id), build_id=build_id, part_id=part_id, slot=part.category)
        session.add(row)
    row.into_part_id, row.place, row.chosen, row.note = host.into_part_id, host.place, sent.chosen, sent.note
    session.flush()
    return row


def _free_id(session: Session, sent: UUID | None) -> UUID:
    """The id that the fitting made from this row will take: none that a fitting has or had."""
    if sent is None:
        return new_id()
    check_not_removed(session, "fitting", sent)
    if session.get(Fitting, sent) is not None or session.get(Plan, sent) is not None:
        raise Conflict("This id is taken already; choose a new one.", errors=[("/id", "is taken")])
    return sent


def _let_go(session: Session, build_id: UUID, part: Part, host: Host) -> None:
    into = col(Plan.into_part_id)
    same_host = into.is_(None) if host.into_part_id is None else into == host.into_part_id
    for other in session.execute(
        select(Plan).where(
            col(Plan.build_id) == build_id,
            same_host,
            col(Plan.slot) == part.category,
            col(Plan.place) == host.place,
            col(Plan.chosen),
            col(Plan.part_id) != part.id,
        )
    ).scalars():
        other.chosen = False
    session.flush()


def unplan_part(session: Session, who: Who, build_id: UUID, part_id: UUID) -> None:
    """Takes a candidate off the plan. Raises NotFound where it is not on it."""
    take_build(session, who, build_id)
    row = session.execute(
        select(Plan).where(col(Plan.build_id) == build_id, col(Plan.part_id) == part_id)
    ).scalar_one_or_none()
    if row is None:
        raise NotFound("plan row for part", part_id)
    session.delete(row)
    session.flush()


def list_plan(session: Session, who: Who, build_id: UUID) -> Sequence[Plan]:
    """The plan of a build. Raises NotFound for another workshop's."""
    get_build(session, who, build_id)
    return session.execute(select(Plan).where(col(Plan.build_id) == build_id).order_by(col(Plan.id))).scalars().all()


def add_set_up(session: Session, who: Who, build_id: UUID, sent: SetUpSent, *, now: datetime) -> tuple[SetUp, bool]:
    """Stores the rider's position and pressures, mm and kPa; answers it and whether it is new."""
    take_build(session, who, build_id)
    row = SetUp(**sent.model_dump(exclude={"id", "at"}), id=sent.id or new_id(), build_id=build_id, at=sent.at or now)
    return store_once(session, row, ignore=frozenset() if sent.at else frozenset({"at"}))


def list_set_ups(session: Session, who: Who, build_id: UUID) -> Sequence[SetUp]:
    """The set-ups of a build, newest first. Raises NotFound for another workshop's."""
    get_build(session, who, build_id)
    newest = select(SetUp).where(col(SetUp.build_id) == build_id).order_by(col(SetUp.at).desc(), col(SetUp.id).desc())
    return session.execute(newest).scalars().all()
