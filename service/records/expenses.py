"""Expenses: money that goes on a build beside its parts, and the complete bicycle that it is compared with."""

from collections.abc import Sequence
from datetime import datetime
from uuid import UUID

from sqlalchemy import select
from sqlmodel import Session, col

from service.ids import new_id
from service.records.builds import get_build
from service.records.lock import take_build
from service.records.once import store_once
from service.records.parts import minor_of
from service.records.people import Who
from service.schemas.worth import ExpenseSent
from service.tables import Expense


def add_expense(
    session: Session, who: Who, build_id: UUID, sent: ExpenseSent, *, now: datetime
) -> tuple[Expense, bool]:
    """Stores an expense; answers it and whether it is new. Raises NotFound, Refusal for another currency."""
    take_build(session, who, build_id)
    amount = minor_of(who, sent.amount, "/amount") or 0
    row = Expense(
        **sent.model_dump(exclude={"id", "amount", "day"}),
        id=sent.id or new_id(),
        build_id=build_id,
        amount_minor=amount,
        day=sent.day or who.today(now),
    )
    return store_once(session, row, ignore=frozenset() if sent.day else frozenset({"day"}))


def list_expenses(session: Session, who: Who, build_id: UUID) -> Sequence[Expense]:
    """The expenses of a build, newest first. Raises NotFound for another workshop's."""
    get_build(session, who, build_id)
    newest = select(Expense).where(col(Expense.build_id) == build_id).order_by(col(Expense.day).desc(), col(Expense.id))
    return session.execute(newest).scalars().all()
