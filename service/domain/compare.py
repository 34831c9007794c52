"""Two bicycles side by side, one of them perhaps supposed: where the findings differ, and what each comes to."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import zip_longest

from service.domain.bicycle import Bicycle
from service.domain.cost import Cost, Spent, cost
from service.domain.gears import Gears, gears
from service.domain.inputs import NotKnown
from service.domain.joins import Finding, ToMeasure, findings, with_joins
from service.domain.mass import Mass, mass
from service.domain.places import surroundings
from service.domain.procedure import Library
from service.domain.small_parts import SmallPartNeeded, small_parts_of
from service.domain.tyre_room import TyreRoom, tyre_room
from service.domain.whatif import WhatIf


@dataclass(frozen=True, slots=True)
class Measurement:
    """A fact to find out, with the titles of the joins that it would settle."""

    fact: ToMeasure
    joins: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Prospect:
    """What one bicycle comes to: how its parts meet, gears, tyre room, mass, cost, what comes with the chosen parts."""

    what_if: WhatIf
    findings: tuple[Finding, ...]
    gears: Gears
    room: TyreRoom
    mass: Mass
    cost: Cost
    small_parts: tuple[SmallPartNeeded, ...]

    @property
    def bicycle(self) -> Bicycle:
        """The bicycle as it would be."""
        return self.what_if.bicycle

    @property
    def measure(self) -> tuple[Measurement, ...]:
        """What to measure before the joins can be told, what settles most of them first."""
        met: dict[ToMeasure, list[str]] = defaultdict(list)
        for finding in self.findings:
            for fact in finding.measure:
                met[fact].append(finding.title)
        by_most = sorted(met, key=lambda fact: (-len(met[fact]), fact.category, fact.field))
        return tuple(Measurement(fact, tuple(dict.fromkeys(met[fact]))) for fact in by_most)

    @property
    def not_known(self) -> tuple[NotKnown, ...]:
        """What gears and tyre room lack, each fact once."""
        return tuple(dict.fromkeys((*self.gears.not_known, *self.room.not_known)))


@dataclass(frozen=True, slots=True)
class FindingChange:
    """One join that answers otherwise on the other bicycle; None where a bicycle has no such join."""

    join: str
    title: str
    place: str
    before: Finding | None
    after: Finding | None


@dataclass(frozen=True, slots=True)
class SmallPartChange:
    """Something small of which the other bicycle needs another amount; not `decided` where a fact says whether."""

    what: str
    unit: str
    amount_before: float
    amount_after: float
    decided: bool


@dataclass(frozen=True, slots=True)
class Comparison:
    """Two prospects, and where they differ."""

    before: Prospect
    after: Prospect
    findings: tuple[FindingChange, ...] = field(default=())
    small_parts: tuple[SmallPartChange, ...] = field(default=())


def as_it_is(bicycle: Bicycle) -> WhatIf:
    """The bicycle with nothing supposed on it."""
    return WhatIf(bicycle, (), ())


def prospect(what_if: WhatIf, library: Library, expenses: Iterable[Spent] = ()) -> Prospect:
    """What a bicycle comes to, with what was spent on it beside its parts."""
    bicycle = what_if.bicycle
    around = with_joins(surroundings(bicycle, library))
    return Prospect(
        what_if=what_if,
        findings=findings(bicycle, library),
        gears=gears(bicycle, library),
        room=tyre_room(bicycle, library),
        mass=mass(bicycle),
        cost=cost(bicycle, library, expenses),
        small_parts=small_parts_of(around, [placed for placed in bicycle.placed if placed.planned]),
    )


def compared(before: Prospect, after: Prospect) -> Comparison:
    """The two with their differences."""
    return Comparison(
        before,
        after,
        changed_findings(before.findings, after.findings),
        changed_small_parts(before.small_parts, after.small_parts),
    )


def changed_findings(before: Iterable[Finding], after: Iterable[Finding]) -> tuple[FindingChange, ...]:
    """The joins whose answer or words differ, by join and place; of several partners at a place the same ones first."""
    one, other = _by_join(before), _by_join(after)
    changes = []
    for key in sorted(one.keys() | other.keys()):
        for was, now in _paired(one.get(key, ()), other.get(key, ())):
            there = now or was
            if there is not None and _told(was) != _told(now):
                changes.append(FindingChange(key, there.title, there.place, was, now))
    return tuple(changes)


def _by_join(found: Iterable[Finding]) -> dict[str, list[Finding]]:
    """By "category.key@place", without the part that several partners are told apart by."""
    met: dict[str, list[Finding]] = defaultdict(list)
    for each in found:
        met[each.join.partition(":")[0]].append(each)
    return met


def _paired(before: Sequence[Finding], after: Sequence[Finding]) -> Iterable[tuple[Finding | None, Finding | None]]:
    ids = {each.join for each in before} & {each.join for each in after}
    same = {each.join: each for each in after if each.join in ids}
    yield from ((each, same[each.join]) for each in before if each.join in ids)
    left = ([each for each in found if each.join not in ids] for found in (before, after))
    yield from zip_longest(*left)


def _told(finding: Finding | None) -> tuple[object, ...] | None:
    """What a person is told of it: the answer, the words, what would settle it."""
    if finding is None:
        return None
    asked = tuple((each.category, each.field) for each in finding.measure)
    return finding.answer, finding.care, finding.say if finding.answer != "meets" else "", asked


def changed_small_parts(
    before: Iterable[SmallPartNeeded], after: Iterable[SmallPartNeeded]
) -> tuple[SmallPartChange, ...]:
    """What is needed of small parts that was not needed before, or no more, or in another amount."""
    one, other = ({(each.what, each.unit, each.decided): each.amount for each in found} for found in (before, after))
    return tuple(
        SmallPartChange(what, unit, one.get((what, unit, decided), 0.0), other.get((what, unit, decided), 0.0), decided)
        for what, unit, decided in sorted(one.keys() | other.keys())
        if one.get((what, unit, decided)) != other.get((what, unit, decided))
    )
