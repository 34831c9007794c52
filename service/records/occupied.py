"""Whether a place is free: the places a category has, and who is there already."""

from typing import Any
from uuid import UUID

from sqlalchemy import or_, select
from sqlmodel import Session, col

from service.domain.ends import roles_of
from service.domain.procedure import Category, Library
from service.domain.seats import check_place
from service.errors import Conflict
from service.records.bicycle import read_parts
from service.tables import Build, Fitting, Part, Plan

WHEELS = ("wheel", "factory-wheel")


def raise_if_no_place(category: Category, place: str) -> None:
    """Raises Refusal where a part in a wheel is given a place of its own that its category does not have."""
    for host in WHEELS:
        if host in category.into:
            check_place(category, host, place)
            return


def check_free(session: Session, part: Part, row: Fitting, library: Library) -> None:
    """Raises Conflict where the part is elsewhere, or its place or a role of it is taken, during this fitting."""
    overlapping = col(Fitting.id) != row.id
    if row.to_at is not None:
        overlapping &= col(Fitting.from_at) < row.to_at
    overlapping &= or_(col(Fitting.to_at).is_(None), col(Fitting.to_at) > row.from_at)
    elsewhere = session.execute(
        select(Fitting, col(Build.name))
        .outerjoin(Build, col(Fitting.build_id) == col(Build.id))
        .where(overlapping, col(Fitting.part_id) == part.id)
        .limit(1)
    ).first()
    if elsewhere is not None:
        other, name = elsewhere
        where = f"on {name}" if name else "in another part"
        raise Conflict(
            f"{part.name} is fitted already: {where}, {_days(other)}. Take it off there first, or correct the days.",
            errors=[("/part", f"is fitted {where} {_days(other)}")],
        )
    _check_place_free(session, part, row, library, overlapping=overlapping)


def _check_place_free(session: Session, part: Part, row: Fitting, library: Library, *, overlapping: Any) -> None:
    same_host = (
        col(Fitting.build_id) == row.build_id
        if row.into_part_id is None
        else col(Fitting.into_part_id) == row.into_part_id
    )
    there = session.execute(
        select(Fitting, Part)
        .join(Part, col(Fitting.part_id) == col(Part.id))
        .where(overlapping, same_host, col(Fitting.place) == row.place)
    ).all()
    if not there:
        return
    facts = read_parts(session, [part.id, *(other.id for _, other in there)])
    roles = set(roles_of(facts[part.id], row.slot, library))
    for fitting, other in there:
        shared = roles & set(roles_of(facts[other.id], fitting.slot, library))
        if shared:
            at = f"{row.slot} {row.place}".strip()
            raise Conflict(
                f"The place {at} is taken by {other.name} ({min(shared)}), {_days(fitting)}. "
                "Swap them, or take that one off first.",
                errors=[("/place", f"is taken by {other.name}")],
            )


def check_not_chosen(
    session: Session, build_id: UUID, part: Part, *, into: UUID | None, place: str, library: Library
) -> None:
    """Raises Conflict where a part of another kind is chosen for this place of a build and does the same work there."""
    same_host = col(Plan.into_part_id).is_(None) if into is None else col(Plan.into_part_id) == into
    there = session.execute(
        select(Plan, Part)
        .join(Part, col(Plan.part_id) == col(Part.id))
        .where(col(Plan.build_id) == build_id, col(Plan.chosen), same_host, col(Plan.place) == place)
        .where(col(Plan.slot) != part.category)
    ).all()
    if not there:
        return
    facts = read_parts(session, [part.id, *(other.id for _, other in there)])
    roles = set(roles_of(facts[part.id], part.category, library))
    for row, other in there:
        shared = roles & set(roles_of(facts[other.id], row.slot, library))
        if shared:
            raise Conflict(
                f"Two parts would be chosen for one place: {other.name} is chosen there as {min(shared)}. Make it a "
                "candidate first (chosen: false), or take it off the plan.",
                errors=[("/chosen", f"{other.name} is chosen for this place")],
            )


def _days(fitting: Fitting) -> str:
    until = f" to {fitting.to_at:%Y-%m-%d}" if fitting.to_at else ""
    return f"from {fitting.from_at:%Y-%m-%d}{until or ' on'}"
