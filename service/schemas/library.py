"""The library as a client is shown it: categories with facts, joins, fastenings, tasks, wear, each with its basis."""

from datetime import date
from typing import Any

from pydantic import Field

from service.domain.procedure import Category
from service.schemas.fields import Shown


class CategoryLine(Shown):
    """A category in a list."""

    category: str = Field(description="Its id.")
    title: str = Field(description="What it is called.")
    grade: str = Field(description="How far its file is: draft, complete, read through.")
    into: list[str] = Field(description="What it is fitted into.")


class CategoryPage(Shown):
    """The categories."""

    items: list[CategoryLine] = Field(description="Every category.")
    next: str | None = Field(description="Always null: categories come whole.")


class SpecFieldShown(Shown):
    """A fact that decides what a part meets."""

    key: str = Field(description="Its key; a number's unit is the end of it.")
    title: str = Field(description="What it is.")
    kind: str = Field(description="number, choice, yes-no, label, day, numbers, choices.")
    measure: str = Field(description="How to measure it at home.")
    choices: dict[str, str] = Field(description="The choices there are, and how to tell them apart.")
    low: float | None = Field(description="Below it, it is asked for again.")
    high: float | None = Field(description="Above it, it is asked for again.")
    nominal: list[float] = Field(description="The sizes that readings snap to.")
    sizes: list[list[float]] = Field(description="Sizes with their readings: from, to, and the size that is.")
    decided: bool = Field(description="Whether the position check decides it.")
    basis: str | None = Field(description="Where its sizes come from; without sizes, its low and high.")
    source: str | None = Field(description="The source, an id of /sources.")


class FasteningShown(Shown):
    """Where something is tightened; the part maker's figure governs."""

    key: str = Field(description="Its key.")
    title: str = Field(description="What it is.")
    between: list[str] = Field(description="The parts it joins.")
    count: int = Field(description="How many bolts.")
    thread: str | None = Field(description="The thread.")
    when: dict[str, Any] = Field(description="When this row holds.")
    low_nm: float | None = Field(description="Least torque, N·m.")
    high_nm: float | None = Field(description="Most torque, N·m.")
    feel: str | None = Field(description="How it feels when right, where it is not a torque.")
    dressing: str | None = Field(description="Grease, threadlock, dry, paste.")
    left_hand: bool = Field(description="Whether it tightens anticlockwise.")
    basis: str = Field(description="Where the figures come from.")
    source: str | None = Field(description="The source, an id of /sources.")
    note: str | None = Field(description="Where the trade disagrees.")


class JoinShown(Shown):
    """Where parts meet."""

    key: str = Field(description="Its key.")
    title: str = Field(description="What meets.")
    with_: list[str] = Field(serialization_alias="with", description="The other parts.")
    say: str = Field(description="What a conflict means.")
    acceptable: bool = Field(description="Whether a conflict may be accepted with a reason.")
    by: str | None = Field(description="The calculation that answers it, where it is not a rule.")
    basis: str = Field(description="Where the rule comes from.")
    source: str | None = Field(description="The source, an id of /sources.")


class SpanShown(Shown):
    """Whichever comes first."""

    km: float | None = Field(description="So many km.")
    days: int | None = Field(description="So many days.")
    hours: float | None = Field(description="So many hours.")
    parts: int | None = Field(description="So many parts used up.")
    parts_of: str | None = Field(description="Of which category.")


class TaskShown(Shown):
    """What must be done again."""

    key: str = Field(description="Its key.")
    title: str = Field(description="What is to be done.")
    first: SpanShown | None = Field(description="Once after fitting.")
    every: SpanShown | None = Field(description="And then every.")
    after: list[str] = Field(description="The occasions that ask for it.")
    weight: str = Field(description="safety, damage, comfort.")
    basis: str = Field(description="Where the interval comes from.")
    source: str | None = Field(description="The source, an id of /sources.")


class LimitShown(Shown):
    """Where a dimension asks for an action."""

    action: str = Field(description="replace, stop, look.")
    value: float | None = Field(description="In the dimension's unit.")
    spec: str | None = Field(description="The fact that holds the limit.")
    basis: str = Field(description="Where the limit comes from.")
    source: str | None = Field(description="The source, an id of /sources.")


class DimensionShown(Shown):
    """A wearing dimension."""

    key: str = Field(description="Its key; its unit is the end of it.")
    title: str = Field(description="What wears.")
    places: list[str] = Field(description="Where on the part it is read.")
    direction: str = Field(description="grows or shrinks.")
    new: float | dict[str, str] | None = Field(description="What a new one reads, or the fact that holds it.")
    new_spread: float | None = Field(description="How far new ones differ, one standard deviation.")
    reading_error: dict[str, float] = Field(description="Error of a reading, by tool; any for all others.")
    running_in_km: float = Field(description="For so many km it wears at another rate.")
    measure: str = Field(description="How to measure it.")
    limits: list[LimitShown] = Field(description="Where it asks for an action.")
    basis: str | None = Field(description="Where the reading of a new one, its spread and the errors come from.")
    source: str | None = Field(description="The source, an id of /sources.")


class CategoryShown(Shown):
    """Everything the library knows of one kind of part, its steps apart."""

    category: str = Field(description="Its id.")
    title: str = Field(description="What it is called.")
    grade: str = Field(description="How far its file is: draft, complete, read through.")
    exempt: dict[str, str] = Field(description="What is rightly missing in it, and why.")
    into: list[str] = Field(description="What it is fitted into.")
    places: dict[str, list[str]] = Field(description="Its own places, by what it is fitted into; any for all.")
    specs: list[SpecFieldShown] = Field(description="Its facts.")
    fastenings: list[FasteningShown] = Field(description="Its fastenings.")
    joins: list[JoinShown] = Field(description="Where it meets others.")
    tasks: list[TaskShown] = Field(description="What must be done again.")
    wear: list[DimensionShown] = Field(description="What wears.")

    @classmethod
    def of(cls, found: Category) -> "CategoryShown":
        """A category of the library."""
        places = found.places
        by_host = places if not isinstance(places, str | tuple) else {"any": () if isinstance(places, str) else places}
        return cls.model_validate(
            {
                **{name: getattr(found, name) for name in ("category", "title", "grade", "exempt", "into", "specs")},
                **{name: getattr(found, name) for name in ("fastenings", "joins", "tasks", "wear")},
                "places": {host: list(each) for host, each in by_host.items()},
            }
        )


class SourceShown(Shown):
    """Where figures were read."""

    id: str = Field(description="Its id.")
    title: str = Field(description="Its title.")
    address: str = Field(description="Its address.")
    read_on: date = Field(description="The day it was read.")


class SourcePage(Shown):
    """The sources."""

    items: list[SourceShown] = Field(description="Every source.")
    next: str | None = Field(description="Always null: sources come whole.")
