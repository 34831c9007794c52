"""What a bicycle costs and weighs, as it is sent and shown; who may only read is shown no money."""

from datetime import date
from typing import Literal, Self
from uuid import UUID

from pydantic import Field

from service.domain.cost import Cost
from service.schemas.computed import NotKnownShown
from service.schemas.fields import Day, Money, Note, Sent, Shown, absent

ExpenseKind = Literal["shop", "tool", "consumable", "carriage"]


class ExpenseSent(Sent):
    """Money that goes on a build beside its parts."""

    id: UUID | None = absent("UUIDv7 chosen by the client, so that a retry is the same request.")
    kind: ExpenseKind = Field(description="A shop's work, a tool, something used up, or carriage.")
    amount: Money = Field(description="How much, in the workshop's currency.")
    day: Day | None = absent("When; left out: today.")
    note: Note = Field(default="", description="A remark.")


class ExpenseShown(Shown):
    """Money that went on a build beside its parts."""

    id: UUID = Field(description="The expense.")
    kind: ExpenseKind = Field(description="A shop's work, a tool, something used up, or carriage.")
    amount: Money | None = Field(description="How much; null for whoever may only read.")
    day: date = Field(description="When.")
    note: str = Field(description="A remark.")


class ExpensePage(Shown):
    """The expenses of a build."""

    items: list[ExpenseShown] = Field(description="Newest first.")
    next: str | None = Field(description="Always null: expenses come whole.")


class PricedShown(Shown):
    """One part and its price, in minor units."""

    part: UUID = Field(description="The part.")
    category: str = Field(description="Its category.")
    place: str = Field(description="Where it is.")
    name: str = Field(description="What you call it.")
    state: str = Field(description="Whether you have it.")
    bought: bool = Field(description="Whether it is paid for.")
    price_minor: int | None = Field(description="Paid, or what it will cost; null where it is not known.")
    price_new_minor: int | None = Field(description="What it costs as new.")
    known_by: Literal["paid", "asked", "as new", "not known"] = Field(description="How the price is known.")


class NotChosenShown(Shown):
    """A place where a part is wanted and none is chosen."""

    category: str = Field(description="The category that is wanted.")
    place: str = Field(description="Where.")
    title: str = Field(description="What the category is called.")


class KindSum(Shown):
    """What went on one kind of expense."""

    kind: ExpenseKind = Field(description="The kind.")
    amount_minor: int | None = Field(description="The sum.")


class CostShown(Shown):
    """Sums in whole minor units; all null for whoever may only read, one null where no price in it is known."""

    currency: str = Field(description="ISO 4217 code of the workshop's money.")
    paid_minor: int | None = Field(description="For parts that are in hand; null where no price is known.")
    to_buy_minor: int | None = Field(description="For parts planned or ordered; null where no price is known.")
    by_kind: list[KindSum] = Field(description="Expenses by kind.")
    spent_minor: int | None = Field(description="All expenses.")
    total_minor: int | None = Field(description="Paid, still to buy, and expenses; null where nothing is known.")
    as_new_minor: int | None = Field(description="What these parts cost as new; null where it is known of none.")
    compare_minor: int | None = Field(description="The price of a complete bicycle to compare with.")
    against_minor: int | None = Field(description="The total less that price; less than 0: this one is cheaper.")
    leaves_out: str = Field(description="What is not in the sums, counted, then by name; empty where nothing is.")
    parts: list[PricedShown] = Field(description="Every part that is fitted or chosen.")
    without_price: list[PricedShown] = Field(description="Every part of whose price nothing is known.")
    without_price_new: list[PricedShown] = Field(description="Every part without a price as new.")
    not_chosen: list[NotChosenShown] = Field(description="Wanted places where nothing is chosen.")
    not_known: list[NotKnownShown] = Field(description="What is to be entered so that the sum is whole.")

    @classmethod
    def of(cls, cost: Cost, currency: str, *, money: bool) -> Self:
        """The cost; without `money` every amount is null."""
        shown = cls.model_validate(
            {name: getattr(cost, name) for name in cls.model_fields if name not in ("currency", "by_kind")}
            | {"currency": currency, "by_kind": [{"kind": kind, "amount_minor": sum_} for kind, sum_ in cost.by_kind]}
        )
        if not money:
            told: list[Shown] = [shown, *shown.by_kind, *shown.parts, *shown.without_price, *shown.without_price_new]
            for each in told:
                for name in type(each).model_fields:
                    if name.endswith("_minor"):
                        setattr(each, name, None)
        return shown


class PartMassShown(Shown):
    """One part and its mass."""

    part: UUID = Field(description="The part.")
    category: str = Field(description="Its category.")
    place: str = Field(description="Where it is.")
    name: str = Field(description="What you call it.")
    group: str = Field(description="The group it is counted in.")
    mass_g: float | None = Field(description="What is counted: weighed, else claimed.")
    claimed_g: float | None = Field(description="What the maker says.")
    weighed_g: float | None = Field(description="What the scale said.")
    known_by: Literal["weighed", "claimed", "not known", "with its wheel", "nothing of its own"] = Field(
        description="How the mass is known."
    )


class GroupMassShown(Shown):
    """One group of parts."""

    group: str = Field(description="The group.")
    mass_g: float | None = Field(description="Its sum; null where none of its parts has a mass.")
    weighed_g: float | None = Field(description="How much of it was weighed.")
    parts_count: int = Field(description="How many parts.")
    without_mass_count: int = Field(description="How many of them without a mass.")


class MassShown(Shown):
    """What the bicycle weighs by its parts, and the bicycle on the scale."""

    sum_g: float | None = Field(description="Of all parts whose mass is known; null where none is.")
    weighed_g: float | None = Field(description="How much of the sum was weighed.")
    claimed_g: float | None = Field(description="How much of it is claimed.")
    bicycle_weighed_g: int | None = Field(description="The whole bicycle on the scale.")
    difference_g: float | None = Field(description="The weighed bicycle less the sum.")
    leaves_out: str = Field(description="What is not in the sum, counted, then by name; empty where nothing is.")
    groups: list[GroupMassShown] = Field(description="By group.")
    parts: list[PartMassShown] = Field(description="Every part that is fitted or chosen.")
    without_mass: list[PartMassShown] = Field(description="Every part of whose mass nothing is known.")
    assumes: list[str] = Field(description="What it takes for granted, in sentences.")
    not_known: list[NotKnownShown] = Field(description="What is to be weighed.")
