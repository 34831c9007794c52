"""Two bicycles in words, row by row: joins, gears, tyre room, mass, cost, what else to buy, what is not known."""

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from service.domain.compare import Comparison, Prospect, SmallPartChange
from service.domain.cost import Cost
from service.domain.mass import Mass
from service.domain.procedure import Library
from service.schemas.plan_showing import count_answers, gears_in_short, rooms_in_short
from service.schemas.planning import RoomInShort
from service.web.facts import minor_units
from service.web.words import NARROW, number, sentence, spoken

NOT_KNOWN = "not known"
NO_PRICE = "No part has a price yet."
NO_MASS = "No part has a mass yet."
JOINS = "Joins"


class Row(NamedTuple):
    """One line of a comparison; `more` is said beside each."""

    title: str
    one: str
    other: str
    more: tuple[str, str] = ("", "")

    @property
    def differs(self) -> bool:
        """Does it tell the two apart?"""
        return (self.one, self.more[0]) != (self.other, self.more[1])


def rows_of(comparison: Comparison, library: Library, currency: str | None) -> list[Row]:
    """Every line, whether it differs or not; without a currency none of money."""
    one, other = comparison.before, comparison.after
    rows = [
        Row(title, first, second, (more, more_too))
        for (title, first, more), (_, second, more_too) in zip(
            _lines(one, currency), _lines(other, currency), strict=True
        )
    ]
    if comparison.small_parts:
        first, second = (_small_parts(comparison.small_parts, library, after=after) for after in (False, True))
        rows.append(Row("Small parts that differ", first, second))
    return rows


def lines_of(prospect: Prospect, currency: str | None) -> list[tuple[str, str, str]]:
    """One bicycle in such lines, but for its joins: title, words, what more is said."""
    return [line for line in _lines(prospect, currency) if line[0] != JOINS]


def _lines(prospect: Prospect, currency: str | None) -> list[tuple[str, str, str]]:
    gears = gears_in_short(prospect.gears)
    lines = [
        (JOINS, joins_in_words(prospect), ""),
        ("Lowest gear, a turn of the crank", _with_unit(gears.lowest_m, "m", 2), "; ".join(gears.not_enough)),
        ("Highest gear, a turn of the crank", _with_unit(gears.highest_m, "m", 2), ""),
        ("Range of the gears", _with_unit(gears.range_percent, "%", 0), ""),
        *((f"Tyre room, {room.place}", *_room(room)) for room in rooms_in_short(prospect.room)),
        ("Mass", _with_unit(prospect.mass.sum_g, "g", 0), left_out_of_mass(prospect.mass)),
    ]
    if currency is not None:
        cost = prospect.cost
        to_buy = None if cost.total_minor is None else cost.to_buy_minor
        lines += [
            ("Cost", money(cost.total_minor, currency), left_out_of_cost(cost)),
            ("Of it still to buy", money(to_buy, currency), ""),
        ]
    return lines


def joins_in_words(prospect: Prospect) -> str:
    """How many joins answer what: "1 conflict, 2 need care, 90 meet"."""
    counts = count_answers(prospect.findings)
    told = [
        (counts.conflicts, "conflict", "conflicts"),
        (counts.accepted, "accepted", "accepted"),
        (counts.needs_care, "needs care", "need care"),
        (counts.not_measured, "is not measured yet", "are not measured yet"),
        (len(prospect.findings) - counts.conflicts - counts.accepted - counts.needs_care - counts.not_measured,
         "meets", "meet"),
    ]  # fmt: skip
    return ", ".join(f"{count} {one if count == 1 else many}" for count, one, many in told if count) or "none"


def _room(room: RoomInShort) -> tuple[str, str]:
    if room.gap_mm is None:
        return NOT_KNOWN, ""
    most = f"; up to {_with_unit(room.largest_tyre_mm, 'mm', 1)}" if room.largest_tyre_mm is not None else ""
    tight = f"{_with_unit(room.gap_mm, 'mm', 1)} at the {room.where}, {_with_unit(room.wanted_mm, 'mm', 1)} wanted"
    return f"{room.answer}: {tight}{most}", ""


def _small_parts(changes: Iterable[SmallPartChange], library: Library, *, after: bool) -> str:
    """What one of the two needs of the small parts that differ."""
    amounts = [(each, each.amount_after if after else each.amount_before) for each in changes]
    said = [
        amount(each.what, of, each.unit, library) + ("" if each.decided else " (perhaps)") for each, of in amounts if of
    ]
    return "; ".join(said) or "none of them"


def amount(what: str, of: float, unit: str, library: Library) -> str:
    """ "Sealant, 60 ml", "4 ferrules" as "ferrule, 4"; the unit "piece" goes without saying."""
    stuff = library.consumables.get(what)
    title = stuff.title if stuff is not None else sentence(spoken(what) if " " not in what else what)
    if unit == "piece":
        return title if of == 1 else f"{title}, {number(of)}"
    return f"{title}, {number(of)} {unit}"


def _with_unit(of: float | None, unit: str, places: int) -> str:
    return NOT_KNOWN if of is None else f"{number(of, places)}{NARROW}{unit}"


def left_out_of_cost(cost: Cost) -> str:
    """What is said beside the cost: how much it leaves out, or that nothing of it is known."""
    return NO_PRICE if cost.total_minor is None else cost.leaves_out_in_short


def left_out_of_mass(mass: Mass) -> str:
    """The same beside the mass."""
    return NO_MASS if mass.sum_g is None else mass.leaves_out_in_short


def money(minor: int | None, currency: str) -> str:
    """An amount with all the places that its currency has: "12.50 EUR"; "not known" for none."""
    if minor is None:
        return NOT_KNOWN
    units = minor_units(currency)
    places = len(str(units)) - 1
    return f"{minor / units:,.{places}f}".replace(",", NARROW) + f"{NARROW}{currency}"


def differing(rows: Sequence[Row]) -> list[Row]:
    """Only what tells the two apart."""
    return [row for row in rows if row.differs]
