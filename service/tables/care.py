"""Maintenance events, wear measurements, the owner's own rules, what was put off, what is sent as a reminder."""

from datetime import date, datetime
from uuid import UUID

from sqlalchemy import Index, text
from sqlmodel import Field, SQLModel

from service.tables.columns import choice, exactly_one, key, may_refer, once, refers, rule

EVENT_KINDS = (
    "inspected",
    "adjusted",
    "tightened",
    "cleaned",
    "lubricated",
    "renewed",
    "trued",
    "overhauled",
    "repaired",
    "crashed",
    "put away",
    "woken",
    "travelled",
)
BUILD_EVENTS = ("crashed", "put away", "woken", "travelled")
FOUND = ("fine", "worn", "damaged")
MESSAGES = ("weekly", "at once", "trial")
REMINDED = ("channel_id", "kind", "task", "place", "cycle")
WAITING = text("sent_at IS NULL")


class MaintenanceEvent(SQLModel, table=True):
    """Something done or found; `renewed` is fluid, sealant, grease: what is not a part."""

    __tablename__ = "maintenance_event"
    __table_args__ = (
        rule("about_something", "part_id IS NOT NULL OR build_id IS NOT NULL"),
        rule(
            "only_a_build",
            "kind NOT IN ('crashed', 'put away', 'woken', 'travelled') OR (build_id IS NOT NULL AND part_id IS NULL)",
        ),
        Index("ix_maintenance_event_part", "part_id", "at"),
        Index("ix_maintenance_event_build", "build_id", "at"),
    )

    id: UUID = key()
    part_id: UUID | None = may_refer("part")
    build_id: UUID | None = may_refer("build")
    kind: str = Field(sa_type=choice("kind", *EVENT_KINDS))
    found: str | None = Field(default=None, sa_type=choice("found", *FOUND))
    at: datetime
    day: date
    by_id: UUID | None = may_refer("person")
    by_shop: bool = False
    checklist_id: UUID | None = may_refer("checklist", index=True)
    version: int = 1
    note: str = ""


class EventTask(SQLModel, table=True):
    """A task that an event completes, on one subject."""

    __tablename__ = "event_task"
    __table_args__ = (
        exactly_one("build_id", "part_id"),
        once("event_task_build", "event_id", "build_id", "task", where="build_id IS NOT NULL"),
        once("event_task_part", "event_id", "part_id", "task", where="part_id IS NOT NULL"),
    )

    id: UUID = key()
    event_id: UUID = refers("maintenance_event", cascade=True, index=True)
    build_id: UUID | None = may_refer("build", index=True)
    part_id: UUID | None = may_refer("part", index=True)
    task: str


class WearMeasurement(SQLModel, table=True):
    """A reading, exact or between two marks of a gauge; the unit is the end of `dimension`."""

    __tablename__ = "wear_measurement"
    __table_args__ = (
        rule("low_to_high", "high IS NULL OR low <= high"),
        Index("ix_wear_measurement_part", "part_id", "dimension", "at"),
    )

    id: UUID = key()
    part_id: UUID = refers("part")
    dimension: str
    place: str = ""
    low: float
    high: float | None = None
    tool: str | None = None
    at: datetime
    day: date
    event_id: UUID | None = may_refer("maintenance_event", cascade=True, index=True)
    version: int = 1
    note: str = ""


class ServiceRule(SQLModel, table=True):
    """The owner's own limit for a task, or its switching off."""

    __tablename__ = "service_rule"
    __table_args__ = (
        exactly_one("build_id", "part_id"),
        once("service_rule_build", "build_id", "task", where="build_id IS NOT NULL"),
        once("service_rule_part", "part_id", "task", where="part_id IS NOT NULL"),
    )

    id: UUID = key()
    build_id: UUID | None = may_refer("build", cascade=True)
    part_id: UUID | None = may_refer("part", cascade=True)
    task: str
    off: bool = False
    metres: int | None = None
    days: int | None = None
    hours: float | None = None
    limit_reading: float | None = None
    reason: str = ""


class PutOff(SQLModel, table=True):
    """A task put off; it moves the line, never the state."""

    __tablename__ = "put_off"
    __table_args__ = (
        exactly_one("build_id", "part_id"),
        once("put_off_build", "build_id", "task", where="build_id IS NOT NULL"),
        once("put_off_part", "part_id", "task", where="part_id IS NOT NULL"),
    )

    id: UUID = key()
    build_id: UUID | None = may_refer("build", cascade=True)
    part_id: UUID | None = may_refer("part", cascade=True)
    task: str
    until_on: date | None = None
    until_metres: int | None = None
    reason: str = ""


class Message(SQLModel, table=True):
    """Something to be sent once, in an outbox with a lease; its words are kept, so that a repeat is the same.

    Its id is the Message-ID of a mail and the Idempotency-Key of a webhook's call.
    """

    __table_args__ = (Index("ix_message_waiting", "next_try_at", sqlite_where=WAITING, postgresql_where=WAITING),)

    id: UUID = key()
    channel_id: UUID = refers("channel", cascade=True, index=True)
    kind: str = Field(sa_type=choice("kind", *MESSAGES))
    made_at: datetime
    subject: str
    text: str
    body: str
    claim: UUID | None = None
    leased_until: datetime | None = None
    tries: int = 0
    next_try_at: datetime
    last_error: str | None = None
    sent_at: datetime | None = None


class Reminder(SQLModel, table=True):
    """One thing that a message says: each once a round, and once more where it becomes urgent."""

    __table_args__ = (
        exactly_one("build_id", "part_id"),
        once("reminder_build", *REMINDED, "build_id", where="build_id IS NOT NULL"),
        once("reminder_part", *REMINDED, "part_id", where="part_id IS NOT NULL"),
    )

    id: UUID = key()
    channel_id: UUID = refers("channel", cascade=True)
    message_id: UUID = refers("message", cascade=True, index=True)
    build_id: UUID | None = may_refer("build", cascade=True)
    part_id: UUID | None = may_refer("part", cascade=True)
    task: str
    place: str = ""
    cycle: str
    kind: str = Field(sa_type=choice("kind", *MESSAGES))
