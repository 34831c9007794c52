"""What a bicycle costs: paid, still to buy, spent beside the parts, its value as new; and what no sum can count."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal
from uuid import UUID

from service.domain.bicycle import Bicycle, Part, Placed
from service.domain.inputs import NotKnown
from service.domain.missing import missing_parts
from service.domain.procedure import Library
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

    `without_price`: parts of whose price nothing is known, bought or not; `without_price_new` likewise for the value as
    new. `against_minor` is the total less the price of the complete bicycle that it is compared with.
    """

    parts: tuple[Priced, ...]
    paid_minor: int
    to_buy_minor: int
    by_kind: tuple[tuple[str, int], ...]
    spent_minor: int
    total_minor: int
    as_new_minor: int
    without_price: tuple[Priced, ...]
    without_price_new: tuple[Priced, ...]
    not_chosen: tuple[NotChosen, ...]
    compare_minor: int | None
    against_minor: int | None
    leaves_out: str
    not_known: tuple[NotKnown, ...]


def cost(bicycle: Bicycle, library: Library, expenses: Iterable[Spent] = ()) -> Cost:
    """The sums for the parts that are fitted or chosen, and these expenses of the build."""
    parts = tuple(_priced(placed) for placed in bicycle.placed)
    spent = tuple(expenses)
    paid = _sum(each.price_minor for each in parts if each.bought)
    to_buy = _sum(each.price_minor for each in parts if not each.bought)
    kinds = tuple((kind, _sum(each.amount_minor for each in spent if each.kind == kind)) for kind in EXPENSE_KINDS)
    total = paid + to_buy + _sum(amount for _, amount in kinds)
    without = tuple(each for each in parts if each.price_minor is None)
    empty = tuple(
        NotChosen(each.slot, each.place, part_title(each.slot, library)) for each in missing_parts(bicycle, library)
    )
    compare = bicycle.build.compare_price_minor
    return Cost(
        parts=parts,
        paid_minor=paid,
        to_buy_minor=to_buy,
        by_kind=kinds,
        spent_minor=_sum(amount for _, amount in kinds),
        total_minor=total,
        as_new_minor=_sum(each.price_new_minor for each in parts),
        without_price=without,
        without_price_new=tuple(each for each in parts if each.price_new_minor is None),
        not_chosen=empty,
        compare_minor=compare,
        against_minor=None if compare is None else total - compare,
        leaves_out=_leaves_out(without, empty),
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


def _sum(amounts: Iterable[int | None]) -> int:
    return sum(amount for amount in amounts if amount is not None)


def _leaves_out(without: Sequence[Priced], empty: Sequence[NotChosen]) -> str:
    """The sentence beside the sum: what is not in it, every part by name; empty where the sum is whole."""
    told = []
    if without:
        told.append(f"no price is known of {', '.join(_named(each) for each in without)}")
    if empty:
        places = ", ".join(each.title + (f" ({each.place.replace('.', ', ')})" if each.place else "") for each in empty)
        told.append(f"nothing is chosen yet for {places}")
    return f"Not in the sum: {'; '.join(told)}." if told else ""


def _named(part: Priced) -> str:
    return part.name + (f" ({part.place.replace('.', ', ')})" if part.place else "")
