"""Builds as they are sent and shown: their parts as a tree, what is missing, fittings, plan, the rider's position."""

from datetime import date, datetime
from typing import Annotated, Literal, Self
from uuid import UUID

from pydantic import Field, model_validator

from service.schemas.fields import (
    Day,
    Instant,
    KmBefore,
    Money,
    Name,
    Note,
    Number,
    OwnPlace,
    Sent,
    Short,
    Shown,
    Switch,
    Text,
    WholeGrams,
    WrongField,
    absent,
    emptiable,
)
from service.schemas.parts import PartSent

BuildState = Literal["planned", "assembling", "in service", "laid up", "retired"]
Use = Literal["road race", "road", "mixed", "off-road", "town", "touring"]
Hand = Literal["left", "right"]
BeforeOrAfter = Literal["before", "after"]
PartOfDay = Annotated[BeforeOrAfter, Field(description="With a day alone: before or after that day's rides.")]


class BuildSent(Sent):
    """A bicycle to be stored."""

    id: UUID | None = absent("UUIDv7 chosen by the client, so that a retry is the same request.")
    name: Name = Field(description="What you call it.")
    state: BuildState = Field(default="planned", description="How far it is.")
    use: Use = Field(default="mixed", description="What it is for.")
    motor: Switch = Field(default=False, description="Whether a motor helps.")
    rider_mass_g: WholeGrams | None = absent("The rider, g.")
    load_g: WholeGrams | None = absent("Luggage, g.")
    front_brake_hand: Hand | None = absent("The hand that works the front brake.")
    km_before: KmBefore = Field(default=0, description="Distance before it was written down here, km.")
    compare_price: Money | None = absent("What a complete bicycle costs that this one is compared with.")
    note: Note = Field(default="", description="A remark.")


class BuildChanged(Sent):
    """Changes of a build by merge patch (RFC 7396)."""

    name: Name | None = absent("What you call it.")
    state: BuildState | None = absent("How far it is.")
    use: Use | None = absent("What it is for.")
    motor: Switch | None = absent("Whether a motor helps.")
    rider_mass_g: WholeGrams | None = emptiable("The rider, g.")
    load_g: WholeGrams | None = emptiable("Luggage, g.")
    front_brake_hand: Hand | None = emptiable("The hand that works the front brake.")
    km_before: KmBefore | None = absent("Distance before it was written down here, km.")
    mass_weighed_g: WholeGrams | None = emptiable("The whole bicycle on the scale, g.")
    compare_price: Money | None = emptiable("What a complete bicycle costs that this one is compared with.")
    note: Note | None = absent("A remark.")


class PartInTree(Shown):
    """A part at its place, with what sits in it."""

    slot: str = Field(description="The category it fills.")
    place: str = Field(description="Its own place on what it sits on.")
    whole_place: str = Field(description="Its place on the bicycle, such as front.left.")
    part: UUID = Field(description="The part.")
    name: str = Field(description="What you call it.")
    state: str = Field(description="Whether you have it.")
    planned: bool = Field(description="True where it is chosen but not fitted yet.")
    fitting: UUID = Field(description="The fitting, or the row of the plan.")
    from_at: datetime | None = Field(serialization_alias="from", description="Since when it is fitted.")
    km: float = Field(description="What it has run for certain, km.")
    km_known: bool = Field(description="Whether that is all of it.")
    into: list["PartInTree"] = Field(description="What sits in it.")


class Missing(Shown):
    """A place where a part is wanted and nothing is fitted or chosen."""

    slot: str = Field(description="The category that is wanted.")
    place: str = Field(description="Where.")
    because: str = Field(description="Why it is wanted.")


class FindingCounts(Shown):
    """How the joins stand."""

    conflicts: int = Field(description="Joins that do not meet.")
    needs_care: int = Field(description="Joins that work with care.")
    not_measured: int = Field(description="Joins that wait for a measurement.")
    accepted: int = Field(description="Findings accepted with a reason.")


class DueShort(Shown):
    """The most pressing thing that is due."""

    state: str = Field(description="Where it stands.")
    on: date | None = Field(description="By when, where a day is known.")
    what: str | None = Field(description="What it is.")


class Doubt(Shown):
    """Something in the log that does not agree."""

    say: str = Field(description="What does not agree, and what to look at.")


class BuildShown(Shown):
    """A build with its tree of parts and what is missing."""

    id: UUID = Field(description="The build.")
    name: str = Field(description="What you call it.")
    state: BuildState = Field(description="How far it is.")
    use: Use = Field(description="What it is for.")
    motor: bool = Field(description="Whether a motor helps.")
    rider_mass_g: int | None = Field(description="The rider, g.")
    load_g: int | None = Field(description="Luggage, g.")
    front_brake_hand: Hand | None = Field(description="The hand that works the front brake.")
    km: float = Field(description="What it has run, km.")
    km_before: float = Field(description="Distance before it was written down here, km.")
    mass_weighed_g: int | None = Field(description="The whole bicycle on the scale, g.")
    note: str = Field(description="A remark.")
    parts: list[PartInTree] = Field(description="The parts as a tree.")
    missing: list[Missing] = Field(description="What is wanted and not there.")
    findings: FindingCounts = Field(description="How the joins stand.")
    due: DueShort = Field(description="The most pressing thing that is due.")
    doubts: list[Doubt] = Field(description="What does not agree in the log.")
    version: int = Field(description="Counts the changes; the ETag.")


class BuildLine(Shown):
    """A build in a list."""

    id: UUID = Field(description="The build.")
    name: str = Field(description="What you call it.")
    state: BuildState = Field(description="How far it is.")
    use: Use = Field(description="What it is for.")
    due: DueShort = Field(description="The most pressing thing that is due.")
    version: int = Field(description="Counts the changes; the ETag.")


class BuildPage(Shown):
    """A page of builds."""

    items: list[BuildLine] = Field(description="The builds of this page.")
    next: str | None = Field(description="Where the next page starts; null on the last.")


class When(Sent):
    """An instant, or a day with before or after that day's rides."""

    at: Instant | None = absent("The instant.")
    day: Day | None = absent("The day, where the hour is not known.")
    rides: PartOfDay | None = absent("With a day alone: before or after that day's rides.")

    @model_validator(mode="after")
    def _one_way(self) -> Self:
        if self.at is not None and (self.day is not None or self.rides is not None):
            raise ValueError("give either at, or day (and rides)")
        if self.rides is not None and self.day is None:
            raise WrongField("day", "is missing; rides says before or after the rides of a day: give the day")
        return self


class FittingSent(When):
    """A part to be fitted: on the build, or into a part that is on it."""

    id: UUID | None = absent("UUIDv7 chosen by the client; made from the plan, it takes the row's id.")
    part: UUID = Field(description="The part.")
    into_part: UUID | None = absent("What it goes into, such as a wheel; left out: the build itself.")
    place: OwnPlace = Field(default="", description="Its own place there, such as front or left.")


class FittingChanged(When):
    """A corrected beginning or end of a fitting, or its end: taking off. The fitting keeps its id."""

    end_at: Instant | None = emptiable("The instant it was taken off; null puts it back.")
    end_day: Day | None = absent("The day it was taken off.")
    end_rides: PartOfDay | None = absent("With a day alone: before or after that day's rides.")
    why_removed: Short | None = emptiable("Why it was taken off.")


class FittingShown(Shown):
    """A part on a build or in another part, from one instant to another."""

    id: UUID = Field(description="The fitting.")
    part: UUID = Field(description="The part.")
    build: UUID | None = Field(description="The build it is on directly.")
    into_part: UUID | None = Field(description="The part it sits in.")
    slot: str = Field(description="The category it fills.")
    place: str = Field(description="Its own place there.")
    from_at: datetime = Field(serialization_alias="from", description="Since when.")
    to_at: datetime | None = Field(serialization_alias="to", description="Until when.")
    why_removed: str | None = Field(description="Why it was taken off.")
    also: list[str] = Field(description="What else was changed with it, in words.")


class FittingPage(Shown):
    """The fittings of a build."""

    items: list[FittingShown] = Field(description="Present and past fittings, newest first.")
    next: str | None = Field(description="Always null: fittings come whole.")


class SwapSent(When):
    """One part off and another on, in one instant and one transaction."""

    id: UUID | None = absent("UUIDv7 of the new fitting, chosen by the client.")
    off: UUID = Field(description="The part that comes off.")
    on: UUID | None = absent("A part that is known here and goes on.")
    new: PartSent | None = absent("A new part that goes on.")
    same_again: Switch = Field(default=False, description="A new part with the facts of the old one goes on.")
    why_removed: Short = Field(default="", description="Why the old one came off.")

    @model_validator(mode="after")
    def _one_part(self) -> Self:
        if (self.on is not None) + (self.new is not None) + self.same_again != 1:
            raise ValueError("give exactly one of on, new, same_again")
        return self


class PlanSent(Sent):
    """A candidate for a place."""

    id: UUID | None = absent("UUIDv7 chosen by the client.")
    into_part: UUID | None = absent("What it will go into, such as a wheel; left out: the build itself.")
    place: OwnPlace = Field(default="", description="Its own place there.")
    chosen: Switch = Field(default=True, description="Whether it is the one.")
    note: Note = Field(default="", description="A remark.")


class PlanShown(Shown):
    """A candidate for a place."""

    id: UUID = Field(description="The row; the fitting made from it takes this id.")
    part: UUID = Field(description="The part.")
    into_part: UUID | None = Field(description="What it will go into.")
    slot: str = Field(description="The category it fills.")
    place: str = Field(description="Its own place there.")
    chosen: bool = Field(description="Whether it is the one.")
    note: str = Field(description="A remark.")


class SetUpSent(Sent):
    """The rider's position and pressures at one time."""

    id: UUID | None = absent("UUIDv7 chosen by the client.")
    at: Instant | None = absent("When; left out: now.")
    front_kpa: Annotated[Number, Field(gt=0, le=2000)] | None = absent("Front pressure, kPa.")
    rear_kpa: Annotated[Number, Field(gt=0, le=2000)] | None = absent("Rear pressure, kPa.")
    saddle_height_mm: Annotated[Number, Field(gt=0, le=1500)] | None = absent("Shell centre to saddle top, mm.")
    saddle_setback_mm: Annotated[Number, Field(ge=-500, le=500)] | None = absent("Nose behind shell centre, mm.")
    bar_reach_mm: Annotated[Number, Field(ge=0, le=1500)] | None = absent("Saddle nose to bar, mm.")
    bar_drop_mm: Annotated[Number, Field(ge=-500, le=500)] | None = absent("Bar below the saddle, mm.")
    note: Note = Field(default="", description="A remark.")


class SetUpShown(Shown):
    """The rider's position and pressures at one time."""

    id: UUID = Field(description="The set-up.")
    at: datetime = Field(description="When.")
    front_kpa: float | None = Field(description="Front pressure, kPa.")
    rear_kpa: float | None = Field(description="Rear pressure, kPa.")
    saddle_height_mm: float | None = Field(description="Shell centre to saddle top, mm.")
    saddle_setback_mm: float | None = Field(description="Nose behind shell centre, mm.")
    bar_reach_mm: float | None = Field(description="Saddle nose to bar, mm.")
    bar_drop_mm: float | None = Field(description="Bar below the saddle, mm.")
    note: str = Field(description="A remark.")


class SetUpPage(Shown):
    """The set-ups of a build."""

    items: list[SetUpShown] = Field(description="Newest first.")
    next: str | None = Field(description="Always null: set-ups come whole.")


class PlanPage(Shown):
    """The plan of a build."""

    items: list[PlanShown] = Field(description="Every candidate.")
    next: str | None = Field(description="Always null: the plan comes whole.")


class FactCompared(Shown):
    """One fact that a join compares."""

    part: UUID | None = Field(description="The part it belongs to.")
    field: str = Field(description="The spec, as category.key or key.")
    number: float | None = Field(description="In the unit that ends the key.")
    words: str | None = Field(description="A choice or a mark.")
    known_by: str = Field(description="How it is known; empty where it is not.")


class AcceptanceSent(Sent):
    """A conflict accepted with a reason, for exactly the parts and facts that its fingerprint names."""

    reason: Annotated[Text, Field(min_length=1, max_length=400)] = Field(description="Why it will do all the same.")
    fingerprint: Annotated[Text, Field(max_length=200)] = Field(
        description="The finding's fingerprint as it was shown."
    )


class AcceptanceShown(Shown):
    """That a conflict was accepted."""

    reason: str = Field(description="Why.")
    at: datetime = Field(description="When.")


class FindingShown(Shown):
    """How one join stands."""

    join: str = Field(description="The join, as category.key@place.")
    title: str = Field(description="What meets.")
    answer: str = Field(description="meets, needs care, conflicts, not measured yet.")
    alternative: str | None = Field(description="The case of care that holds.")
    say: str = Field(description="What it means.")
    facts: list[FactCompared] = Field(description="What was compared.")
    measure: list[str] = Field(description="What to measure, and how.")
    acceptable: bool = Field(description="Whether a conflict may be accepted with a reason.")
    accepting_adds: str | None = Field(description="The step that accepting it adds to the checklist, as category.key.")
    acceptance: AcceptanceShown | None = Field(description="That it was accepted for these parts and facts.")
    basis: str = Field(description="Where the rule comes from.")
    source: str | None = Field(description="The source, an id of /sources.")
    fingerprint: str = Field(description="Names the parts and facts that were compared.")


class FindingPage(Shown):
    """The findings of a build."""

    items: list[FindingShown] = Field(description="Conflicts first.")
    next: str | None = Field(description="Always null: findings come whole.")
