"""Parts: adding, changing, removing, their facts and the makers' figures; lists of them."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, date, datetime
from typing import Any
from uuid import UUID

from sqlalchemy import exists, func, or_, select
from sqlalchemy.orm import aliased
from sqlmodel import Session, col

from service.domain.facts import at_specs, category_of, check_fact, check_fastening, check_figure, check_pairs, field_of
from service.domain.looking import Sought
from service.domain.procedure import Library
from service.errors import Conflict, NotFound, Refusal
from service.ids import new_id
from service.records.lock import take_part
from service.records.moments import check_day_not_ahead
from service.records.once import check_same_details, store_once
from service.records.people import Who
from service.schemas.fields import Money
from service.schemas.parts import PartChanged, PartSent, SpecSent, TorqueFigureSent, spec_rows
from service.tables import Checklist, Fitting, MaintenanceEvent, Part, Plan, Spec, TorqueFigure, WearMeasurement

METRES = 1000
DEEPEST = 4


def add_part(
    session: Session, who: Who, sent: PartSent, library: Library, *, now: datetime | None = None
) -> tuple[Part, bool]:
    """Stores a part with its facts and figures; answers it and whether it is new (the same sent twice is once).

    Raises Refusal for an unknown category, spec, choice or fastening; Asks for an unlikely number.
    """
    who.check_may("work")
    now = now or datetime.now(UTC)
    category_of(library, sent.category)
    check_day_not_ahead(sent.made_on, who.today(now), "/made_on", "made")
    row = Part(
        id=sent.id or new_id(),
        workshop_id=who.workshop_id,
        category=sent.category,
        name=sent.name,
        tag=sent.tag,
        origin=sent.origin,
        state=sent.state,
        expected_on=sent.expected_on,
        pieces=sent.pieces,
        metres_before=_metres_before(sent),
        made_on=sent.made_on,
        price_minor=minor_of(who, sent.price, "/price"),
        price_new_minor=minor_of(who, sent.price_new, "/price_new"),
        mass_claimed_g=sent.mass_claimed_g,
        mass_weighed_g=sent.mass_weighed_g,
        changed_at=now,
        note=sent.note,
    )
    if sent.state == "gone":
        row.gone_on = who.today(now)
    details = _details(sent, row.id, library)
    _check_tag(session, who, row)
    part, new = store_once(session, row, ignore=frozenset({"gone_on"}))
    if new:
        session.add_all(details)
        session.flush()
    else:
        check_same_details(session, part, details, of="part_id", pointer="/specs")
    return part, new


def _details(sent: PartSent, part_id: UUID, library: Library) -> list[Spec | TorqueFigure]:
    rows: list[Spec | TorqueFigure] = []
    for key, spec in sent.specs.items():
        rows += _spec_rows(library, sent.category, part_id, key, spec)
    check_pairs(category_of(library, sent.category), _numbers(sent.specs), at_specs(sent.specs))
    for key, figure in sent.torque_figures.items():
        full = _fastening(library, sent.category, key, figure, pointer=f"/torque_figures/{key}/high_nm")
        rows.append(TorqueFigure(part_id=part_id, fastening=full, **figure.model_dump(exclude={"sure"})))
    return rows


def _fastening(library: Library, category: str, key: str, sent: TorqueFigureSent, *, pointer: str) -> str:
    full = check_fastening(library, category, key)
    if not sent.sure:
        check_figure(library, category, full, sent.high_nm, pointer=pointer)
    return full


def _metres_before(sent: PartSent) -> int | None:
    if sent.km_before is not None:
        return round(sent.km_before * METRES)
    return 0 if sent.origin == "new" else None


def minor_of(who: Who, money: Money | None, pointer: str) -> int | None:
    """An amount in minor units of the workshop's currency. Raises Refusal for another one, with the field."""
    if money is None:
        return None
    currency = who.currency
    if money.currency != currency:
        raise Refusal(
            f"This workshop counts in {currency}, not in {money.currency}.",
            errors=[(f"{pointer}/currency", f"should be {currency}")],
        )
    return money.minor


def _check_tag(session: Session, who: Who, part: Part) -> None:
    if part.tag is None:
        return
    other = session.execute(
        select(col(Part.name)).where(
            col(Part.workshop_id) == who.workshop_id, col(Part.tag) == part.tag, col(Part.id) != part.id
        )
    ).scalar_one_or_none()
    if other is not None:
        raise Conflict(
            f"The tag {part.tag} is on {other} already; write another on the box.",
            errors=[("/tag", f"is taken by {other}")],
        )


def _spec_rows(library: Library, category: str, part_id: UUID, key: str, sent: SpecSent) -> list[Spec | TorqueFigure]:
    field = field_of(library, category, key)
    rows = spec_rows(sent)
    facts = [row["number"] if row["number"] is not None else row["words"] for row in rows]
    many = sent.numbers is not None or sent.choices is not None
    check_fact(field, facts, many=many, sure=sent.sure)
    return [Spec(part_id=part_id, field=key, known_by=sent.known_by, note=sent.note, **row) for row in rows]


def _numbers(specs: Mapping[str, SpecSent]) -> dict[str, float]:
    return {key: spec.number for key, spec in specs.items() if spec.number is not None}


def get_part(session: Session, who: Who, part_id: UUID) -> Part:
    """A part of this workshop. Raises NotFound for any other."""
    part: Part | None = session.execute(
        select(Part)
        .where(col(Part.id) == part_id, col(Part.workshop_id) == who.workshop_id)
        .execution_options(populate_existing=True)
    ).scalar_one_or_none()
    if part is None:
        raise NotFound("part", part_id)
    return part


def change_part(
    session: Session, who: Who, part_id: UUID, sent: PartChanged, version: int | None, *, now: datetime | None = None
) -> Part:
    """Applies a merge patch. Raises NotFound, Stale, Refusal for another currency, Conflict for a tag in use."""
    take_part(session, who, part_id, version)
    part = get_part(session, who, part_id)
    changes = sent.model_dump(exclude_unset=True, exclude={"price", "price_new", "km_before"})
    for name in ("price", "price_new"):
        if name in sent.model_fields_set:
            changes[f"{name}_minor"] = minor_of(who, getattr(sent, name), f"/{name}")
    if "km_before" in sent.model_fields_set:
        changes["metres_before"] = None if sent.km_before is None else round(sent.km_before * METRES)
    today = who.today(now or datetime.now(UTC))
    for name, what in (("made_on", "made"), ("gone_on", "given away")):
        check_day_not_ahead(changes.get(name), today, f"/{name}", what)
    _check_gone(session, part, changes, today)
    for name, worth in changes.items():
        setattr(part, name, worth)
    _check_tag(session, who, part)
    session.flush()
    return part


def _check_gone(session: Session, part: Part, changes: dict[str, Any], today: date) -> None:
    state = changes.get("state", part.state)
    if state == "gone":
        if _fitted(session, part.id):
            raise Conflict("This part is fitted; take it off before it goes.", errors=[("/state", "take it off first")])
        changes.setdefault("gone_on", part.gone_on or today)
        if changes["gone_on"] is None:
            raise Refusal("A part that is gone has a day; give gone_on.", errors=[("/gone_on", "should be a day")])
    else:
        if changes.get("gone_on") is not None:
            raise Refusal(
                "Only a part that is gone has gone_on; send state gone with it.",
                errors=[("/gone_on", "needs state gone")],
            )
        changes["gone_on"] = None


def _fitted(session: Session, part_id: UUID) -> bool:
    held = col(Fitting.to_at).is_(None) & (col(Fitting.part_id) == part_id)
    return bool(session.execute(select(exists().where(held))).scalar())


def remove_part(session: Session, who: Who, part_id: UUID, version: int | None) -> None:
    """Removes a part that was never fitted, worked on or measured. Raises Conflict for one with a history."""
    take_part(session, who, part_id, version)
    part = get_part(session, who, part_id)
    traces = (
        (Fitting, or_(col(Fitting.part_id) == part_id, col(Fitting.into_part_id) == part_id)),
        (MaintenanceEvent, col(MaintenanceEvent.part_id) == part_id),
        (WearMeasurement, col(WearMeasurement.part_id) == part_id),
        (Checklist, col(Checklist.about_part_id) == part_id),
    )
    for table, where in traces:
        if session.execute(select(exists().where(where))).scalar():
            raise Conflict(
                f"{part.name} has a history ({table.__name__}); set its state to gone instead, and its history stays."
            )
    for row in session.execute(select(Plan).where(col(Plan.part_id) == part_id)).scalars():
        session.delete(row)
    for detail in (Spec, TorqueFigure):
        for held in session.execute(select(detail).where(detail.part_id == part_id)).scalars():  # type: ignore[arg-type]
            session.delete(held)
    session.flush()
    session.delete(part)
    session.flush()


def set_spec(session: Session, who: Who, part_id: UUID, key: str, sent: SpecSent, library: Library) -> Part:
    """Enters one fact in place of what was there. Raises Refusal for an unknown field or choice, Asks if unlikely."""
    return set_specs(session, who, part_id, {key: sent}, library)


def set_specs(session: Session, who: Who, part_id: UUID, sent: Mapping[str, SpecSent], library: Library) -> Part:
    """Enters several facts at once, each in place of what was there, and checks them against each other.

    Raises Refusal for an unknown field or choice, or a least above its most; Asks for an unlikely number.
    """
    take_part(session, who, part_id)
    part = get_part(session, who, part_id)
    for key, spec in sent.items():
        _set_spec(session, part, key, spec, library)
    held = session.execute(select(col(Spec.field), col(Spec.number)).where(col(Spec.part_id) == part_id)).all()
    numbers = {field: number for field, number in held if number is not None}
    check_pairs(category_of(library, part.category), numbers, at_specs(sent))
    return part


def _set_spec(session: Session, part: Part, key: str, sent: SpecSent, library: Library) -> None:
    part_id = part.id
    rows = _spec_rows(library, part.category, part_id, key, sent)
    held = {row.position: row for row in _specs(session, part_id, key)}
    for new in rows:
        assert isinstance(new, Spec)  # noqa: S101 - narrows the type
        old = held.pop(new.position, None)
        if old is None:
            session.add(new)
        else:
            old.number, old.words, old.known_by, old.note = new.number, new.words, new.known_by, new.note
    for row in held.values():
        session.delete(row)
    session.flush()


def _specs(session: Session, part_id: UUID, key: str) -> Sequence[Spec]:
    return session.execute(select(Spec).where(col(Spec.part_id) == part_id, col(Spec.field) == key)).scalars().all()


def remove_spec(session: Session, who: Who, part_id: UUID, key: str) -> Part:
    """Takes a fact back: it is not known again. Raises NotFound where none is entered."""
    take_part(session, who, part_id)
    part = get_part(session, who, part_id)
    rows = _specs(session, part_id, key)
    if not rows:
        raise NotFound("spec", key)
    for row in rows:
        session.delete(row)
    session.flush()
    return part


def set_torque_figure(
    session: Session, who: Who, part_id: UUID, fastening: str, sent: TorqueFigureSent, *, library: Library
) -> Part:
    """Enters the maker's figure, N·m. Raises Refusal for a fastening of other parts, Asks for an unlikely figure."""
    take_part(session, who, part_id)
    part = get_part(session, who, part_id)
    full = _fastening(library, part.category, fastening, sent, pointer="/high_nm")
    row = session.get(TorqueFigure, (part_id, full))
    if row is None:
        session.add(TorqueFigure(part_id=part_id, fastening=full, **sent.model_dump(exclude={"sure"})))
    else:
        row.sqlmodel_update(sent.model_dump(exclude={"sure"}))
    session.flush()
    return part


def remove_torque_figure(session: Session, who: Who, part_id: UUID, fastening: str, *, library: Library) -> Part:
    """Takes the maker's figure back. Raises NotFound where none is entered."""
    take_part(session, who, part_id)
    part = get_part(session, who, part_id)
    row = session.get(TorqueFigure, (part_id, check_fastening(library, part.category, fastening)))
    if row is None:
        raise NotFound("torque figure", fastening)
    session.delete(row)
    session.flush()
    return part


def list_parts(
    session: Session,
    who: Who,
    *,
    category: str | None = None,
    categories: Sequence[str] = (),
    state: str | None = None,
    in_bin: bool | None = None,
    there: bool = False,
    facts: Iterable[Sequence[Sought]] = (),
    after: tuple[str, UUID] | None = None,
    limit: int = 50,
) -> list[tuple[Any, ...]]:
    """A page of parts by category and id, after a given one: id, category, name, tag, origin, state, build, version.

    `facts` keeps those of which each fact is what is sought, `there` those that are not gone.
    """
    fitted = select(col(Fitting.part_id)).where(col(Fitting.to_at).is_(None))
    query = _lines().where(col(Part.workshop_id) == who.workshop_id)
    if category is not None:
        query = query.where(col(Part.category) == category)
    if categories:
        query = query.where(col(Part.category).in_(categories))
    if there:
        query = query.where(col(Part.state) != "gone")
    if state is not None:
        query = query.where(col(Part.state) == state)
    if in_bin is not None:
        query = query.where(col(Part.id).not_in(fitted) if in_bin else col(Part.id).in_(fitted))
    for alternatives in facts:
        query = query.where(or_(*(_with_fact(each) for each in alternatives)))
    if after is not None:
        at_category, at_id = after
        later = (col(Part.category) == at_category) & (col(Part.id) > at_id)
        query = query.where(or_(col(Part.category) > at_category, later))
    query = query.order_by(col(Part.category), col(Part.id)).limit(limit)
    return [tuple(row) for row in session.execute(query)]


def _lines() -> Any:
    """The columns of a list; the build is found through whatever the part sits in, at most four fittings up."""
    ups = [aliased(Fitting) for _ in range(DEEPEST)]
    query = select(
        *(col(Part.id), col(Part.category), col(Part.name), col(Part.tag), col(Part.origin), col(Part.state)),
        *(func.coalesce(*(col(up.build_id) for up in ups)), col(Part.version)),
    )
    below: Any = col(Part.id)
    for up in ups:
        query = query.outerjoin(up, (col(up.part_id) == below) & col(up.to_at).is_(None))
        below = col(up.into_part_id)
    return query


def _with_fact(each: Sought) -> Any:
    """The parts of these categories with this fact; of a list of facts one is enough."""
    query = select(col(Spec.part_id)).where(col(Spec.field) == each.field)
    if each.words is not None:
        # the database's own small letters on both sides: SQLite leaves all but a to z as they are
        query = query.where(func.lower(col(Spec.words)) == func.lower(each.words))
    else:
        query = query.where(or_(*(col(Spec.number).between(low, high) for low, high in each.ranges)))
    return col(Part.category).in_(each.categories) & col(Part.id).in_(query)
