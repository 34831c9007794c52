"""Builds, what is planned and fitted on them, what was accepted, the rider's position, expenses."""

from datetime import date, datetime
from uuid import UUID

from sqlalchemy import Index, UniqueConstraint, text
from sqlmodel import Field, SQLModel

from service.tables.columns import choice, exactly_one, key, may_refer, once, refers, rule

BUILD_STATES = ("planned", "assembling", "in service", "laid up", "retired")
USES = ("road race", "road", "mixed", "off-road", "town", "touring")


class Build(SQLModel, table=True):
    """One bicycle, from the first planned part to retirement."""

    __table_args__ = (
        Index("ix_build_state", "workshop_id", "state", "name", "id"),
        Index("ix_build_due", "workshop_id", "due_rank", "due_on", "id"),
        Index(
            "ix_build_stale",
            "workshop_id",
            "changed_at",
            sqlite_where=text("due_stale = 1"),
            postgresql_where=text("due_stale"),
        ),
    )

    id: UUID = key()
    workshop_id: UUID = refers("workshop")
    name: str
    state: str = Field(sa_type=choice("state", *BUILD_STATES))
    use: str = Field(sa_type=choice("use", *USES))
    motor: bool = False
    rider_mass_g: int | None = None
    load_g: int | None = None
    front_brake_hand: str | None = Field(default=None, sa_type=choice("front_brake_hand", "left", "right"))
    metres_before: int = 0
    mass_weighed_g: int | None = None
    compare_price_minor: int | None = None
    due_rank: int = 0
    due_on: date | None = None
    due_what: str | None = None
    due_stale: bool = False
    version: int = 1
    changed_at: datetime
    note: str = ""


class Plan(SQLModel, table=True):
    """A candidate for a place; the fitting made from it takes its id and this row goes.

    A tyre for the front wheel and one for the rear wheel have the same slot and place, so what they go into counts too.
    """

    __table_args__ = (
        once("plan_on_build", "build_id", "slot", "place", where="chosen AND into_part_id IS NULL"),
        once(
            "plan_in_part",
            "build_id",
            "into_part_id",
            "slot",
            "place",
            where="chosen AND into_part_id IS NOT NULL",
        ),
        UniqueConstraint("build_id", "part_id"),
    )

    id: UUID = key()
    build_id: UUID = refers("build", cascade=True)
    part_id: UUID = refers("part", cascade=True, index=True)
    into_part_id: UUID | None = may_refer("part", cascade=True, index=True)
    slot: str
    place: str = ""
    chosen: bool = True
    note: str = ""


class Fitting(SQLModel, table=True):
    """A part on a build or in another part, from one instant to another (half open)."""

    __table_args__ = (
        exactly_one("build_id", "into_part_id"),
        rule("to_after_from", "to_at IS NULL OR to_at > from_at"),
        rule("not_into_itself", "into_part_id IS NULL OR into_part_id <> part_id"),
        once("fitting_of_part", "part_id", where="to_at IS NULL"),
        once("fitting_on_build", "build_id", "slot", "place", where="to_at IS NULL AND build_id IS NOT NULL"),
        once("fitting_in_part", "into_part_id", "slot", "place", where="to_at IS NULL AND into_part_id IS NOT NULL"),
        Index("ix_fitting_part", "part_id", "from_at"),
        Index("ix_fitting_build", "build_id", "from_at"),
        Index("ix_fitting_into", "into_part_id", "from_at"),
    )

    id: UUID = key()
    part_id: UUID = refers("part")
    build_id: UUID | None = may_refer("build")
    into_part_id: UUID | None = may_refer("part")
    slot: str
    place: str = ""
    from_at: datetime
    to_at: datetime | None = None
    why_removed: str | None = None


class Acceptance(SQLModel, table=True):
    """A finding accepted with a reason, for exactly these fittings and facts."""

    build_id: UUID = refers("build", cascade=True, primary=True)
    join: str = Field(primary_key=True)
    fingerprint: str = Field(primary_key=True)
    finding: str
    reason: str
    by_id: UUID | None = may_refer("person")
    at: datetime


class SetUp(SQLModel, table=True):
    """The rider's position and pressures at one time."""

    __tablename__ = "set_up"
    __table_args__ = (Index("ix_set_up_build", "build_id", "at"),)

    id: UUID = key()
    build_id: UUID = refers("build", cascade=True)
    at: datetime
    front_kpa: float | None = None
    rear_kpa: float | None = None
    saddle_height_mm: float | None = None
    saddle_setback_mm: float | None = None
    bar_reach_mm: float | None = None
    bar_drop_mm: float | None = None
    note: str = ""


class Expense(SQLModel, table=True):
    """Money that went on a build beside its parts."""

    id: UUID = key()
    build_id: UUID = refers("build", cascade=True, index=True)
    kind: str = Field(sa_type=choice("kind", "shop", "tool", "consumable", "carriage"))
    amount_minor: int
    day: date
    note: str = ""
    version: int = 1
