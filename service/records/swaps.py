"""Swapping parts: one off and another on, in one instant and one transaction."""

from datetime import datetime
from uuid import UUID

from sqlalchemy import select
from sqlmodel import Session, col

from service.domain.facts import category_of
from service.domain.procedure import Library
from service.domain.seats import check_place
from service.errors import Conflict, Refusal
from service.ids import new_id
from service.records.fitting import Fitted, get_fitting, instant_of, plan_row, store_fitting
from service.records.hosts import Host
from service.records.lock import builds_of, take_builds_of, take_parts
from service.records.parts import add_part, get_part
from service.records.people import Who
from service.schemas.builds import SwapSent
from service.schemas.parts import PartSent
from service.tables import Fitting, Part, Spec, TorqueFigure


def swap_part(session: Session, who: Who, build_id: UUID, sent: SwapSent, *, library: Library, now: datetime) -> Fitted:
    """One part off and another on at the same place, in one instant. Raises as `fit_part`."""
    named = [sent.off, *([sent.on] if sent.on else [])]
    take_builds_of(session, who, named, build_id)
    take_parts(session, who, named)
    done = session.get(Fitting, sent.id, populate_existing=True) if sent.id is not None else None
    if done is not None:
        return Fitted(_same_swap(session, who, done, sent), new=False)
    old_part = get_part(session, who, sent.off)
    old = session.execute(
        select(Fitting).where(col(Fitting.part_id) == sent.off, col(Fitting.to_at).is_(None))
    ).scalar_one_or_none()
    if old is None:
        raise Conflict(
            f"{old_part.name} is fitted nowhere; fit the other one instead.", errors=[("/off", "is in the parts bin")]
        )
    if build_id not in builds_of(session, [sent.off]):
        raise Conflict(
            f"{old_part.name} is not on this build; swap it on the one it is on.", errors=[("/off", "is elsewhere")]
        )
    at = instant_of(session, who, build_id, at=sent.at, day=sent.day, rides=sent.rides, now=now)
    if at <= old.from_at:
        raise Refusal(
            f"{old_part.name} was fitted on {old.from_at:%Y-%m-%d %H:%M} (UTC); the swap must come after.",
            errors=[("/at", f"should be after {old.from_at.isoformat()}")],
        )
    new_part = _part_to_fit(session, who, sent, old_part, library=library)
    _check_new_place(session, who, old, new_part, library)
    old.to_at, old.why_removed = at, sent.why_removed or None
    session.flush()
    plan = plan_row(session, build_id, new_part, Host(old.into_part_id, old.place))
    row = Fitting(
        id=sent.id or (plan.id if plan is not None else new_id()),
        part_id=new_part.id,
        build_id=old.build_id,
        into_part_id=old.into_part_id,
        slot=new_part.category,
        place=old.place,
        from_at=at,
    )
    return store_fitting(
        session, new_part, row, library, also=[f"{old_part.name} is in the parts bin now."], given_at=True
    )


def _same_swap(session: Session, who: Who, done: Fitting, sent: SwapSent) -> Fitting:
    """The swap that was sent before. Raises Conflict where this id stands for something else."""
    get_fitting(session, who, done.id)
    ended = (col(Fitting.part_id) == sent.off) & (col(Fitting.to_at) == done.from_at)
    same_place = (col(Fitting.place) == done.place) & (
        col(Fitting.build_id) == done.build_id
        if done.build_id is not None
        else col(Fitting.into_part_id) == done.into_part_id
    )
    on = sent.on or (sent.new.id if sent.new is not None else None)
    same = session.execute(select(col(Fitting.id)).where(ended, same_place)).first() is not None
    if not same or on not in (None, done.part_id) or sent.at not in (None, done.from_at):
        raise Conflict(
            "A fitting with this id is stored already, with other content. Choose a new id.",
            errors=[("/id", "stands for another fitting")],
        )
    return done


def _check_new_place(session: Session, who: Who, old: Fitting, new: Part, library: Library) -> None:
    category = category_of(library, new.category)
    host = "build" if old.into_part_id is None else get_part(session, who, old.into_part_id).category
    check_place(category, host, old.place)


def _part_to_fit(session: Session, who: Who, sent: SwapSent, old: Part, *, library: Library) -> Part:
    if sent.on is not None:
        new = get_part(session, who, sent.on)
    elif sent.new is not None:
        new, _ = add_part(session, who, sent.new, library)
    else:
        new = _same_again(session, who, old, library)
    if new.category != old.category and not _same_slot(library, old.category, new.category):
        raise Refusal(
            f"{new.name} is a {new.category}; what comes off is a {old.category}.",
            errors=[("/on", f"should be a {old.category}")],
        )
    return new


def _same_slot(library: Library, one: str, other: str) -> bool:
    roles = [
        set(library.categories[each].stands_in_for) | {each} for each in (one, other) if each in library.categories
    ]
    return len(roles) == 2 and bool(roles[0] & roles[1])


def _same_again(session: Session, who: Who, old: Part, library: Library) -> Part:
    new, _ = add_part(session, who, PartSent(category=old.category, name=old.name, pieces=old.pieces), library)
    for spec in session.execute(select(Spec).where(col(Spec.part_id) == old.id)).scalars():
        session.add(Spec(**spec.model_dump(exclude={"part_id"}), part_id=new.id))
    for figure in session.execute(select(TorqueFigure).where(col(TorqueFigure.part_id) == old.id)).scalars():
        session.add(TorqueFigure(**figure.model_dump(exclude={"part_id"}), part_id=new.id))
    session.flush()
    return new
