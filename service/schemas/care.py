"""Maintenance events, wear measurements, what is due, rules and put-offs, as they are sent and shown."""

from datetime import date, datetime
from typing import Annotated, Any, Literal, Self
from uuid import UUID

from pydantic import Field, model_validator

from service.schemas.fields import (
    Day,
    FreeNumber,
    Instant,
    KmBefore,
    Note,
    Number,
    Sent,
    Short,
    Shown,
    Switch,
    Text,
    Whole,
    Word,
    WrongField,
    absent,
    check_day,
    emptiable,
    with_civil_day,
)

EventKind = Literal[
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
]
Found = Literal["fine", "worn", "damaged"]
Days = Annotated[Whole, Field(gt=0, le=36_500)]


class EventLogged(Sent):
    """Something done or found, on a part or on the whole build."""

    id: UUID | None = absent("UUIDv7 chosen by the client, so that a retry is the same request.")
    part: UUID | None = absent("The part it concerns.")
    build: UUID | None = absent("The build it concerns, where it is the whole bicycle.")
    kind: EventKind = Field(description="What was done or happened.")
    found: Found | None = absent("What was found.")
    at: Instant | None = absent("When; left out: now.")
    day: Day | None = absent("The civil day; left out: the day of at.")
    by_shop: Switch = Field(default=False, description="Whether a shop did it.")
    tasks: Annotated[list[Word], Field(max_length=40)] | None = absent(
        "The tasks it completes, as category.key; left out: the only one of this kind, or none."
    )
    note: Note = Field(default="", description="A remark.")

    @model_validator(mode="after")
    def _one_subject(self) -> Self:
        if (self.part is None) == (self.build is None):
            raise ValueError("give exactly one of part and build")
        return self

    @model_validator(mode="before")
    @classmethod
    def _day_where_it_happened(cls, sent: Any) -> Any:
        return with_civil_day(sent, "at")

    @model_validator(mode="after")
    def _same_day(self) -> Self:
        check_day(self.day, self.at, "at")
        return self


class EventChanged(Sent):
    """Changes of an event by merge patch (RFC 7396)."""

    found: Found | None = emptiable("What was found.")
    at: Instant | None = absent("When.")
    day: Day | None = absent("The civil day.")
    by_shop: Switch | None = absent("Whether a shop did it.")
    tasks: Annotated[list[Word], Field(max_length=40)] | None = absent("The tasks it completes.")
    note: Note | None = absent("A remark.")

    @model_validator(mode="before")
    @classmethod
    def _day_where_it_happened(cls, sent: Any) -> Any:
        return with_civil_day(sent, "at")

    @model_validator(mode="after")
    def _same_day(self) -> Self:
        check_day(self.day, self.at, "at")
        return self


class EventShown(Shown):
    """Something done or found."""

    id: UUID = Field(description="The event.")
    part: UUID | None = Field(description="The part it concerns.")
    build: UUID | None = Field(description="The build it concerns.")
    kind: EventKind = Field(description="What was done or happened.")
    found: Found | None = Field(description="What was found.")
    at: datetime = Field(description="When.")
    day: date = Field(description="The civil day.")
    by_shop: bool = Field(description="Whether a shop did it.")
    checklist: UUID | None = Field(description="The job it came from.")
    tasks: list[str] = Field(description="The tasks it completes.")
    may_complete: list[str] = Field(description="Tasks of this kind that it could complete, where none is named.")
    note: str = Field(description="A remark.")
    version: int = Field(description="Counts the changes; the ETag.")


class EventPage(Shown):
    """A page of events."""

    items: list[EventShown] = Field(description="The events of this page, newest first.")
    next: str | None = Field(description="Where the next page starts; null on the last.")


class WearMeasured(Sent):
    """A reading: exact, or between two marks of a gauge (low goes in, high does not)."""

    id: UUID | None = absent("UUIDv7 chosen by the client, so that a retry is the same request.")
    part: UUID = Field(description="The part that was measured.")
    dimension: Word = Field(description="The wearing dimension; its unit is the end of its key.")
    place: Annotated[Text, Field(max_length=60)] = Field(default="", description="Where on the part, such as inner.")
    reading: FreeNumber | None = absent("An exact reading.")
    low: FreeNumber | None = absent("The last mark that goes in.")
    high: FreeNumber | None = absent("The first mark that does not; left out: beyond the last mark.")
    tool: Annotated[Text, Field(min_length=1, max_length=60)] | None = absent("What it was measured with.")
    at: Instant | None = absent("When; left out: now.")
    day: Day | None = absent("The civil day; left out: the day of at.")
    sure: Switch = Field(default=False, description="True where the reading was asked for again and is right.")
    note: Note = Field(default="", description="A remark.")

    @model_validator(mode="after")
    def _reading_or_marks(self) -> Self:
        if (self.reading is None) == (self.low is None):
            raise ValueError("give either reading, or low (and high) of a gauge")
        if self.reading is not None and self.high is not None:
            raise WrongField("high", "belongs to low, the marks of a gauge; leave it out beside a reading")
        if self.low is not None and self.high is not None and self.low > self.high:
            raise WrongField("low", "is above high; the mark that goes in comes first")
        return self

    @model_validator(mode="before")
    @classmethod
    def _day_where_it_happened(cls, sent: Any) -> Any:
        return with_civil_day(sent, "at")

    @model_validator(mode="after")
    def _same_day(self) -> Self:
        check_day(self.day, self.at, "at")
        return self


class WearChanged(Sent):
    """Changes of a measurement by merge patch (RFC 7396)."""

    low: FreeNumber | None = absent("The reading, or the last mark that goes in.")
    high: FreeNumber | None = emptiable("The reading, or the first mark that does not go in.")
    tool: Annotated[Text, Field(min_length=1, max_length=60)] | None = emptiable("What it was measured with.")
    at: Instant | None = absent("When.")
    day: Day | None = absent("The civil day.")
    sure: Switch = Field(default=False, description="True where the reading was asked for again and is right.")
    note: Note | None = absent("A remark.")

    @model_validator(mode="before")
    @classmethod
    def _day_where_it_happened(cls, sent: Any) -> Any:
        return with_civil_day(sent, "at")

    @model_validator(mode="after")
    def _same_day(self) -> Self:
        check_day(self.day, self.at, "at")
        return self


class WearShown(Shown):
    """A reading of one wearing dimension."""

    id: UUID = Field(description="The measurement.")
    part: UUID = Field(description="The part that was measured.")
    dimension: str = Field(description="The wearing dimension.")
    place: str = Field(description="Where on the part.")
    low: float = Field(description="The reading, or the last mark that goes in.")
    high: float | None = Field(description="The reading, or the first mark that does not; null: beyond the last.")
    tool: str | None = Field(description="What it was measured with.")
    at: datetime = Field(description="When.")
    day: date = Field(description="The civil day.")
    note: str = Field(description="A remark.")
    version: int = Field(description="Counts the changes; the ETag.")


class WearPage(Shown):
    """A page of measurements."""

    items: list[WearShown] = Field(description="The measurements of this page, newest first.")
    next: str | None = Field(description="Where the next page starts; null on the last.")


class PutOffSent(Sent):
    """A task put off until a day or a distance; moves the line, never the state."""

    until_on: Day | None = absent("Until this day.")
    until_km: KmBefore | None = absent("Until the bicycle has run this far, km.")
    reason: Short = Field(default="", description="Why; a safety task needs one.")

    @model_validator(mode="after")
    def _until_something(self) -> Self:
        if self.until_on is None and self.until_km is None:
            raise ValueError("give until_on or until_km")
        return self


class RuleSent(Sent):
    """The owner's own limit for a task, or its switching off with a reason."""

    off: Switch = Field(default=False, description="Whether the task is switched off.")
    km: Annotated[Number, Field(gt=0, le=100_000)] | None = absent("Every so many km.")
    days: Days | None = absent("Every so many days.")
    hours: Annotated[Number, Field(gt=0, le=100_000)] | None = absent("Every so many hours.")
    limit_reading: FreeNumber | None = absent("The reading that asks for action.")
    reason: Short = Field(default="", description="Why; switching off needs one.")

    @model_validator(mode="after")
    def _off_or_a_limit(self) -> Self:
        limits = (self.km, self.days, self.hours, self.limit_reading)
        if self.off == any(each is not None for each in limits):
            raise ValueError("give either off with a reason, or a limit (km, days, hours, limit_reading)")
        if self.off and not self.reason:
            raise WrongField("reason", "is missing; switching off needs a reason")
        return self


class KmBetween(Shown):
    """Kilometres with their range: of ten alike, one gets there before the early end, nine before the late one."""

    early: float = Field(description="The early end, km.")
    middle: float = Field(description="As likely before as after, km.")
    late: float | None = Field(description="The late end, km; null where it cannot be told: at least the early one.")


class DaysBetween(Shown):
    """A day with its range: of ten alike, one gets there before the early end, nine before the late one."""

    early: date = Field(description="The early end.")
    middle: date = Field(description="As likely before as after.")
    late: date | None = Field(description="The late end; null where it cannot be told.")


class DueShown(Shown):
    """Where a task or a wearing dimension stands."""

    build_id: UUID = Field(serialization_alias="build", description="The build.")
    part_id: UUID | None = Field(serialization_alias="part", description="The part; null for the whole bicycle.")
    part_name: str | None = Field(description="What the part is called.")
    task: str = Field(description="The task or dimension, as category.key.")
    title: str = Field(description="What is to be done or looked at.")
    place: str = Field(description="Where on the bicycle.")
    state: str = Field(description="do not ride, overdue, due, look once, plan it, fine, resting, switched off.")
    weight: str = Field(description="safety, damage, comfort.")
    km_left: KmBetween | None = Field(
        description="Km left, as it is ridden lately; less than 0 is past; null where distance does not count."
    )
    days_left: int | None = Field(description="Days left; less than 0 is past; null where days do not count.")
    on: DaysBetween | None = Field(description="When it falls due; null where that cannot be told, or is far ahead.")
    chance: float | None = Field(description="Of wear: how likely it is past its limit by now, 0 to 1; else null.")
    refused: str | None = Field(description="Why there is no forecast, or no day; null where there is one.")
    why: str = Field(description="What was done or read and when, the limit, and where the limit comes from.")
    last: date | None = Field(description="The day it was last done or read.")
    cycle: str = Field(description="What started this round.")
    put_off: str | None = Field(description="Until when it is put off and why; stands beside the state.")
    by_wear: bool = Field(description="Whether a reading decides.")
    has_job: bool = Field(description="Whether a job can be started for it.")
    done_by: list[str] = Field(description="The kinds of event that complete it.")
    needs_shop: bool = Field(description="Whether it is work for a shop.")
    within: str | None = Field(description="A bundle, category.key, that is due too and does this; null where none is.")


class DueOfBuild(Shown):
    """What is due on one build, most pressing first."""

    build: UUID = Field(description="The build.")
    name: str = Field(description="What you call it.")
    state: str = Field(description="How far it is.")
    items: list[DueShown] = Field(description="Most pressing first.")


class DuePage(Shown):
    """Builds soonest first, each with its items."""

    items: list[DueOfBuild] = Field(description="The builds of this page.")
    next: str | None = Field(description="Where the next page starts; null on the last.")


class DueList(Shown):
    """What is due on one part, most pressing first."""

    items: list[DueShown] = Field(description="Most pressing first.")
    next: str | None = Field(description="Always null: they come whole.")


class RuleShown(Shown):
    """The owner's own limit for a task."""

    task: str = Field(description="The task, as category.key.")
    off: bool = Field(description="Whether it is switched off.")
    km: float | None = Field(description="Every so many km.")
    days: int | None = Field(description="Every so many days.")
    hours: float | None = Field(description="Every so many hours.")
    limit_reading: float | None = Field(description="The reading that asks for action.")
    reason: str = Field(description="Why.")


class PutOffShown(Shown):
    """A task put off."""

    task: str = Field(description="The task, as category.key.")
    until_on: date | None = Field(description="Until this day.")
    until_km: float | None = Field(description="Until the bicycle has run this far, km.")
    reason: str = Field(description="Why.")
