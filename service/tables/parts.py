"""Parts, their specs and the makers' torque figures."""

from datetime import date, datetime
from uuid import UUID

from sqlalchemy import Index
from sqlmodel import Field, SQLModel

from service.tables.columns import choice, exactly_one, key, once, refers, rule

ORIGINS = ("new", "second-hand", "owned", "came fitted")
PART_STATES = ("planned", "ordered", "in hand", "gone")
KNOWN_BY = ("measured", "printed", "maker", "guessed")


class Part(SQLModel, table=True):
    """One physical thing with its own history; `metres_before` is null where its former life is not known."""

    __table_args__ = (
        once("part_tag", "workshop_id", "tag", where="tag IS NOT NULL"),
        Index("ix_part_category", "workshop_id", "category", "state", "id"),
        rule("gone_has_a_day", "(state = 'gone') = (gone_on IS NOT NULL)"),
        rule("pieces_at_least_one", "pieces >= 1"),
    )

    id: UUID = key()
    workshop_id: UUID = refers("workshop")
    category: str
    name: str
    tag: str | None = None
    origin: str = Field(sa_type=choice("origin", *ORIGINS))
    state: str = Field(sa_type=choice("state", *PART_STATES))
    expected_on: date | None = None
    gone_on: date | None = None
    gone_how: str | None = None
    pieces: int = 1
    metres_before: int | None = None
    made_on: date | None = None
    price_minor: int | None = None
    price_new_minor: int | None = None
    mass_claimed_g: float | None = None
    mass_weighed_g: float | None = None
    version: int = 1
    changed_at: datetime
    note: str = ""


class Spec(SQLModel, table=True):
    """One fact of a part; `position` counts the members of a list."""

    __table_args__ = (
        exactly_one("number", "words"),
        Index("ix_spec_number", "field", "number"),
        Index("ix_spec_words", "field", "words"),
    )

    part_id: UUID = refers("part", cascade=True, primary=True)
    field: str = Field(primary_key=True)
    position: int = Field(default=0, primary_key=True)
    number: float | None = None
    words: str | None = None
    known_by: str = Field(sa_type=choice("known_by", *KNOWN_BY))
    note: str = ""


class TorqueFigure(SQLModel, table=True):
    """The maker's figure for one fastening, N·m and as it is printed."""

    __tablename__ = "torque_figure"
    __table_args__ = (rule("low_to_high", "high_nm > 0 AND (low_nm IS NULL OR (low_nm > 0 AND low_nm <= high_nm))"),)

    part_id: UUID = refers("part", cascade=True, primary=True)
    fastening: str = Field(primary_key=True)
    low_nm: float | None = None
    high_nm: float
    as_printed: str = ""
    dressing: str | None = None
