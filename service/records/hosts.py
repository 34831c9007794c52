"""What a part goes into: the build itself, a part that is on it, or the wheel that it needs."""

from dataclasses import dataclass
from datetime import UTC, datetime
from uuid import UUID

from sqlalchemy import select
from sqlmodel import Session, col

from service.domain.facts import category_of
from service.domain.procedure import Category, Library
from service.domain.seats import check_place
from service.errors import Conflict, Refusal
from service.ids import new_id
from service.records.lock import builds_of
from service.records.occupied import WHEELS, raise_if_no_place
from service.records.parts import get_part
from service.records.people import Who
from service.tables import Fitting, Part, Plan

DEEPEST = 4


@dataclass(frozen=True, slots=True)
class Host:
    """Into which part (None: on the build), at which place of its own there, and what was made for it, in words."""

    into_part_id: UUID | None
    place: str
    also: tuple[str, ...] = ()


def host_for(
    session: Session,
    who: Who,
    build_id: UUID,
    part: Part,
    *,
    into_part: UUID | None,
    place: str,
    at: datetime | None,
    library: Library,
) -> Host:
    """Where a part goes on a build; a tyre brings the wheel it needs, fitted at `at`, or planned where that is None.

    Raises Refusal for a host or a place that its category does not have, Conflict for itself, for what it carries,
    and for a host that is on another build.
    """
    category = category_of(library, part.category)
    if into_part is not None:
        into = get_part(session, who, into_part)
        _check_host(session, build_id, part, into, category)
        check_place(category, into.category, place)
        return Host(into.id, place)
    if "build" in category.into:
        check_place(category, "build", place)
        return Host(None, place)
    if not set(WHEELS) & set(category.into):
        raise Refusal(
            f"A {category.title.lower()} goes into {', '.join(category.into)}; name that part in into_part.",
            errors=[("/into_part", f"should be the id of a {' or '.join(category.into)}")],
        )
    return _wheel_at(session, who, build_id, place, category=category, at=at)


def _check_host(session: Session, build_id: UUID, part: Part, into: Part, category: Category) -> None:
    if into.id == part.id or into.id in hosted_by(session, part.id):
        raise Conflict(
            "A part cannot be fitted into itself, nor into what it carries.",
            errors=[("/into_part", f"is {'the part itself' if into.id == part.id else 'in the part already'}")],
        )
    if into.category not in category.into:
        raise Refusal(
            f"A {category.title.lower()} does not go into a {into.category}; it goes into {', '.join(category.into)}.",
            errors=[("/into_part", f"should be one of {', '.join(category.into)}")],
        )
    if into.state == "gone":
        raise Conflict(f"{into.name} is gone; nothing goes into it.", errors=[("/into_part", "is gone")])
    on = builds_of(session, [into.id])
    if on and build_id not in on:
        raise Conflict(
            f"{into.name} is on another build; fit it there, or take that part off first.",
            errors=[("/into_part", "is on another build")],
        )


def hosted_by(session: Session, part_id: UUID) -> set[UUID]:
    """All parts that sit in a part now, at any depth."""
    found: set[UUID] = set()
    level = {part_id}
    for _ in range(DEEPEST):
        rows = session.execute(
            select(col(Fitting.part_id)).where(col(Fitting.into_part_id).in_(level), col(Fitting.to_at).is_(None))
        ).scalars()
        level = set(rows) - found
        found |= level
        if not level:
            break
    return found


def _wheel_at(
    session: Session, who: Who, build_id: UUID, place: str, *, category: Category, at: datetime | None
) -> Host:
    end, _, own = place.partition(".")
    if end not in ("front", "rear"):
        raise Refusal(
            f"A {category.title.lower()} goes into a wheel: give place front or rear, or the wheel in into_part.",
            errors=[("/place", "should be front or rear")],
        )
    raise_if_no_place(category, own)
    wheel = _fitted_wheel(session, build_id, end) or _planned_wheel(session, build_id, end)
    if wheel is not None:
        return Host(wheel, own)
    made = _make_wheel(session, who, end)
    if at is None:
        session.add(Plan(id=new_id(), build_id=build_id, part_id=made.id, slot="wheel", place=end))
    else:
        session.add(Fitting(id=new_id(), part_id=made.id, build_id=build_id, slot="wheel", place=end, from_at=at))
    session.flush()
    return Host(made.id, own, (f"There was no {end} wheel: one was made and {'planned' if at is None else 'fitted'}.",))


def _fitted_wheel(session: Session, build_id: UUID, end: str) -> UUID | None:
    there = (col(Fitting.build_id) == build_id) & (col(Fitting.place) == end) & col(Fitting.to_at).is_(None)
    found: UUID | None = session.execute(
        select(col(Fitting.part_id)).where(there, col(Fitting.slot).in_(WHEELS))
    ).scalar_one_or_none()
    return found


def _planned_wheel(session: Session, build_id: UUID, end: str) -> UUID | None:
    there = (col(Plan.build_id) == build_id) & (col(Plan.place) == end) & col(Plan.chosen)
    found: UUID | None = session.execute(
        select(col(Plan.part_id)).where(there, col(Plan.slot).in_(WHEELS)).order_by(col(Plan.id)).limit(1)
    ).scalar_one_or_none()
    return found


def _make_wheel(session: Session, who: Who, end: str) -> Part:
    wheel = Part(
        id=new_id(),
        workshop_id=who.workshop_id,
        category="wheel",
        name=f"{end.capitalize()} wheel",
        origin="new",
        state="in hand",
        metres_before=0,
        changed_at=datetime.now(UTC),
    )
    session.add(wheel)
    session.flush()
    return wheel
