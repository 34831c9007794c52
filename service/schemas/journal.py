"""The journal as it is shown."""

from datetime import datetime
from typing import Any, Literal
from uuid import UUID

from pydantic import Field

from service.schemas.fields import Shown


class JournalLine(Shown):
    """A change of one row."""

    id: int = Field(description="Counts the lines.")
    at: datetime = Field(description="When.")
    by_id: UUID | None = Field(serialization_alias="by", description="Who.")
    request_id: str = Field(serialization_alias="request", description="The request it was part of; undo takes it.")
    verb: Literal["added", "changed", "removed"] = Field(description="What happened to the row.")
    noun: str = Field(description="What kind of row.")
    row_id: str = Field(description="Which row.")
    before: dict[str, Any] | None = Field(description="What it was.")
    after: dict[str, Any] | None = Field(description="What it is then.")


class JournalPage(Shown):
    """A page of the journal."""

    items: list[JournalLine] = Field(description="Newest first.")
    next: str | None = Field(description="Where the next page starts; null on the last.")


class Undone(Shown):
    """What an undo did."""

    lines: int = Field(description="How many lines of the journal were applied backwards.")
