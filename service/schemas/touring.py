"""A tour as it is asked for, and what to do before it, as it is shown."""

from datetime import date
from typing import Literal
from uuid import UUID

from pydantic import Field

from service.domain.bicycle import Bicycle
from service.domain.small_parts import SmallPartNeeded
from service.domain.tour import GROUPS, TourItem
from service.domain.tour_plan import PartToChange, TourPlan
from service.schemas.fields import Shown

KM = 1000


class TourItemShown(Shown):
    """One thing with its group and its reasons."""

    group: Literal["do before", "look before", "on the way", "cannot be said", "fine"] = Field(
        description="When it is seen to."
    )
    part: UUID | None = Field(description="The part; null for the whole bicycle.")
    part_name: str | None = Field(description="What the part is called.")
    task: str = Field(description="The task or dimension, as category.key.")
    title: str = Field(description="What is to be done or looked at.")
    place: str = Field(description="Where on the bicycle.")
    state: str = Field(description="Where it stands today.")
    weight: str = Field(description="safety, damage, comfort.")
    why: str = Field(description="What was done or read, the limit, what the tour adds, how likely it falls due.")
    chance_before: float | None = Field(description="How likely it is due before leaving, 0 to 1; null: not known.")
    chance_by_end: float | None = Field(description="How likely it is due by the end, 0 to 1; null: not known.")
    counts_km: float | None = Field(description="What the tour's km count for, by its own factors; null: none.")
    minutes: int = Field(description="Hands-on minutes of its steps; 0 where it has none.")
    needs_shop: bool = Field(description="Whether it is work for a shop.")
    within: str | None = Field(description="A bundle, category.key, of the same group that does it too.")
    put_off: str | None = Field(description="Until when it is put off and why; it counts all the same.")


class TourPartShown(Shown):
    """A part to have in hand."""

    part: UUID = Field(description="The part that is on the bicycle now.")
    name: str = Field(description="What it is called.")
    category: str = Field(description="What it is.")
    place: str = Field(description="Where on the bicycle.")


class TourSmallPart(Shown):
    """Something small."""

    what: str = Field(description="What it is.")
    amount: float = Field(description="How much of it.")
    unit: str = Field(description="Of which unit.")
    decided: bool = Field(description="False where a fact that is not known says whether.")


class TourShown(Shown):
    """What to do before a tour."""

    build: UUID = Field(description="The build.")
    name: str = Field(description="What it is called.")
    km: float = Field(description="The tour's length, km.")
    days: int = Field(description="The tour's days.")
    leaving: date = Field(description="The day of leaving.")
    until_km: float | None = Field(description="What is likely to be ridden before leaving, km; null: no pace.")
    look_by: date = Field(description="Looked over by this day.")
    done_by: date = Field(description="Done by this day.")
    last_day: date = Field(description="The last day to fit what must be ridden in; past: there is no time for it.")
    ride_in_days: int = Field(description="Days that 100 km take.")
    book_by: date | None = Field(description="The shop is booked by this day; null where none is needed.")
    notes: list[str] = Field(description="What the answer rests on or lacks.")
    items: list[TourItemShown] = Field(description="Every item in one group: do before, look before, on the way ...")
    buy: list[TourPartShown] = Field(description="Parts to have in hand, to be fitted before.")
    small_parts: list[TourSmallPart] = Field(description="Small parts that go with them.")
    consumables: list[TourSmallPart] = Field(description="What the work before uses up.")
    carry_small: list[TourSmallPart] = Field(description="What is carried for what is on the bicycle.")
    carry_consumables: list[str] = Field(description="What the work on the way uses up.")
    carry_say: str = Field(description="What else to carry.")


def show_tour(bicycle: Bicycle, plan: TourPlan) -> TourShown:
    """The whole answer."""
    own = ("look_by", "done_by", "last_day", "ride_in_days", "book_by", "carry_say")
    return TourShown(
        build=bicycle.build.id,
        name=bicycle.build.name,
        km=plan.tour.metres / KM,
        days=plan.tour.days,
        leaving=plan.tour.leaving,
        until_km=None if plan.until_metres is None else plan.until_metres / KM,
        notes=list(plan.notes),
        items=[_item(each) for group in GROUPS for each in plan.of(group)],
        buy=[_part(each) for each in plan.buy],
        small_parts=[_small(each) for each in plan.small_parts],
        consumables=[
            TourSmallPart(what=each.what, amount=each.amount, unit=each.unit, decided=True) for each in plan.consumables
        ],
        carry_small=[_small(each) for each in plan.carry_small],
        carry_consumables=[each.what for each in plan.carry_consumables],
        **{name: getattr(plan, name) for name in own},
    )


def _item(item: TourItem) -> TourItemShown:
    due = item.due
    own = ("task", "title", "place", "state", "weight", "needs_shop", "put_off", "part_name")
    return TourItemShown(
        group=item.group,
        part=due.part_id,
        why=item.why,
        chance_before=item.before,
        chance_by_end=item.by_end,
        counts_km=None if item.counts_metres is None else item.counts_metres / KM,
        minutes=item.minutes,
        within=item.within,
        **{name: getattr(due, name) for name in own},
    )


def _part(part: PartToChange) -> TourPartShown:
    return TourPartShown(part=part.part_id, name=part.name, category=part.category, place=part.place)


def _small(small: SmallPartNeeded) -> TourSmallPart:
    return TourSmallPart(what=small.what, amount=small.amount, unit=small.unit, decided=small.decided)
