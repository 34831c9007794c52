"""The workshop's torque wrenches and tools as they are sent and shown."""

from datetime import date
from typing import Annotated
from uuid import UUID

from pydantic import Field

from service.schemas.fields import Day, Name, Number, Sent, Shown, TorqueNm, absent


class WrenchSent(Sent):
    """A torque wrench."""

    id: UUID | None = absent("UUIDv7 chosen by the client.")
    title: Name = Field(description="What you call it.")
    low_nm: TorqueNm = Field(description="Least setting, N·m.")
    high_nm: TorqueNm = Field(description="Greatest setting, N·m.")
    tolerance_percent: Annotated[Number, Field(gt=0, le=30)] = Field(default=6, description="Tolerance, percent.")
    checked_on: Day | None = absent("The day of its last good check.")


class WrenchShown(Shown):
    """A torque wrench."""

    id: UUID = Field(description="The wrench.")
    title: str = Field(description="What you call it.")
    low_nm: float = Field(description="Least setting, N·m.")
    high_nm: float = Field(description="Greatest setting, N·m.")
    tolerance_percent: float = Field(description="Tolerance, percent.")
    checked_on: date | None = Field(description="The day of its last good check.")
    version: int = Field(description="Counts the changes; the ETag.")


class WrenchPage(Shown):
    """The torque wrenches."""

    items: list[WrenchShown] = Field(description="The torque wrenches.")
    next: str | None = Field(description="Always null: they come whole.")


class ToolShown(Shown):
    """A tool of the library, and whether it is on the bench."""

    tool: str = Field(description="The tool, as id or id:size.")
    title: str = Field(description="What it is.")
    owned: bool = Field(description="Whether it is on the bench.")


class ToolPage(Shown):
    """The tools."""

    items: list[ToolShown] = Field(description="Every tool that a step may ask for.")
    next: str | None = Field(description="Always null: they come whole.")
