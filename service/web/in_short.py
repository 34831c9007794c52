"""What a build's computations come to, a line each: for the build's page, with where the rest is told."""

from collections.abc import Iterator
from typing import NamedTuple

from service.domain.bar_and_saddle import position
from service.domain.bicycle import Bicycle
from service.domain.cost import cost
from service.domain.gears import gears
from service.domain.mass import mass
from service.domain.procedure import Library
from service.domain.tyre_room import EndRoom, tyre_room
from service.web.comparing import money
from service.web.words import number

WORST_FIRST = ("too little", "narrow", "not known", "enough")


class Line(NamedTuple):
    """A title, its words, and the page that tells the rest."""

    title: str
    words: str
    page: str


def lines_of(bicycle: Bicycle, library: Library, currency: str | None) -> Iterator[Line]:
    """Gears, tyre room, cost of the parts and mass, position; without a currency no money."""
    yield Line("Gears and chain", _gears(bicycle, library), "gears")
    rooms = tyre_room(bicycle, library).ends
    yield Line("Tyre room and pressure", "; ".join(_room(end) for end in rooms), "room")
    yield Line("Cost and mass", _worth(bicycle, library, currency), "worth")
    yield Line("Position", _position(bicycle, library), "position")


def _gears(bicycle: Bicycle, library: Library) -> str:
    found = gears(bicycle, library)
    if not found.gears:
        return "not known yet"
    count = f"{len(found.gears)} {'gear' if len(found.gears) == 1 else 'gears'}"
    low, high = found.gears[0].development_m, found.gears[-1].development_m
    span = f", {number(low, 2)} to {number(high, 2)} m a turn" if low is not None and high is not None else ""
    short = sum(each.answer == "not enough" for each in found.limits)
    return f"{count}{span}{'; a derailleur takes less than that' if short else ''}"


def _room(end: EndRoom) -> str:
    answers = [each.answer for each in end.gaps]
    worst = min(answers, key=WORST_FIRST.index)
    most = f", up to {number(end.largest_tyre_mm, 1)} mm" if end.largest_tyre_mm is not None else ""
    return f"{end.place} {worst}{most}"


def _worth(bicycle: Bicycle, library: Library, currency: str | None) -> str:
    told = []
    if currency is not None:
        sums = cost(bicycle, library)
        told.append("cost not known: no part has a price yet" if sums.total_minor is None
            else f"parts {money(sums.total_minor, currency)}{_without(len(sums.without_price), 'price')}")  # fmt: skip
    weight = mass(bicycle)
    told.append("mass not known: no part has a mass yet" if weight.sum_g is None
        else f"{number(weight.sum_g / 1000, 2)} kg{_without(len(weight.without_mass), 'mass')}")  # fmt: skip
    return "; ".join(told)


def _without(count: int, what: str) -> str:
    return f" without {count} that {'has' if count == 1 else 'have'} no {what}" if count else ""


def _position(bicycle: Bicycle, library: Library) -> str:
    found = position(bicycle, library)
    if found.to_decide:
        return "to be decided before anything is cut"
    if found.saddle_height_mm is None:
        return "not known yet"
    return f"saddle {number(found.saddle_height_mm, 0)} mm from the shell"
