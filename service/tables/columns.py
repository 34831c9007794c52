"""The kinds of column that all tables share: choices, cascading keys, conditional uniqueness, names of constraints."""

from typing import Any
from uuid import UUID

from sqlalchemy import CheckConstraint, Enum, Index, text
from sqlmodel import Field, SQLModel

SQLModel.metadata.naming_convention = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s",
    "pk": "pk_%(table_name)s",
}


def choice(name: str, *words: str) -> Any:
    """A column of fixed words, kept as text and checked by the database."""
    return Enum(*words, name=name, native_enum=False, validate_strings=True, create_constraint=True, length=24)


def key() -> Any:
    """The primary key, a UUIDv7 that a client may choose."""
    return Field(primary_key=True)


def refers(target: str, *, cascade: bool = False, primary: bool = False, index: bool = False) -> Any:
    """A reference to another table's id; `cascade` where the row means nothing without it."""
    key = f"{target}.id"
    if cascade:
        return Field(foreign_key=key, ondelete="CASCADE", primary_key=primary, index=index)
    return Field(foreign_key=key, primary_key=primary, index=index)


def may_refer(target: str, *, cascade: bool = False, index: bool = False) -> Any:
    """A reference that may be absent."""
    key = f"{target}.id"
    if cascade:
        return Field(default=None, foreign_key=key, ondelete="CASCADE", index=index, nullable=True)
    return Field(default=None, foreign_key=key, index=index, nullable=True)


def once(name: str, *columns: str, where: str) -> Index:
    """Unique among the rows for which `where` holds; both databases have it."""
    return Index(f"once_{name}", *columns, unique=True, sqlite_where=text(where), postgresql_where=text(where))


def exactly_one(left: str, right: str) -> CheckConstraint:
    """One of two columns is filled, the other is not."""
    return CheckConstraint(f"({left} IS NULL) <> ({right} IS NULL)", name=f"one_{left}_or_{right}")


def rule(name: str, condition: str) -> CheckConstraint:
    """A condition that every row must meet."""
    return CheckConstraint(condition, name=name)


__all__ = ["UUID", "choice", "exactly_one", "key", "may_refer", "once", "refers", "rule"]
