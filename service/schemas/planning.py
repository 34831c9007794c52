"""Planning as it is asked and shown: what if, two bicycles side by side, what is to be got, what would fit."""

from datetime import date
from typing import Annotated, Self
from uuid import UUID

from pydantic import Field, model_validator

from service.schemas.builds import FindingCounts, FindingShown, Missing
from service.schemas.fields import Grams, Key, Money, MoneySum, OwnPlace, Sent, Shown, Slug, Text, Whole, absent
from service.schemas.parts import Origin, PartState, SpecSent

MOST_AT_ONCE = 20
Replaces = Annotated[list[UUID], Field(max_length=MOST_AT_ONCE)]


class CandidateSent(Sent):
    """A part that is known here, supposed on the bicycle: a candidate, or one from the parts bin."""

    part: UUID = Field(description="The part.")
    place: OwnPlace | None = absent("Its whole place, such as front; left out: as planned, or where it replaces.")
    into_part: UUID | None = absent("What it goes into; place is then its own place there.")
    replaces: Replaces = Field(default_factory=list, description="Parts that come off for it, beside what is there.")


class ImaginedSent(Sent):
    """A part that exists nowhere yet, supposed on the bicycle."""

    id: UUID | None = absent("An id of your own, so that another part can go into it.")
    category: Slug = Field(description="What kind of part: an id of /categories.")
    name: Annotated[Text, Field(max_length=120)] = Field(default="", description="What you call it.")
    origin: Origin = Field(default="new", description="Where it would come from.")
    pieces: Annotated[Whole, Field(ge=1, le=1000)] = Field(default=1, description="How many pieces make this part.")
    price: Money | None = absent("What it would cost.")
    mass_g: Grams | None = absent("Mass as the maker says, g.")
    specs: dict[Key, SpecSent] = Field(default_factory=dict, max_length=80, description="Facts by field key.")
    place: OwnPlace | None = absent("Its whole place, such as front or front.left; left out: where it replaces.")
    into_part: UUID | None = absent("What it goes into; place is then its own place there.")
    replaces: Replaces = Field(default_factory=list, description="Parts that come off for it, beside what is there.")


class WhatIfSent(Sent):
    """Parts that are supposed on a build; nothing of it is stored."""

    parts: list[ImaginedSent] = Field(
        default_factory=list, max_length=MOST_AT_ONCE, description="Parts that exist nowhere yet."
    )
    chosen: list[CandidateSent] = Field(
        default_factory=list, max_length=MOST_AT_ONCE, description="Parts that are known here."
    )

    @model_validator(mode="after")
    def _something(self) -> Self:
        if not self.parts and not self.chosen:
            raise ValueError("give at least one part, in parts or in chosen")
        return self


class SideSent(Sent):
    """One of two bicycles: a build as it is, or with parts supposed on it."""

    build: UUID = Field(description="The build.")
    parts: list[ImaginedSent] = Field(
        default_factory=list, max_length=MOST_AT_ONCE, description="Parts that exist nowhere yet."
    )
    chosen: list[CandidateSent] = Field(
        default_factory=list, max_length=MOST_AT_ONCE, description="Parts that are known here, such as one candidate."
    )


class ComparisonSent(Sent):
    """Two bicycles side by side: two builds, or one build with either of two candidates."""

    sides: list[SideSent] = Field(min_length=2, max_length=2, description="The one and the other.")


class PartAtShown(Shown):
    """A part at its place."""

    part: UUID = Field(description="The part.")
    name: str = Field(description="What you call it.")
    category: str = Field(description="What kind of part.")
    place: str = Field(description="Its whole place, such as front.left.")


class MeasurementShown(Shown):
    """A fact to find out, and how."""

    part: UUID | None = Field(description="The part; null for a fact of the build.")
    name: str = Field(description="What you call the part.")
    category: str = Field(description="What kind of part, or build.")
    field: str = Field(description="The key of the fact.")
    title: str = Field(description="What it is.")
    how: str = Field(description="How to measure it at home.")
    settles: list[str] = Field(description="The joins that wait for it.")


class SmallPartNeededShown(Shown):
    """Something small that comes with parts and is rarely in their box."""

    what: str = Field(description="What it is.")
    amount: float = Field(description="How much.")
    unit: str = Field(description="Of what.")
    parts: list[UUID] = Field(description="The parts it is for.")
    undecided: bool = Field(description="Whether a fact that is not measured yet says if it is needed at all.")
    settles: list[str] = Field(description="What to measure then, and how.")


class SmallPartChangeShown(Shown):
    """Something small of which another amount is needed."""

    what: str = Field(description="What it is.")
    unit: str = Field(description="Of what.")
    amount_before: float = Field(description="How much the one needs.")
    amount_after: float = Field(description="How much the other needs.")
    undecided: bool = Field(description="Whether a fact that is not measured yet says if it is needed at all.")


class GearsInShort(Shown):
    """The gears at a glance; null where nothing is known."""

    lowest_m: float | None = Field(description="Development of the lowest gear, m.")
    highest_m: float | None = Field(description="Development of the highest gear, m.")
    range_percent: float | None = Field(description="The highest over the lowest, percent.")
    not_enough: list[str] = Field(description="The limits of derailleurs that do not take it.")


class RoomInShort(Shown):
    """The tightest gap round one tyre."""

    place: str = Field(description="front or rear.")
    tyre: str | None = Field(description="The tyre.")
    where: str | None = Field(description="Where it is tightest.")
    gap_mm: float | None = Field(description="The gap there, mm.")
    wanted_mm: float | None = Field(description="What is to be kept, mm.")
    largest_tyre_mm: float | None = Field(description="The widest tyre that keeps every known gap, mm.")
    answer: str = Field(description="enough, narrow, too little, not known.")


class MassInShort(Shown):
    """The mass at a glance."""

    mass_g: float | None = Field(description="The parts whose mass is known, g; null where none is.")
    leaves_out: str = Field(description="What is not in the sum, counted, then by name; empty where it is whole.")


class CostInShort(Shown):
    """The cost at a glance."""

    total: MoneySum | None = Field(description="Paid, still to buy, and spent; null where nothing of it is known.")
    to_buy: MoneySum | None = Field(description="Of it still to buy; null where no price is known.")
    leaves_out: str = Field(description="What is not in the sum, counted, then by name; empty where it is whole.")


class ProspectShown(Shown):
    """What a bicycle comes to."""

    build: UUID = Field(description="The build.")
    name: str = Field(description="What you call it.")
    on: list[PartAtShown] = Field(description="What is supposed on it.")
    off: list[PartAtShown] = Field(description="What comes off for it.")
    findings: FindingCounts = Field(description="How the joins stand.")
    gears: GearsInShort = Field(description="Its gears.")
    tyre_room: list[RoomInShort] = Field(description="Its tyre room, front and rear.")
    mass: MassInShort = Field(description="Its mass.")
    cost: CostInShort | None = Field(description="Its cost; null for who may only read.")
    small_parts: list[SmallPartNeededShown] = Field(description="What to buy with the parts that are not fitted yet.")
    measure: list[MeasurementShown] = Field(description="What to measure before the joins can be told.")
    not_known: list[str] = Field(description="What gears and tyre room lack, and how to find it out.")


class FindingChangeShown(Shown):
    """A join that answers otherwise; null where there is no such join."""

    join: str = Field(description="The join, as category.key@place.")
    title: str = Field(description="What meets.")
    place: str = Field(description="Where.")
    before: FindingShown | None = Field(description="How it stands on the one.")
    after: FindingShown | None = Field(description="How it stands on the other.")


class WhatIfShown(Shown):
    """A build as it is and as it would be, and what that changes."""

    before: ProspectShown = Field(description="As it is.")
    after: ProspectShown = Field(description="As it would be.")
    findings: list[FindingChangeShown] = Field(description="The joins that answer otherwise.")
    small_parts: list[SmallPartChangeShown] = Field(description="The small parts that differ.")


class ComparisonShown(Shown):
    """Two bicycles side by side; before is the one, after the other."""

    sides: list[ProspectShown] = Field(description="The one and the other.")
    findings: list[FindingChangeShown] = Field(description="The joins that answer otherwise.")
    small_parts: list[SmallPartChangeShown] = Field(description="The small parts that differ.")


class PartToGetShown(Shown):
    """A part that is chosen and not in hand."""

    part: UUID = Field(description="The part.")
    name: str = Field(description="What you call it.")
    category: str = Field(description="What kind of part.")
    place: str = Field(description="Where it goes.")
    state: PartState = Field(description="Planned or ordered.")
    expected_on: date | None = Field(description="The day it should arrive.")
    price: Money | None = Field(description="What it will cost, where that is known.")


class ToolToGetShown(Shown):
    """A tool that steps at home need and the bench lacks."""

    tool: str = Field(description="The tool.")
    size: str | None = Field(description="Its size.")
    title: str = Field(description="What it is called.")
    steps: list[str] = Field(description="The steps that need it.")


class ToolNamed(Shown):
    """A tool by name."""

    tool: str = Field(description="The tool.")
    size: str | None = Field(description="Its size.")
    title: str = Field(description="What it is called.")


class ToolsInsteadShown(Shown):
    """Tools that would bring steps home from a shop."""

    tools: list[ToolNamed] = Field(description="All of them are needed.")
    steps: list[str] = Field(description="The steps that come home with them.")
    visits_saved: int = Field(description="How many visits to a shop that saves.")


class StuffShown(Shown):
    """An amount of something that is used up."""

    what: str = Field(description="What it is.")
    title: str = Field(description="What it is called.")
    amount: float = Field(description="How much.")
    unit: str = Field(description="Of what.")


class VisitToMakeShown(Shown):
    """One visit to a shop: what is done there and what goes along."""

    visit: int = Field(description="Its number.")
    steps: list[str] = Field(description="What is done there.")
    bring: list[PartAtShown] = Field(description="The parts that go along.")
    small_parts: list[SmallPartNeededShown] = Field(description="What those parts still need.")
    consumables: list[StuffShown] = Field(description="What is used up there.")
    ready: bool = Field(description="Whether it is worth going now.")
    waits_for: list[str] = Field(description="What has to be there or done before.")


class ShoppingShown(Shown):
    """What is still to be got for a build."""

    parts: list[PartToGetShown] = Field(description="Parts that are chosen and not in hand.")
    missing: list[Missing] = Field(description="Places for which nothing is chosen yet.")
    small_parts: list[SmallPartNeededShown] = Field(description="Small parts that come with the chosen ones.")
    consumables: list[StuffShown] = Field(description="What the open steps use up.")
    tools: list[ToolToGetShown] = Field(description="Tools that steps at home need and the bench lacks.")
    instead_of_a_shop: list[ToolsInsteadShown] = Field(description="Tools that would bring shop steps home.")
    visits: list[VisitToMakeShown] = Field(description="The visits to a shop, with what to bring.")
    price: MoneySum | None = Field(description="The known prices in one sum; null where none is, and for a reader.")
    without_price: list[str] = Field(description="The parts that are not in that sum.")
    bench_known: bool = Field(description="False: no tool is listed, so each counts as not owned.")
