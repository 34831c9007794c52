"""Parts on builds and in other parts: fitting, taking off, correcting; no part is in two places."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from typing import Literal
from uuid import UUID
from zoneinfo import ZoneInfo

from sqlalchemy import exists, select
from sqlmodel import Session, col

from service.domain.facts import category_of
from service.domain.instants import fitting_instant, usual_side
from service.domain.procedure import Library
from service.errors import Conflict, NotFound, Refusal
from service.ids import new_id
from service.records.hosts import Host, host_for
from service.records.lock import builds_of, take_builds_of, take_part, take_parts
from service.records.occupied import check_free
from service.records.once import is_sent_again, store_once
from service.records.parts import get_part
from service.records.people import Who
from service.schemas.builds import FittingChanged, FittingSent
from service.tables import Build, Fitting, Part, Plan, Ride

DEEPEST = 4


@dataclass(frozen=True, slots=True)
class Fitted:
    """A fitting as stored, whether it is new, and what else was changed with it, in words."""

    fitting: Fitting
    new: bool
    also: list[str] = field(default_factory=list)


def fit_part(
    session: Session, who: Who, build_id: UUID, sent: FittingSent, *, library: Library, now: datetime
) -> Fitted:
    """Fits a part on a build, or into a part that is on it.

    Raises NotFound for a part of another workshop; Refusal for a place the category does not have; Conflict where the
    part is fitted already, the place is taken, or the time overlaps another fitting of the same part.
    """
    named = [sent.part, *([sent.into_part] if sent.into_part is not None else [])]
    take_builds_of(session, who, named, build_id)
    take_parts(session, who, named)
    part = get_part(session, who, sent.part)
    category_of(library, part.category)
    at = instant_of(session, who, build_id, at=sent.at, day=sent.day, rides=sent.rides, now=now)
    host = host_for(session, who, build_id, part, into_part=sent.into_part, place=sent.place, at=at, library=library)
    plan = plan_row(session, build_id, part, host)
    if plan is not None and sent.id not in (None, plan.id):
        raise Conflict(
            f"{part.name} is planned there already, and ticks hang on the id of that row: send {plan.id}, or no id.",
            errors=[("/id", f"should be {plan.id}, or left out")],
        )
    row = Fitting(
        id=sent.id or (plan.id if plan is not None else new_id()),
        part_id=part.id,
        build_id=build_id if host.into_part_id is None else None,
        into_part_id=host.into_part_id,
        slot=part.category,
        place=host.place,
        from_at=at,
    )
    given_at = sent.at is not None or sent.day is not None
    return store_fitting(session, part, row, library, also=list(host.also), given_at=given_at)


def store_fitting(
    session: Session, part: Part, row: Fitting, library: Library, *, also: list[str], given_at: bool
) -> Fitted:
    """Stores a new fitting where nothing stands against it; a part that is fitted is planned nowhere any more."""
    if not is_sent_again(session, row):
        if part.state == "gone":
            raise Conflict(f"{part.name} is gone; a part that is gone cannot be fitted.", errors=[("/part", "is gone")])
        check_free(session, part, row, library)
    stored, new = store_once(session, row, ignore=frozenset() if given_at else frozenset({"from_at"}))
    if new:
        also = also + leave_plans(session, part.id)
        _now_in_hand(part, also)
    session.flush()
    return Fitted(stored, new, also)


def _now_in_hand(part: Part, also: list[str]) -> None:
    if part.state in ("planned", "ordered"):
        part.state = "in hand"
        also.append(f"{part.name} is in hand now.")


def instant_of(
    session: Session,
    who: Who,
    build_id: UUID,
    *,
    at: datetime | None,
    day: date | None,
    rides: Literal["before", "after"] | None,
    now: datetime,
    pointer: str = "",
) -> datetime:
    """The instant given, or what a day and before or after its rides stand for; else now. Raises Refusal if ahead."""
    if at is None and day is not None:
        zone = ZoneInfo(who.time_zone)
        ridden = select(col(Ride.day)).where(col(Ride.build_id) == build_id, col(Ride.day) == day).limit(1)
        side = rides or usual_side(day, session.execute(ridden).scalars().all())
        at = fitting_instant(day, side, zone).astimezone(UTC)
    at = at or now
    if at > now + timedelta(days=1):
        raise Refusal(
            f"{at:%Y-%m-%d} has not come yet; what is only planned goes into the plan.",
            errors=[(f"/{pointer}day" if day else f"/{pointer}at", "should not be ahead of today")],
        )
    return at


def plan_row(session: Session, build_id: UUID, part: Part, host: Host) -> Plan | None:
    """The row by which a part is planned for this host and place on a build."""
    into = col(Plan.into_part_id)
    same_host = into.is_(None) if host.into_part_id is None else into == host.into_part_id
    mine = (col(Plan.build_id) == build_id) & (col(Plan.part_id) == part.id) & (col(Plan.place) == host.place)
    return session.execute(select(Plan).where(mine, same_host)).scalar_one_or_none()


def leave_plans(session: Session, part_id: UUID) -> list[str]:
    """A part that is fitted is planned nowhere any more: its plan rows go; says which builds lost one."""
    rows = session.execute(
        select(Plan, col(Build.name))
        .join(Build, col(Plan.build_id) == col(Build.id))
        .where(col(Plan.part_id) == part_id)
    ).all()
    for row, _ in rows:
        session.delete(row)
    session.flush()
    return [f"It was planned on {name}; that row of the plan is gone." for _, name in rows]


def get_fitting(session: Session, who: Who, fitting_id: UUID) -> Fitting:
    """A fitting of a part of this workshop. Raises NotFound for any other."""
    row: Fitting | None = session.execute(
        select(Fitting)
        .join(Part, col(Fitting.part_id) == col(Part.id))
        .where(col(Fitting.id) == fitting_id, col(Part.workshop_id) == who.workshop_id)
        .execution_options(populate_existing=True)
    ).scalar_one_or_none()
    if row is None:
        raise NotFound("fitting", fitting_id)
    return row


def change_fitting(
    session: Session, who: Who, fitting_id: UUID, sent: FittingChanged, *, library: Library, now: datetime
) -> Fitting:
    """Corrects when a fitting began or ended, or takes the part off; the fitting keeps its id, so ticks stay.

    Raises Refusal for an end before the beginning, Conflict where it would overlap another.
    """
    row = get_fitting(session, who, fitting_id)
    named = [row.build_id] if row.build_id is not None else []
    take_builds_of(session, who, [row.part_id], *named)
    take_part(session, who, row.part_id)
    row = get_fitting(session, who, fitting_id)
    build_id = row.build_id or next(iter(_builds(session, row)), None) or row.part_id
    if sent.at is not None or sent.day is not None:
        row.from_at = instant_of(session, who, build_id, at=sent.at, day=sent.day, rides=sent.rides, now=now)
    if {"end_at", "end_day"} & sent.model_fields_set:
        _set_end(session, who, row, sent, build_id=build_id, now=now)
    if "why_removed" in sent.model_fields_set:
        row.why_removed = sent.why_removed
    if row.to_at is not None and row.to_at <= row.from_at:
        raise Refusal(
            f"The removal on {row.to_at:%Y-%m-%d %H:%M} is not after the fitting "
            f"on {row.from_at:%Y-%m-%d %H:%M} (UTC).",
            errors=[("/end_at", f"should be after {row.from_at.isoformat()}")],
        )
    with session.no_autoflush:
        check_free(session, get_part(session, who, row.part_id), row, library)
    session.flush()
    return row


def _set_end(session: Session, who: Who, row: Fitting, sent: FittingChanged, *, build_id: UUID, now: datetime) -> None:
    if sent.end_at is None and sent.end_day is None:
        row.to_at, row.why_removed = None, None
        return
    row.to_at = instant_of(
        session, who, build_id, at=sent.end_at, day=sent.end_day, rides=sent.end_rides, now=now, pointer="end_"
    )


def _builds(session: Session, row: Fitting) -> Sequence[UUID]:
    return sorted(builds_of(session, [row.part_id]))


def remove_fitting(session: Session, who: Who, fitting_id: UUID) -> None:
    """Removes a fitting that was entered by mistake, as if it had never been."""
    row = get_fitting(session, who, fitting_id)
    named = [row.build_id] if row.build_id is not None else []
    take_builds_of(session, who, [row.part_id], *named)
    take_part(session, who, row.part_id)
    session.delete(get_fitting(session, who, fitting_id))
    session.flush()


def list_fittings(session: Session, who: Who, build_id: UUID) -> Sequence[Fitting]:
    """The fittings on a build and in what it carried, newest first. Raises NotFound for another workshop's build."""
    owned = (col(Build.id) == build_id) & (col(Build.workshop_id) == who.workshop_id)
    if not session.execute(select(exists().where(owned))).scalar():
        raise NotFound("build", build_id)
    found = list(session.execute(select(Fitting).where(col(Fitting.build_id) == build_id)).scalars())
    level = {row.part_id for row in found}
    for _ in range(DEEPEST - 1):
        rows = session.execute(select(Fitting).where(col(Fitting.into_part_id).in_(level))).scalars().all()
        found += rows
        level = {row.part_id for row in rows}
        if not level:
            break
    return sorted({row.id: row for row in found}.values(), key=lambda row: (row.from_at, row.id), reverse=True)
