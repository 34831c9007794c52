"""Sums of which some amounts may not be known: what is known is added up, what is left out is counted and named."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TypeVar

Amount = TypeVar("Amount", int, float)


def sum_of_known(amounts: Iterable[Amount | None]) -> Amount | None:
    """The amounts that are known, added up; None where none is: a sum that rests on nothing is not 0."""
    known = [amount for amount in amounts if amount is not None]
    return sum(known[1:], known[0]) if known else None


@dataclass(frozen=True, slots=True)
class LeftOut:
    """What a sum leaves out for one reason, said for one of them and for several, by name."""

    one: str
    several: str
    names: Sequence[str]

    def __str__(self) -> str:
        count = len(self.names)
        return f"{count} {self.one if count == 1 else self.several}"


def in_short(reasons: Iterable[LeftOut]) -> str:
    """The counts of what a sum leaves out: "Not in the sum: 3 parts without a price."; empty where it is whole."""
    counts = [str(each) for each in reasons if each.names]
    return f"Not in the sum: {'; '.join(counts)}." if counts else ""


def by_name(reasons: Iterable[LeftOut]) -> str:
    """A sentence a reason, its count first, then every name; empty where the sum is whole."""
    verbs = ((each, "is" if len(each.names) == 1 else "are") for each in reasons if each.names)
    return " ".join(f"{each} {verb} not in the sum: {', '.join(each.names)}." for each, verb in verbs)


def name_at(name: str, place: str) -> str:
    """A name with its place, where it has one: "Pads (front)"."""
    return name + (f" ({place.replace('.', ', ')})" if place else "")
