"""One line for every change: audit, undo and what was removed, in one table that is only added to."""

from datetime import datetime
from typing import Any
from uuid import UUID

from sqlalchemy import JSON, BigInteger, Column, Index, Integer
from sqlmodel import Field, SQLModel

from service.tables.columns import choice


class Journal(SQLModel, table=True):
    """A change of one row, with the row before and after it."""

    __table_args__ = (
        Index("ix_journal_row", "noun", "row_id", "id"),
        Index("ix_journal_workshop", "workshop_id", "id"),
        Index("ix_journal_request", "request_id"),
    )

    id: int | None = Field(
        default=None, sa_column=Column(BigInteger().with_variant(Integer, "sqlite"), primary_key=True)
    )
    at: datetime
    workshop_id: UUID | None = None
    by_id: UUID | None = None
    device_id: UUID | None = None
    request_id: str
    verb: str = Field(sa_type=choice("verb", "added", "changed", "removed"))
    noun: str
    row_id: str
    before: dict[str, Any] | None = Field(default=None, sa_column=Column(JSON(none_as_null=True)))
    after: dict[str, Any] | None = Field(default=None, sa_column=Column(JSON(none_as_null=True)))
