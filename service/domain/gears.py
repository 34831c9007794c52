"""The gears of a bicycle: every ring with every sprocket and hub gear, the steps between them, what the mechs take."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from service.domain.bicycle import Bicycle
from service.domain.drive import Drive, read_drive, rear_circumference_mm
from service.domain.gearing import gear
from service.domain.inputs import Input, NotKnown, Reader
from service.domain.places import surroundings
from service.domain.procedure import Library

TwoAnswers = Literal["enough", "not enough", "not known"]


@dataclass(frozen=True, slots=True)
class GearLine:
    """One gear; what hangs on the wheel is None where the wheel is not known.

    `step_percent`: how much higher the next gear on the same ring is; None on its highest and where some sprockets in
    between are not known. `crossed`: a slanting chain that wears and rubs.
    """

    ring_teeth: int
    sprocket_teeth: int
    hub_gear: int | None
    ratio: float
    development_m: float | None
    gear_in: float | None
    gain_ratio: float | None
    speed_kmh: float | None
    step_percent: float | None
    crossed: bool


@dataclass(frozen=True, slots=True)
class Overlap:
    """Two neighbouring rings: how many gears of the smaller one lie within the range of the larger one."""

    larger_teeth: int
    smaller_teeth: int
    gears_count: int
    ring_step_percent: float


@dataclass(frozen=True, slots=True)
class Capacity:
    """What a limit of a derailleur must take and what it takes, teeth; None where it is not known."""

    what: str
    wanted_teeth: int | None
    takes_teeth: int | None
    answer: TwoAnswers


@dataclass(frozen=True, slots=True)
class Gears:
    """All gears from low to high, with what they were reckoned from."""

    gears: tuple[GearLine, ...]
    range_percent: float | None
    overlaps: tuple[Overlap, ...]
    limits: tuple[Capacity, ...]
    primary_ratio: float | None
    least_primary_ratio: float | None
    circumference_mm: float | None
    crank_mm: float | None
    cadence_rpm: float | None
    complete: bool
    assumes: tuple[str, ...]
    inputs: tuple[Input, ...]
    not_known: tuple[NotKnown, ...]


def gears(
    bicycle: Bicycle, library: Library, *, cadence_rpm: float | None = None, circumference_mm: float | None = None
) -> Gears:
    """The gears with these parts; `circumference_mm` is a roll-out, better than the tyre's size."""
    reader = Reader(surroundings(bicycle, library))
    drive = read_drive(reader)
    wheel_mm = circumference_mm or rear_circumference_mm(reader)
    crank_mm = reader.number(reader.one("crankset"), "arm_length_mm", least=50)
    complete = drive.every_ring and drive.every_sprocket and drive.every_hub_gear
    lines = tuple(_with_steps(list(_lines(drive, wheel_mm, crank_mm, cadence_rpm)), complete))
    primary = min(drive.rings) / max(drive.sprockets) if drive.hub and drive.rings and drive.sprockets else None
    least_primary = reader.number(drive.hub, "min_primary_ratio", least=0.1) if drive.hub else None
    limits = tuple(_limits(reader, drive))
    return Gears(
        gears=lines,
        range_percent=lines[-1].ratio / lines[0].ratio * 100 if lines else None,
        overlaps=tuple(_overlaps(drive, lines)) if complete else (),
        limits=limits,
        primary_ratio=primary,
        least_primary_ratio=least_primary,
        circumference_mm=wheel_mm,
        crank_mm=crank_mm,
        cadence_rpm=cadence_rpm,
        complete=complete,
        assumes=tuple(_assumes(wheel_mm, circumference_mm, drive)),
        inputs=reader.inputs,
        not_known=reader.not_known,
    )


def _assumes(wheel_mm: float | None, rolled_mm: float | None, drive: Drive) -> Iterator[str]:
    if wheel_mm is not None and rolled_mm is None:
        yield "The wheel is reckoned from the tyre's size, within half a percent; a measured roll-out is better."
    if not drive.every_ring and drive.rings:
        yield "The teeth of a ring are not known: its gears are left out."
    if not drive.every_sprocket and drive.sprockets:
        yield "Only the smallest and the largest sprocket are known: the gears between them are left out."
    if not drive.every_hub_gear and drive.hub_ratios:
        yield "Only the lowest and the highest gear of the hub are known: those between them are left out."


def _lines(drive: Drive, wheel_mm: float | None, crank_mm: float | None, rpm: float | None) -> Iterator[GearLine]:
    hub_gears: Sequence[tuple[int | None, float]] = [(n, r) for n, r in enumerate(drive.hub_ratios, 1)] or [(None, 1.0)]
    if drive.hub is not None and not drive.hub_ratios:
        return  # a hub gear whose ratios nobody knows: no gear of it is known
    for ring in drive.rings:
        for sprocket in drive.sprockets:
            for number, hub in hub_gears:
                known = gear(ring, sprocket, (wheel_mm or 1.0) * hub, crank_mm, rpm)
                there = wheel_mm is not None
                yield GearLine(
                    ring_teeth=ring,
                    sprocket_teeth=sprocket,
                    hub_gear=number if drive.every_hub_gear else None,
                    ratio=known.ratio * hub,
                    development_m=known.development_m if there else None,
                    gear_in=known.gear_in if there else None,
                    gain_ratio=known.gain_ratio if there else None,
                    speed_kmh=known.speed_kmh if there else None,
                    step_percent=None,
                    crossed=is_crossed(drive.rings, drive.sprockets, ring, sprocket),
                )


def is_crossed(rings: Sequence[int], sprockets: Sequence[int], ring: int, sprocket: int) -> bool:
    """Does the chain slant too far? Rings and sprockets from small to large.

    Two rings: each with the two sprockets farthest from it. Three: the outer ones with three, the middle one with one
    at each end. A single ring, or few sprockets: never (common practice, no source).
    """
    if len(rings) < 2 or len(sprockets) < 6:
        return False
    at, there = rings.index(ring), sprockets.index(sprocket)
    from_small, from_large = there, len(sprockets) - 1 - there
    reach = 2 if len(rings) == 2 else 3
    if at == 0:
        return from_small < reach
    if at == len(rings) - 1:
        return from_large < reach
    return from_small < 1 or from_large < 1


def _with_steps(lines: Sequence[GearLine], complete: bool) -> Iterator[GearLine]:
    """The gears from low to high, each with the step to the next one on its ring."""
    ordered = sorted(lines, key=lambda each: (each.ratio, each.ring_teeth))
    for number, line in enumerate(ordered):
        later = (each for each in ordered[number + 1 :] if each.ring_teeth == line.ring_teeth)
        following = next((each for each in later if each.ratio > line.ratio), None)
        step = (following.ratio / line.ratio - 1) * 100 if following is not None and complete else None
        yield replace(line, step_percent=step)


def _overlaps(drive: Drive, lines: Sequence[GearLine]) -> Iterator[Overlap]:
    for smaller, larger in zip(drive.rings, drive.rings[1:], strict=False):
        on_larger = [each.ratio for each in lines if each.ring_teeth == larger]
        on_smaller = [each.ratio for each in lines if each.ring_teeth == smaller]
        if on_larger and on_smaller and larger > smaller:
            shared = sum(each >= min(on_larger) for each in on_smaller)
            yield Overlap(larger, smaller, shared, (larger / smaller - 1) * 100)


def _limits(reader: Reader, drive: Drive) -> Iterator[Capacity]:
    """The derailleurs' limits, all of which must pass (https://defietssite.nl/capacity-the-rear-derailleur/)."""
    rear, front = reader.one("rear-derailleur"), reader.one("front-derailleur")
    between_rings = drive.rings[-1] - drive.rings[0] if drive.every_ring else None
    if rear is not None and drive.derailleur:
        span = drive.sprockets[-1] - drive.sprockets[0] if drive.sprockets else None
        total = None if span is None or between_rings is None else span + between_rings
        yield _limit("rear derailleur, teeth to take up", total, reader.whole(rear, "capacity_teeth"))
        largest = drive.sprockets[-1] if drive.sprockets else None
        yield _limit("rear derailleur, largest sprocket", largest, reader.whole(rear, "largest_max_teeth"))
        if len(reader.parts("chainring")) > 1:
            takes = reader.whole(rear, "front_difference_max_teeth", least=0)
            yield _limit("rear derailleur, difference of rings", between_rings, takes)
    if front is not None and drive.rings:
        takes = reader.whole(front, "capacity_teeth", least=0)
        yield _limit("front derailleur, difference of rings", between_rings, takes)
        largest = drive.rings[-1] if drive.every_ring else None
        yield _limit("front derailleur, largest ring", largest, reader.whole(front, "largest_ring_max_teeth"))


def _limit(what: str, wanted: int | None, takes: int | None) -> Capacity:
    if wanted is None or takes is None:
        return Capacity(what, wanted, takes, "not known")
    return Capacity(what, wanted, takes, "enough" if wanted <= takes else "not enough")
