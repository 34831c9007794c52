"""What a stored ride asks for, of the bicycle as it is now."""

from datetime import datetime
from uuid import UUID

from sqlmodel import Session

from service.domain.after_ride import Ask, asks_after
from service.domain.procedure import Library
from service.records.bicycle import load
from service.records.care import due_now
from service.records.people import Who
from service.records.riding import get_ride


def asks_after_ride(session: Session, who: Who, ride_id: UUID, *, library: Library, now: datetime) -> tuple[Ask, ...]:
    """What a ride asks for, in the order to do it. Raises NotFound for another workshop's."""
    row = get_ride(session, who, ride_id)
    bicycle = load(session, who, row.build_id, library)
    ridden = next(each for each in bicycle.rides[row.build_id] if each.id == ride_id)
    return asks_after(ridden, due_now(bicycle, library, who, now), library)
