"""The computations of a build: the bicycle, its set-ups and expenses loaded, and the domain asked."""

from uuid import UUID

from sqlmodel import Session

from service.domain import bar_and_saddle
from service.domain.bar_and_saddle import Asked, Position
from service.domain.bicycle import Bicycle
from service.domain.cost import Cost, Spent, cost
from service.domain.procedure import Library
from service.domain.set_ups import FIELDS, SetUpFacts
from service.records.bicycle import load
from service.records.builds import list_set_ups
from service.records.expenses import list_expenses
from service.records.people import Who


def bicycle_of(session: Session, who: Who, build_id: UUID, library: Library, *, with_bench: bool = False) -> Bicycle:
    """The build with its parts and plan, without its log: no computation here asks for what was ridden.

    Raises NotFound.
    """
    return load(session, who, build_id, library, with_bench=with_bench, with_log=False)


def set_ups_of(session: Session, who: Who, build_id: UUID) -> list[SetUpFacts]:
    """The set-ups of a build as the domain sees them. Raises NotFound."""
    return [
        SetUpFacts(row.id, row.at, {field: getattr(row, field) for field in FIELDS}, row.note)
        for row in list_set_ups(session, who, build_id)
    ]


def expenses_of(session: Session, who: Who, build_id: UUID) -> list[Spent]:
    """The expenses of a build as the domain sees them, newest first. Raises NotFound."""
    rows = list_expenses(session, who, build_id)
    return [Spent(row.id, row.kind, row.amount_minor, row.day, row.note) for row in rows]


def position_of(session: Session, who: Who, build_id: UUID, library: Library, asked: Asked) -> Position:
    """The rider's position on a build. Raises NotFound for the build or a set-up to compare."""
    bicycle = bicycle_of(session, who, build_id, library)
    return bar_and_saddle.position(bicycle, library, set_ups_of(session, who, build_id), asked)


def cost_of(session: Session, who: Who, build_id: UUID, library: Library) -> Cost:
    """What a build costs, its expenses counted. Raises NotFound."""
    return cost(bicycle_of(session, who, build_id, library), library, expenses_of(session, who, build_id))
