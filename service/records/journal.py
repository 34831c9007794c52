"""The journal: one line for every row added, changed or removed, written in the transaction that does it."""

from collections.abc import Collection, Iterator, Sequence
from datetime import UTC, date, datetime
from typing import Any, TypeVar
from uuid import UUID

from sqlalchemy import event, insert, inspect, select
from sqlalchemy.orm import Mapper, Session, UOWTransaction
from sqlmodel import SQLModel, col

from service.errors import Conflict, Gone
from service.ids import new_id
from service.tables import Journal

SECRETS = frozenset({"secret_hash", "signing_key", "file_key"})
_OURS = frozenset({"version", "changed_at", "due_stale"})
_OWNERS = frozenset({"workshop_id", "build_id", "part_id", "person_id"})
MANY = 10_000
"""Rows in one statement: their lines are made as it goes, so that they need not all be in memory."""
Row = TypeVar("Row", bound=SQLModel)


@event.listens_for(Session, "before_flush")
def write_lines(session: Session, _context: UOWTransaction, _instances: object) -> None:
    """Adds the lines of this flush. Statements that go past the session leave none: for derived columns only."""
    _remove_what_goes_along(session)
    rows = [(row, "added") for row in session.new]
    rows += [(row, "removed") for row in session.deleted]
    rows += [(row, "changed") for row in session.dirty if session.is_modified(row)]
    session.add_all([_line(session.info, row, verb) for row, verb in rows if not isinstance(row, Journal)])


def _remove_what_goes_along(session: Session) -> None:
    """Removes by name what the database would remove silently (ON DELETE CASCADE), so that each row leaves its line."""
    left = list(session.deleted)
    while left:
        for each in list(goes_along(session, left.pop())):
            left.append(each)
            session.delete(each)


def goes_along(session: Session, row: SQLModel) -> Iterator[SQLModel]:
    """The rows that the database would remove with this one, directly; those that go already are left out."""
    table = inspect(row).mapper.local_table
    for child in inspect(type(row)).registry.mappers:
        for key in child.local_table.foreign_key_constraints:
            if key.referred_table is table and key.ondelete == "CASCADE":
                on = (element.parent == getattr(row, element.column.key) for element in key.elements)
                yield from [each for each in session.scalars(select(child).where(*on)) if each not in session.deleted]


def _line(info: dict[str, Any], row: SQLModel, verb: str) -> Journal:
    before, after = (_before(row) if verb != "added" else None), (content_of(row) if verb != "removed" else None)
    heading = _heading(info, verb, _table(row))
    if heading["workshop_id"] is None:
        heading["workshop_id"] = getattr(row, "workshop_id", None)
    return Journal(**heading, row_id=row_key(row), before=before, after=after)


def _heading(info: dict[str, Any], verb: str, noun: str) -> dict[str, Any]:
    """What all lines of one request about one kind of row share."""
    who = info.get("who")
    return {
        "at": datetime.now(UTC),
        "workshop_id": who.workshop_id if who else None,
        "by_id": who.person_id if who else None,
        "device_id": who.device_id if who else None,
        "request_id": info.setdefault("request_id", str(new_id())),
        "verb": verb,
        "noun": noun,
    }


def add_many(session: Session, table: type[SQLModel], rows: Sequence[dict[str, Any]]) -> None:
    """Adds rows, given as all their columns, with the lines that adding them one by one would leave.

    For the tens of thousands of an import: row by row through the session they take ten times as long, and others wait.
    """
    session.flush()
    mapper: Mapper[Any] = inspect(table)
    keys = [each.key for each in mapper.column_attrs if each.key not in SECRETS]
    key = [each.name for each in mapper.primary_key]
    heading = _heading(session.info, "added", str(table.__tablename__))
    for begin in range(0, len(rows), MANY):
        some = rows[begin : begin + MANY]
        lines = []
        for row in some:
            after = {name: _json(row[name]) for name in keys}
            lines.append(
                {**heading, "row_id": "/".join(str(row[name]) for name in key), "before": None, "after": after}
            )
        session.execute(insert(table.__table__), some)  # type: ignore[attr-defined]
        session.execute(insert(Journal.__table__), lines)  # type: ignore[attr-defined]


def row_key(row: SQLModel) -> str:
    """The row's key as the journal spells it: its id, or the members of a longer key in order, joined by a slash."""
    mapper: Mapper[Any] = inspect(row).mapper
    return "/".join(str(value) for value in mapper.primary_key_from_instance(row))


def content_of(row: SQLModel) -> dict[str, Any]:
    """The columns of a row as the journal keeps them."""
    return {key: _json(getattr(row, key)) for key in _keys(row)}


def _before(row: SQLModel) -> dict[str, Any]:
    """What the row was when it was read: the first value of each attribute that has changed since."""
    attributes = inspect(row).attrs
    found = {}
    for key in _keys(row):
        deleted = attributes[key].history.deleted
        found[key] = _json(deleted[0] if deleted else getattr(row, key))
    return found


def _keys(row: SQLModel) -> list[str]:
    return [each.key for each in inspect(row).mapper.column_attrs if each.key not in SECRETS]


def _json(value: Any) -> Any:
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat()
    if isinstance(value, date):
        return value.isoformat()
    return str(value) if isinstance(value, UUID) else value


def same_again(session: Session, row: Row, *, ignore: frozenset[str] = frozenset(), taken: str = "") -> Row:
    """The stored row where `row`, which could not be added, was sent before with the same content.

    It is compared with what was added first, so that a later edit does not spoil a retry; `version`, `changed_at` and
    the names in `ignore` (what the server chose) do not count. Raises Conflict where it
    differs, or (saying `taken`) where a row of another key stands in the way.
    """
    mapper: Mapper[Any] = inspect(type(row))
    noun = _table(row).replace("_", " ")
    stored = session.get(type(row), tuple(mapper.primary_key_from_instance(row)), populate_existing=True)
    if stored is None:
        raise Conflict(taken or f"The {noun} contradicts one that is stored already.")
    first = _first_content(session, row) or content_of(stored)
    sent = content_of(row)
    different = [key for key in sent if key not in ignore | _OURS and sent[key] != first.get(key, sent[key])]
    if different:
        foreign = _OWNERS.intersection(different)  # somebody else's row: say no more than that the id is taken
        raise Conflict(
            f"This id has another {noun} already, with other content. Choose a new id, or change the stored one.",
            errors=[] if foreign else [(f"/{key}", "differs from what was sent first") for key in different],
        )
    return stored


def check_not_removed(session: Session, noun: str, row_id: UUID) -> None:
    """Raises Gone where this id was removed: a queue that sends late must not bring a deleted row back to life.

    Ask it after the row was added, in the same transaction: to the database a removed id is free again.
    """
    removed = select(col(Journal.id)).where(col(Journal.noun) == noun, col(Journal.row_id) == str(row_id))
    if session.scalar(removed.where(col(Journal.verb) == "removed").limit(1)) is not None:
        raise Gone(noun.replace("_", " "), row_id)


def _first_content(session: Session, row: SQLModel) -> dict[str, Any] | None:
    mine = select(Journal).where(col(Journal.noun) == _table(row), col(Journal.row_id) == row_key(row))
    line = session.scalar(mine.where(col(Journal.verb) == "added").order_by(col(Journal.id)).limit(1))
    return line.after if line else None


def added_with(session: Session, row: SQLModel, nouns: Collection[str]) -> list[dict[str, Any]]:
    """The rows of these kinds that were added by the request that added this row."""
    mine = (col(Journal.noun) == _table(row)) & (col(Journal.row_id) == row_key(row)) & (col(Journal.verb) == "added")
    request = session.scalar(select(col(Journal.request_id)).where(mine).order_by(col(Journal.id)).limit(1))
    lines = select(col(Journal.after)).where(col(Journal.request_id) == request, col(Journal.noun).in_(nouns))
    return [line for line in session.scalars(lines.where(col(Journal.verb) == "added")) if line is not None]


def _table(row: SQLModel) -> str:
    return str(type(row).__tablename__)
