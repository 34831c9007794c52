"""The workshop's torque wrenches and tools."""

from datetime import date
from uuid import UUID

from sqlmodel import Field, SQLModel

from service.tables.columns import key, refers, rule


class Wrench(SQLModel, table=True):
    """A torque wrench: range in N·m, tolerance in percent, day of its last good check."""

    __table_args__ = (rule("low_to_high", "0 < low_nm AND low_nm < high_nm"),)

    id: UUID = key()
    workshop_id: UUID = refers("workshop", index=True)
    title: str
    low_nm: float
    high_nm: float
    tolerance_percent: float
    checked_on: date | None = None
    version: int = 1


class OwnedTool(SQLModel, table=True):
    """A tool on the bench, "id" or "id:size"."""

    __tablename__ = "owned_tool"

    workshop_id: UUID = refers("workshop", primary=True)
    tool: str = Field(primary_key=True)
