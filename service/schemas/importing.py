"""Rides out of files: what is told beside a file, and what is answered about every row of a sheet."""

from datetime import date, datetime
from typing import Literal

from pydantic import Field

from service.schemas.fields import Day, Note, Sent, Shown, Switch, absent
from service.schemas.riding import Conditions

Repeats = Literal["ask", "leave-out", "keep"]
FIRST_RIDES = 20


class ToldBeside(Sent):
    """What a file of rides does not say itself."""

    day: Day | None = absent("The day of a track without times.")
    conditions: Conditions = Field(default="dry", description="The ground and weather for most of it.")
    loaded: Switch = Field(default=False, description="15 kg of luggage or more, or a trailer.")
    descents: Switch = Field(default=False, description="Long descents, or stop-and-go town riding.")
    note: Note = Field(default="", description="A remark.")
    sure: Switch = Field(default=False, description="True where a day of more than 2,000 km is right.")


class RowSaid(Shown):
    """What is said about one row of a file."""

    line: int = Field(description="The line of the file where the row begins; the first is 1.")
    column: str = Field(description="The column by its name; empty where it is about the whole row.")
    say: str = Field(description="What is wrong and what would be right, or why the row is not stored.")


class RideRead(Shown):
    """A ride as a row tells it."""

    line: int = Field(description="The line of the file.")
    started_at: datetime = Field(description="When it began; noon of the day where no time is told.")
    day: date = Field(description="The civil day where it happened.")
    km: float = Field(description="How far, km.")
    moving_s: int | None = Field(description="Time moving, s.")
    climb_m: int | None = Field(description="Climb, m.")
    conditions: Conditions = Field(description="The ground and weather for most of it.")
    note: str = Field(description="A remark.")


class ColumnsRead(Shown):
    """How the columns were read: each by name, empty where none was; units, and what was found out."""

    when: str = Field(description="The column of the day, with or without a time.")
    time_of_day: str = Field(description="The column of the time of day.")
    distance: str = Field(description="The column of the distance.")
    moving_time: str = Field(description="The column of the moving time.")
    climb: str = Field(description="The column of the climb.")
    conditions_column: str = Field(description="The column of the conditions.")
    note: str = Field(description="The column of the remark.")
    distance_unit: str | None = Field(description="km, m or mi; null where every cell says its own.")
    moving_time_unit: str | None = Field(description="s, min, h, h:mm or mm:ss; null where it is not needed.")
    climb_unit: str | None = Field(description="m or ft; null where it is not needed.")
    date_order: str | None = Field(description="day-first or month-first, where the year stands last.")
    decimal: str | None = Field(description="point or comma: what parts the fraction off.")


class RidesImported(Shown):
    """What importing a sheet did, or with `dry_run` would do."""

    dry_run: bool = Field(description="Whether nothing was stored.")
    rows_count: int = Field(description="Rows in the file, without the header.")
    rides_count: int = Field(description="Rides that are stored by this.")
    km: float = Field(description="Their distance, km.")
    first_day: date | None = Field(description="The first day of these rides.")
    last_day: date | None = Field(description="The last day of these rides.")
    stored_already_count: int = Field(description="Rows whose ride an earlier import has stored.")
    removed_since_count: int = Field(description="Rows whose ride was stored and removed since; it stays removed.")
    columns: ColumnsRead = Field(description="How the columns were read.")
    problems: list[RowSaid] = Field(description="Every row that cannot be stored as it is, in the order of the lines.")
    left_out: list[RowSaid] = Field(description="Every row that is not stored although it is right, and why.")
    first_rides: list[RideRead] = Field(description=f"The first {FIRST_RIDES} rides that are stored by this.")
