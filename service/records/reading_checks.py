"""Holds a stored wear reading against what else is known of its part, before the transaction ends."""

from sqlalchemy import func, select
from sqlmodel import Session, col

from service.domain import bicycle as seen
from service.domain.procedure import Library
from service.domain.reading_check import Known, check_reading
from service.records.parts import get_part
from service.records.people import Who
from service.tables import MaintenanceEvent, Spec, WearMeasurement

SETS_AGAIN = ("adjusted", "renewed", "trued", "overhauled", "repaired")
"""After these a reading may well be better than the one before."""


def check_stored(
    session: Session, who: Who, row: WearMeasurement, library: Library, *, sure: bool, exact_at: str = "/reading"
) -> None:
    """Holds a reading against the part's own numbers and its earlier readings. Raises Refusal, Asks."""
    category = library.categories.get(get_part(session, who, row.part_id).category)
    wear = next((each for each in category.wear if each.key == row.dimension), None) if category else None
    if wear is None:
        return
    of, own = WearMeasurement, col(WearMeasurement.part_id) == row.part_id
    same = (col(of.dimension) == row.dimension, col(of.place) == row.place, col(of.at) < row.at, col(of.id) != row.id)
    earlier = session.execute(select(of).where(own, *same).order_by(col(of.at), col(of.id))).scalars()
    set_again = (col(MaintenanceEvent.part_id) == row.part_id) & col(MaintenanceEvent.kind).in_(SETS_AGAIN)
    until = col(MaintenanceEvent.at) <= row.at
    renewed = session.execute(select(func.max(col(MaintenanceEvent.at))).where(set_again, until)).scalar()
    specs = session.execute(select(col(Spec.field), col(Spec.number)).where(col(Spec.part_id) == row.part_id))
    known = Known(
        specs={field: number for field, number in specs if number is not None},
        earlier=[_as_seen(each) for each in earlier],
        renewed=renewed,
        exact_at=exact_at,
    )
    check_reading(wear, _as_seen(row), known, sure=sure)


def _as_seen(row: WearMeasurement) -> seen.WearMeasurement:
    return seen.WearMeasurement(
        row.id, row.part_id, row.dimension, row.place, row.low, row.high, row.tool, row.at, row.day
    )
