"""Parts as they are sent and shown: facts, makers' torque figures, where they are, what they have run."""

from datetime import date, datetime
from typing import Annotated, Any, Literal, Self
from uuid import UUID

from pydantic import Field, model_validator

from service.schemas.fields import (
    Day,
    FreeNumber,
    Grams,
    Key,
    KmBefore,
    Money,
    Name,
    Note,
    Sent,
    Shown,
    Slug,
    Switch,
    Text,
    TorqueNm,
    Whole,
    Word,
    WrongField,
    absent,
    emptiable,
)

Origin = Literal["new", "second-hand", "owned", "came fitted"]
PartState = Literal["planned", "ordered", "in hand", "gone"]
KnownBy = Literal["measured", "printed", "maker", "guessed"]


class SpecSent(Sent):
    """One fact of a part: exactly one of number, words, numbers, choices."""

    number: FreeNumber | None = absent("A number in the unit that ends the field's key.")
    words: Word | None = absent("A choice, a mark, yes or no, or a day as 2026-03-14.")
    numbers: Annotated[list[FreeNumber], Field(min_length=1, max_length=20)] | None = absent("Several numbers.")
    choices: Annotated[list[Word], Field(min_length=1, max_length=20)] | None = absent("Several choices.")
    known_by: KnownBy = Field(default="measured", description="How the fact is known.")
    sure: Switch = Field(default=False, description="True where an unlikely number is right.")
    note: Note = Field(default="", description="A remark.")

    @model_validator(mode="after")
    def _one_of_them(self) -> Self:
        given = [each for each in (self.number, self.words, self.numbers, self.choices) if each is not None]
        if len(given) != 1:
            raise ValueError("give exactly one of number, words, numbers, choices")
        return self


class SpecShown(Shown):
    """One fact of a part; of the first four fields the one that is entered."""

    number: float | None = Field(description="In the unit that ends the field's key.")
    words: str | None = Field(description="A choice, a mark, yes or no, or a day.")
    numbers: list[float] | None = Field(description="Several numbers.")
    choices: list[str] | None = Field(description="Several choices.")
    known_by: KnownBy = Field(description="How the fact is known.")
    note: str = Field(description="A remark.")


class TorqueFigureSent(Sent):
    """The maker's figure for one fastening; no low where only a maximum is printed."""

    low_nm: TorqueNm | None = absent("Least torque, N·m; leave it out where only a maximum is printed.")
    high_nm: TorqueNm = Field(description="Most torque, N·m.")
    as_printed: Annotated[Text, Field(max_length=120)] = Field(
        default="", description="What is printed, with its unit."
    )
    dressing: Annotated[Text, Field(max_length=60)] | None = absent("Grease, threadlock, dry, paste.")
    sure: Switch = Field(default=False, description="True where an unlikely figure is right.")

    @model_validator(mode="after")
    def _low_below_high(self) -> Self:
        if self.low_nm is not None and self.low_nm > self.high_nm:
            raise WrongField("low_nm", "is above high_nm; the lower figure comes first")
        return self


class TorqueFigureShown(Shown):
    """The maker's figure for one fastening."""

    low_nm: float | None = Field(description="Least torque, N·m, where one is printed.")
    high_nm: float = Field(description="Most torque, N·m.")
    as_printed: str = Field(description="As printed, with its unit.")
    dressing: str | None = Field(description="Grease, threadlock, dry, paste.")


class PartSent(Sent):
    """A part to be stored."""

    id: UUID | None = absent("UUIDv7 chosen by the client, so that a retry is the same request.")
    category: Slug = Field(description="What kind of part: an id of /categories.")
    name: Name = Field(description="What you call it.")
    tag: Annotated[Text, Field(min_length=1, max_length=20)] | None = absent("What is written on the box.")
    origin: Origin = Field(default="new", description="Where it came from.")
    state: PartState = Field(default="in hand", description="Whether you have it.")
    expected_on: Day | None = absent("The day it should arrive.")
    pieces: Annotated[Whole, Field(ge=1, le=1000)] = Field(default=1, description="How many pieces make this part.")
    km_before: KmBefore | None = absent("Distance before it came, km; a new part has none, another's is not known.")
    made_on: Day | None = absent("The day it was made.")
    price: Money | None = absent("What was paid.")
    price_new: Money | None = absent("What it costs as new.")
    mass_claimed_g: Grams | None = absent("Mass as the maker says, g.")
    mass_weighed_g: Grams | None = absent("Mass as weighed, g.")
    note: Note = Field(default="", description="A remark.")
    specs: dict[Key, SpecSent] = Field(default_factory=dict, max_length=80, description="Facts by field key.")
    torque_figures: dict[Key, TorqueFigureSent] = Field(
        default_factory=dict, max_length=40, description="The maker's figures by fastening key."
    )


class PartChanged(Sent):
    """Changes of a part by merge patch (RFC 7396): a field left out stays, null empties it."""

    name: Name | None = absent("What you call it.")
    tag: Annotated[Text, Field(min_length=1, max_length=20)] | None = emptiable("What is written on the box.")
    origin: Origin | None = absent("Where it came from.")
    state: PartState | None = absent("Whether you have it.")
    expected_on: Day | None = emptiable("The day it should arrive.")
    gone_on: Day | None = emptiable("The day it went.")
    gone_how: Annotated[Text, Field(max_length=200)] | None = emptiable("Sold, broken, given away.")
    pieces: Annotated[Whole, Field(ge=1, le=1000)] | None = absent("How many pieces it is.")
    km_before: KmBefore | None = emptiable("Distance before it came, km; null is not known.")
    made_on: Day | None = emptiable("The day it was made.")
    price: Money | None = emptiable("What was paid.")
    price_new: Money | None = emptiable("What it costs as new.")
    mass_claimed_g: Grams | None = emptiable("Mass as the maker says, g.")
    mass_weighed_g: Grams | None = emptiable("Mass as weighed, g.")
    note: Note | None = absent("A remark.")


class OnBuild(Shown):
    """Where a part is: on which build, at which place, since when."""

    build: UUID = Field(description="The build.")
    into_part: UUID | None = Field(description="The part it sits in, such as a wheel.")
    slot: str = Field(description="The category it fills.")
    place: str = Field(description="Its whole place, such as front or front.left.")
    fitting: UUID = Field(description="The fitting.")
    from_at: datetime = Field(serialization_alias="from", description="Since when.")


class PartKm(Shown):
    """What a part has run; `known` is false where its former life is not."""

    least: float = Field(description="Distance that is certain, km.")
    known: bool = Field(description="Whether that is all of it.")


class PartShown(Shown):
    """A part with its facts."""

    id: UUID = Field(description="The part.")
    category: str = Field(description="What kind of part.")
    name: str = Field(description="What you call it.")
    tag: str | None = Field(description="What is written on the box.")
    origin: Origin = Field(description="Where it came from.")
    state: PartState = Field(description="Whether you have it.")
    expected_on: date | None = Field(description="The day it should arrive.")
    gone_on: date | None = Field(description="The day it went.")
    gone_how: str | None = Field(description="Sold, broken, given away.")
    pieces: int = Field(description="How many pieces it is.")
    km_before: float | None = Field(description="Distance before it came, km; null is not known.")
    made_on: date | None = Field(description="The day it was made.")
    price: Money | None = Field(description="What was paid.")
    price_new: Money | None = Field(description="What it costs as new.")
    mass_claimed_g: float | None = Field(description="Mass as the maker says, g.")
    mass_weighed_g: float | None = Field(description="Mass as weighed, g.")
    note: str = Field(description="A remark.")
    specs: dict[str, SpecShown] = Field(description="Facts by field key.")
    torque_figures: dict[str, TorqueFigureShown] = Field(description="The maker's figures by fastening key.")
    on: OnBuild | None = Field(description="Where it is fitted; null in the parts bin.")
    km: PartKm = Field(description="What it has run.")
    version: int = Field(description="Counts the changes; the ETag.")


class FitShown(Shown):
    """How a part would meet at a place of a build."""

    answer: str | None = Field(
        description="The worst of its joins there: meets, needs care, not measured yet, conflicts; null: it has none."
    )
    conflicts: list[str] = Field(description="What does not meet.")
    needs_care_for: list[str] = Field(description="What works with care.")
    measure: list[str] = Field(description="What to measure before it can be said, and how.")


class PartLine(Shown):
    """A part in a list."""

    id: UUID = Field(description="The part.")
    category: str = Field(description="What kind of part.")
    name: str = Field(description="What you call it.")
    tag: str | None = Field(description="What is written on the box.")
    origin: Origin = Field(description="Where it came from.")
    state: PartState = Field(description="Whether you have it.")
    on_build: UUID | None = Field(description="The build it is on; null in the parts bin.")
    fits: FitShown | None = Field(description="How it would meet at the place that `fits` asks for; null unasked.")
    version: int = Field(description="Counts the changes; the ETag.")


class PartPage(Shown):
    """A page of parts."""

    items: list[PartLine] = Field(description="The parts of this page.")
    next: str | None = Field(description="Where the next page starts; null on the last.")


def spec_rows(sent: SpecSent) -> list[dict[str, Any]]:
    """The rows of one fact: one, or one for each member of a list."""
    if sent.number is not None or sent.words is not None:
        return [{"position": 0, "number": sent.number, "words": sent.words}]
    members: list[dict[str, Any]] = [{"number": each, "words": None} for each in sent.numbers or []]
    members += [{"number": None, "words": each} for each in sent.choices or []]
    return [{"position": place, **member} for place, member in enumerate(members, start=1)]
