"""The plan of a bicycle looked over: what it comes to, and each place that more than one part could fill."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from service.domain.bicycle import Bicycle, Part, Placed, PlanRow
from service.domain.compare import Comparison, Prospect, as_it_is, compared, prospect
from service.domain.cost import Spent
from service.domain.ends import compose, roles_of
from service.domain.procedure import Library
from service.domain.whatif import Supposed, suppose
from service.errors import Refusal

MOST_COMPARED = 24
"""So many candidates are compared at once; the others stand there with a link to do so."""


@dataclass(frozen=True, slots=True)
class Alternative:
    """A candidate that is not on the bicycle, with what changes if it were; `refused` says why that cannot be."""

    part: Part
    row: PlanRow
    changes: Comparison | None
    refused: str = ""


@dataclass(frozen=True, slots=True)
class OpenChoice:
    """A place with what fills it now, nothing perhaps, and the other candidates for it."""

    slot: str
    place: str
    there: tuple[Placed, ...]
    others: tuple[Alternative, ...]


@dataclass(frozen=True, slots=True)
class Plan:
    """What the bicycle comes to as it is chosen, and the choices that are open."""

    prospect: Prospect
    choices: tuple[OpenChoice, ...]


def look_over(bicycle: Bicycle, library: Library, expenses: Iterable[Spent] = ()) -> Plan:
    """The plan as it stands. What is planned to go into a candidate belongs to that candidate."""
    spent = tuple(expenses)
    now = prospect(as_it_is(bicycle), library, spent)
    places = {placed.part.id: placed.place for placed in bicycle.placed}
    waiting: dict[tuple[str, str], list[PlanRow]] = {}
    for row in bicycle.plan:
        if row.part_id not in places and (row.into_part_id is None or row.into_part_id in places):
            whole = compose(places[row.into_part_id] if row.into_part_id is not None else "", row.place)
            waiting.setdefault((row.slot, whole), []).append(row)
    alternatives = _alternatives(now, [row for rows in waiting.values() for row in rows], library, spent)
    found = {each.part.id: each for each in alternatives}
    return Plan(
        now,
        tuple(
            OpenChoice(slot, place, tuple(_there(rows, bicycle, library)), tuple(found[row.part_id] for row in rows))
            for (slot, place), rows in sorted(waiting.items())
        ),
    )


def _there(rows: Iterable[PlanRow], bicycle: Bicycle, library: Library) -> Iterator[Placed]:
    """What does the work of these candidates at their place now."""
    seats = {(row.into_part_id, row.place, role) for row in rows for role in _roles(row, bicycle, library)}
    for placed in bicycle.placed:
        roles = roles_of(placed.part, placed.slot, library)
        if any((placed.host_id, placed.own_place, role) in seats for role in roles):
            yield placed


def _roles(row: PlanRow, bicycle: Bicycle, library: Library) -> tuple[str, ...]:
    return roles_of(bicycle.parts[row.part_id], row.slot, library)


def _alternatives(
    now: Prospect, rows: Iterable[PlanRow], library: Library, spent: tuple[Spent, ...]
) -> Iterator[Alternative]:
    for number, row in enumerate(rows):
        part = now.bicycle.parts[row.part_id]
        if number >= MOST_COMPARED:
            yield Alternative(part, row, None)
            continue
        try:
            other = suppose(now.bicycle, [Supposed(part, row.place, row.into_part_id)], library)
        except Refusal as refusal:
            yield Alternative(part, row, None, str(refusal))
            continue
        yield Alternative(part, row, compared(now, prospect(other, library, spent)))
