"""One part's life: where it is, what it has run, what is due on it, whether it is on a build or in the parts bin."""

from datetime import datetime
from uuid import UUID

from sqlmodel import Session

from service.domain import bicycle as seen
from service.domain.due import Due, worn_at
from service.domain.procedure import Library
from service.domain.wear_due import Worn, wear_due
from service.records.bicycle import load, load_loose
from service.records.care import desk_now, due_now
from service.records.lock import builds_of
from service.records.parts import get_part
from service.records.people import Who
from service.schemas.parts import PartShown
from service.schemas.showing import show_part


def bicycle_of(session: Session, who: Who, part_id: UUID, library: Library) -> seen.Bicycle:
    """The bicycle a part is on, or one that is nothing but this part. Raises NotFound."""
    get_part(session, who, part_id)
    builds = builds_of(session, [part_id])
    return load(session, who, min(builds), library) if builds else load_loose(session, who, part_id)


def part_shown(session: Session, who: Who, part_id: UUID, *, library: Library, now: datetime) -> PartShown:
    """A part as a client is shown it. Raises NotFound."""
    session.expire_all()
    row = get_part(session, who, part_id)
    category = library.categories.get(row.category)
    fields = category.specs if category is not None else ()
    lists = frozenset(field.key for field in fields if field.kind in ("numbers", "choices"))
    bicycle = bicycle_of(session, who, part_id, library)
    currency = None if who.may == "read" else who.currency  # readers see no money
    return show_part(row, bicycle, now=now, currency=currency, lists=lists)


def wear_of_part(
    session: Session, who: Who, part_id: UUID, *, library: Library, now: datetime
) -> list[tuple[Worn, Due]]:
    """The wearing dimensions of one part, each with where it stands. Raises NotFound."""
    return wear_on(bicycle_of(session, who, part_id, library), part_id, library, who, now)


def wear_on(bicycle: seen.Bicycle, part_id: UUID, library: Library, who: Who, now: datetime) -> list[tuple[Worn, Due]]:
    """The same for a part of a bicycle that is loaded already."""
    desk = desk_now(bicycle, library, who, now)
    return [(worn, wear_due(worn, desk)) for worn in worn_at(desk) if worn.subject.part_id == part_id]


def due_of_part(
    session: Session, who: Who, part_id: UUID, *, library: Library, now: datetime
) -> tuple[seen.Bicycle, list[Due]]:
    """What is due on one part, most pressing first, with the bicycle it is on. Raises NotFound."""
    bicycle = bicycle_of(session, who, part_id, library)
    dues = due_now(bicycle, library, who, now)
    return bicycle, [due for due in dues if due.part_id == part_id]
