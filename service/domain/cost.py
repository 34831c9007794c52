"""What a bicycle costs: paid, still to buy, spent beside the parts, its value as new; and what no sum can count."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Literal
from uuid import UUID

from service.domain.bicycle import Bicycle, Part, Placed
from service.domain.inputs import NotKnown
from service.domain.missing import missing_parts
from service.domain.procedure import Library
from service.domain.sums import LeftOut, by_name, in_short, name_at, sum_of_known
from service.domain.wording import part_title

KnownPrice = Literal["paid", "asked", "as new", "not known"]
EXPENSE_KINDS = ("shop", "tool", "consumable", "carriage")


@dataclass(frozen=True, slots=True)
class Spent:
    """Money that went on a build beside its parts, in minor units of the workshop's currency."""

    id: UUID
    kind: str
    amount_minor: int
    day: date
    note: str


@dataclass(frozen=True, slots=True)
class Priced:
    """One part. `bought` where it is in hand; its price is what was paid, or what it will cost."""

    part: UUID
    category: str
    place: str
    name: str
    state: str
    bought: bool
    price_minor: int | None
    price_new_minor: int | None
    known_by: KnownPrice


@dataclass(frozen=True, slots=True)
class NotChosen:
    """A place where a part is wanted and none is fitted or chosen: it will cost something too."""

    category: str
    place: str
    title: str


@dataclass(frozen=True, slots=True)
class Cost:
    """Minor units. `total_minor` is paid, still to buy and spent; each sum leaves out what is named in its list.

    A sum of parts of which no price is known is None. `without_price`: parts of whose price nothing is known, bought
    or not; `without_price_new` likewise for the value as new. `against_minor` is the total less the price of the
    complete bicycle that it is compared with.
    """

    parts: tuple[Priced, ...]
    paid_minor: int | None
    to_buy_minor: int | None
    by_kind: tuple[tuple[str, int], ...]
    spent_minor: int
    total_minor: int | None
    as_new_minor: int | None
    without_price: tuple[Priced, ...]
    without_price_new: tuple[Priced, ...]
    not_chosen: tuple[NotChosen, ...]
    compare_minor: int | None
    against_minor: int | None
    leaves_out: str
    leaves_out_in_short: str
    not_known: tuple[NotKnown, ...]


def cost(bicycle: Bicycle, library: Library, expenses: Iterable[Spent] = ()) -> Cost:
    """The sums for the parts that are fitted or chosen, and these expenses of the build."""
    parts = tuple(_priced(placed) for placed in bicycle.placed)
    spent = tuple(expenses)
    paid = _sum_of_parts([each.price_minor for each in parts if each.bought])
    to_buy = _sum_of_parts([each.price_minor for each in parts if not each.bought])
    kinds = tuple((kind, sum(each.amount_minor for each in spent if each.kind == kind)) for kind in EXPENSE_KINDS)
    total = sum_of_known([*(each.price_minor for each in parts), *(each.amount_minor for each in spent)])
    without = tuple(each for each in parts if each.price_minor is None)
    empty = tuple(
        NotChosen(each.slot, each.place, part_title(each.slot, library)) for each in missing_parts(bicycle, library)
    )
    compare = bicycle.build.compare_price_minor
    left_out = _left_out(without, empty)
    return Cost(
        parts=parts,
        paid_minor=paid,
        to_buy_minor=to_buy,
        by_kind=kinds,
        spent_minor=sum(amount for _, amount in kinds),
        total_minor=total,
        as_new_minor=sum_of_known(each.price_new_minor for each in parts),
        without_price=without,
        without_price_new=tuple(each for each in parts if each.price_new_minor is None),
        not_chosen=empty,
        compare_minor=compare,
        against_minor=None if compare is None or total is None else total - compare,
        leaves_out=by_name(left_out),
        leaves_out_in_short=in_short(left_out),
        not_known=tuple(_missed(each) for each in without),
    )


def _priced(placed: Placed) -> Priced:
    part = placed.part
    bought = part.state in ("in hand", "gone")
    price, known = _price(part, bought=bought)
    return Priced(
        part.id, placed.slot, placed.place, part.name, part.state, bought, price, part.price_new_minor, known
    )  # fmt: skip


def _price(part: Part, *, bought: bool) -> tuple[int | None, KnownPrice]:
    """What was paid; for what is still to buy the price that is asked, else its price as new."""
    if part.price_minor is not None:
        return part.price_minor, "paid" if bought else "asked"
    if bought or part.price_new_minor is None:
        return None, "not known"
    return part.price_new_minor, "as new"


def _missed(part: Priced) -> NotKnown:
    how = "Enter what was paid, 0 for a gift." if part.bought else "Enter what it will cost, or its price as new."
    return NotKnown(part.part, part.category, part.place, "price", f"Price of {part.name}", how)


def _sum_of_parts(prices: list[int | None]) -> int | None:
    """Where there are no such parts there is nothing to pay: 0."""
    return sum_of_known(prices) if prices else 0


def _left_out(without: Iterable[Priced], empty: Iterable[NotChosen]) -> tuple[LeftOut, ...]:
    return (
        LeftOut("part without a price", "parts without a price", [name_at(each.name, each.place) for each in without]),
        LeftOut(
            "place where nothing is chosen yet",
            "places where nothing is chosen yet",
            [name_at(each.title, each.place) for each in empty],
        ),
    )
