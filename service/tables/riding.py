"""Rides and odometer readings, in whole metres."""

from datetime import date, datetime
from uuid import UUID

from sqlalchemy import Index, UniqueConstraint
from sqlmodel import Field, SQLModel

from service.tables.columns import choice, key, may_refer, once, refers, rule

CONDITIONS = ("dry", "dusty", "wet", "gritty", "salted", "indoor", "roller")
RIDE_SOURCES = ("hand", "gpx", "csv", "import")


class Ride(SQLModel, table=True):
    """A distance at a time; it belongs whole to what was fitted when it began."""

    __table_args__ = (
        rule("metres_positive", "metres > 0"),
        once("ride_file", "build_id", "file_hash", where="file_hash IS NOT NULL"),
        Index("ix_ride_span", "build_id", "started_at", "metres", "conditions", "loaded", "descents"),
    )

    id: UUID = key()
    build_id: UUID = refers("build")
    person_id: UUID | None = may_refer("person")
    started_at: datetime
    day: date
    metres: int
    moving_s: int | None = None
    climb_m: int | None = None
    conditions: str = Field(default="dry", sa_type=choice("conditions", *CONDITIONS))
    loaded: bool = False
    descents: bool = False
    source: str = Field(default="hand", sa_type=choice("source", *RIDE_SOURCES))
    file_hash: str | None = None
    version: int = 1
    note: str = ""


class OdometerReading(SQLModel, table=True):
    """What the instrument showed; it fills what was not logged and never adds."""

    __tablename__ = "odometer_reading"
    __table_args__ = (UniqueConstraint("build_id", "at"), rule("metres_not_negative", "metres >= 0"))

    id: UUID = key()
    build_id: UUID = refers("build")
    at: datetime
    day: date
    metres: int
    restarts: bool = False
    version: int = 1
