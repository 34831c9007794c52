"""Rides and odometer readings as they are sent and shown, in km."""

from datetime import date, datetime
from typing import Annotated, Any, Literal, Self
from uuid import UUID

from pydantic import Field, model_validator

from service.schemas.fields import (
    Day,
    Instant,
    Note,
    OdometerKm,
    RideKm,
    Sent,
    Shown,
    Switch,
    Whole,
    absent,
    check_day,
    emptiable,
    with_civil_day,
)

Conditions = Literal["dry", "dusty", "wet", "gritty", "salted", "indoor", "roller"]
Seconds = Annotated[Whole, Field(gt=0, le=10_000_000)]
Climb = Annotated[Whole, Field(ge=0, le=200_000)]


class RideLogged(Sent):
    """A ride: when (an instant, or a day alone) and how far."""

    id: UUID | None = absent("UUIDv7 chosen by the client, so that a retry is the same request.")
    build: UUID = Field(description="The build that was ridden.")
    started_at: Instant | None = absent("When it began; with a day alone it counts from noon.")
    day: Day | None = absent("The civil day where it happened; left out: the day of started_at.")
    km: RideKm = Field(description="How far, km; more than 0, at most once round the earth.")
    moving_s: Seconds | None = absent("Time moving, s.")
    climb_m: Climb | None = absent("Climb, m.")
    conditions: Conditions = Field(default="dry", description="The ground and weather for most of it.")
    loaded: Switch = Field(default=False, description="15 kg of luggage or more, or a trailer.")
    descents: Switch = Field(default=False, description="Long descents, or stop-and-go town riding.")
    sure: Switch = Field(default=False, description="True where the day's distance passes 2,000 km and is right.")
    note: Note = Field(default="", description="A remark.")

    @model_validator(mode="after")
    def _some_time(self) -> Self:
        if self.started_at is None and self.day is None:
            raise ValueError("give started_at, or the day alone")
        return self

    @model_validator(mode="before")
    @classmethod
    def _day_where_it_happened(cls, sent: Any) -> Any:
        return with_civil_day(sent, "started_at")

    @model_validator(mode="after")
    def _same_day(self) -> Self:
        check_day(self.day, self.started_at, "started_at")
        return self


class RideChanged(Sent):
    """Changes of a ride by merge patch (RFC 7396)."""

    started_at: Instant | None = absent("When it began.")
    day: Day | None = absent("The civil day where it happened.")
    km: RideKm | None = absent("How far, km.")
    moving_s: Seconds | None = emptiable("Time moving, s.")
    climb_m: Climb | None = emptiable("Climb, m.")
    conditions: Conditions | None = absent("The ground and weather for most of it.")
    loaded: Switch | None = absent("15 kg of luggage or more, or a trailer.")
    descents: Switch | None = absent("Long descents, or stop-and-go town riding.")
    sure: Switch = Field(default=False, description="True where the day's distance passes 2,000 km and is right.")
    note: Note | None = absent("A remark.")

    @model_validator(mode="before")
    @classmethod
    def _day_where_it_happened(cls, sent: Any) -> Any:
        return with_civil_day(sent, "started_at")

    @model_validator(mode="after")
    def _same_day(self) -> Self:
        check_day(self.day, self.started_at, "started_at")
        return self


class RideShown(Shown):
    """A ride."""

    id: UUID = Field(description="The ride.")
    build: UUID = Field(description="The build that was ridden.")
    started_at: datetime = Field(description="When it began.")
    day: date = Field(description="The civil day where it happened.")
    km: float = Field(description="How far, km.")
    moving_s: int | None = Field(description="Time moving, s.")
    climb_m: int | None = Field(description="Climb, m.")
    conditions: Conditions = Field(description="The ground and weather for most of it.")
    loaded: bool = Field(description="15 kg of luggage or more, or a trailer.")
    descents: bool = Field(description="Long descents, or stop-and-go town riding.")
    source: str = Field(description="By hand, or from which kind of file.")
    note: str = Field(description="A remark.")
    version: int = Field(description="Counts the changes; the ETag.")


class RideAsk(Shown):
    """One thing that a ride asks for once it is over."""

    part_id: UUID | None = Field(serialization_alias="part", description="The part; null for the whole bicycle.")
    task: str = Field(description="The task, as category.key.")
    title: str = Field(description="What is to be done or looked at.")
    where: str = Field(description="Where on the bicycle.")
    why: str = Field(description="What of the ride asks for it.")
    kind: str = Field(description="The kind of maintenance event to log once it is done.")


class RideAsks(Shown):
    """What a ride asks for; nothing after a dry ride."""

    items: list[RideAsk] = Field(description="In the order to do them.")
    next: str | None = Field(description="Always null: they come whole.")


class RidePage(Shown):
    """A page of rides."""

    items: list[RideShown] = Field(description="The rides of this page, newest first.")
    next: str | None = Field(description="Where the next page starts; null on the last.")


class OdometerRead(Sent):
    """What the instrument showed."""

    id: UUID | None = absent("UUIDv7 chosen by the client.")
    build: UUID = Field(description="The build.")
    at: Instant | None = absent("When it was read; left out: now.")
    day: Day | None = absent("The civil day; left out: the day of at.")
    km: OdometerKm = Field(description="What it showed, km.")
    restarts: Switch = Field(default=False, description="A new or reset instrument: nothing before it is known.")

    @model_validator(mode="before")
    @classmethod
    def _day_where_it_happened(cls, sent: Any) -> Any:
        return with_civil_day(sent, "at")

    @model_validator(mode="after")
    def _same_day(self) -> Self:
        check_day(self.day, self.at, "at")
        return self


class OdometerChanged(Sent):
    """Changes of a reading by merge patch (RFC 7396)."""

    at: Instant | None = absent("When it was read.")
    day: Day | None = absent("The civil day.")
    km: OdometerKm | None = absent("What it showed, km.")
    restarts: Switch | None = absent("A new or reset instrument.")

    @model_validator(mode="before")
    @classmethod
    def _day_where_it_happened(cls, sent: Any) -> Any:
        return with_civil_day(sent, "at")

    @model_validator(mode="after")
    def _same_day(self) -> Self:
        check_day(self.day, self.at, "at")
        return self


class OdometerShown(Shown):
    """What the instrument showed."""

    id: UUID = Field(description="The reading.")
    build: UUID = Field(description="The build.")
    at: datetime = Field(description="When it was read.")
    day: date = Field(description="The civil day.")
    km: float = Field(description="What it showed, km.")
    restarts: bool = Field(description="A new or reset instrument.")
    version: int = Field(description="Counts the changes; the ETag.")


class OdometerPage(Shown):
    """A page of readings."""

    items: list[OdometerShown] = Field(description="The readings of this page, newest first.")
    next: str | None = Field(description="Where the next page starts; null on the last.")
