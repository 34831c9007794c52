"""Twice is once: storing what a phone may send again under the id it chose."""

from collections.abc import Sequence
from typing import Any, TypeVar
from uuid import UUID

from sqlalchemy import select
from sqlalchemy.exc import IntegrityError
from sqlmodel import Session, SQLModel

from service.errors import Conflict
from service.records import journal

Row = TypeVar("Row", bound=SQLModel)


def store_once(session: Session, row: Row, *, ignore: frozenset[str] = frozenset()) -> tuple[Row, bool]:
    """Stores a row; answers it and whether it is new.

    The same id with the same content answers the stored row; raises Conflict for other content and Gone for one that
    was removed since. `ignore` names columns that the service fills in and that a retry may not repeat.
    """
    row_id: UUID = row.id  # type: ignore[attr-defined]
    try:
        with session.begin_nested():
            session.add(row)
            session.flush()
    except IntegrityError:
        return journal.same_again(session, row, ignore=ignore), False
    noun = row.__tablename__
    journal.check_not_removed(session, str(noun), row_id)
    return row, True


def is_sent_again(session: Session, row: SQLModel) -> bool:
    """Whether a row of this id is stored already, so that what speaks against a new one does not speak against it.

    Raises Gone where it was removed since. `store_once` alone decides; this only says which refusal is heard first.
    """
    table: Any = type(row)
    row_id: UUID = row.id  # type: ignore[attr-defined]
    if session.execute(select(table.id).where(table.id == row_id)).first() is not None:
        return True
    journal.check_not_removed(session, str(row.__tablename__), row_id)
    return False


def check_same_details(session: Session, row: SQLModel, details: Sequence[SQLModel], *, of: str, pointer: str) -> None:
    """Raises Conflict unless these rows are the ones that were added with a row that is sent again.

    `of` is their column that names the row; ids of their own do not count.
    """
    nouns = _KINDS[str(row.__tablename__)]
    key = journal.row_key(row)
    first = [_without_id(each) for each in journal.added_with(session, row, nouns) if each.get(of) == key]
    sent = [_without_id(journal.content_of(each)) for each in details]
    if sorted(first, key=repr) != sorted(sent, key=repr):
        noun = str(row.__tablename__).replace("_", " ")
        raise Conflict(
            f"This id has another {noun} already, with other {pointer[1:].replace('_', ' ')}. "
            "Choose a new id, or change the stored one.",
            errors=[(pointer, "differs from what was sent first")],
        )


_KINDS = {"part": {"spec", "torque_figure"}, "maintenance_event": {"event_task"}}


def _without_id(content: dict[str, Any]) -> dict[str, Any]:
    return {key: content[key] for key in sorted(content) if key != "id"}
