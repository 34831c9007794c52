"""Tyre room on a bicycle: each measured gap carried over to the tyre that is there or planned, the largest tyre."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from service.domain.bicycle import Bicycle, Placed
from service.domain.clearance import Gap, largest_tyre_mm, lean_deg, new_gap_mm, section_height_mm, toe_gap_mm
from service.domain.ends import ENDS
from service.domain.inputs import Input, NotKnown, Reader
from service.domain.places import surroundings
from service.domain.procedure import Library
from service.domain.room import (
    CAGE_CARE_MM,
    CAGE_MEETS_MM,
    GAP_MM,
    LEAN_DEG,
    LEAST_GAP_MM,
    OVER_GUARD_MM,
    RACING_GAP_MM,
    ROUGH_CROWN_MM,
    TOE_HELD_MM,
    TOE_MM,
)

RoomAnswer = Literal["enough", "narrow", "too little", "not known"]
HOSTS = {"front": "fork", "rear": "frame"}
ROUGH = ("mixed", "off-road")


@dataclass(frozen=True, slots=True)
class TyreGap:
    """One gap with the tyre that is there or planned, mm; a mudguard's height is taken off it.

    `wanted_mm` is to be kept, `least_mm` must be. `largest_tyre_mm` on this rim keeps what is wanted; None: none does.
    """

    where: str
    measured_mm: float | None
    measured_with_mm: float | None
    tyre_mm: float | None
    guard_mm: float
    gap_mm: float | None
    wanted_mm: float
    least_mm: float
    largest_tyre_mm: float | None
    answer: RoomAnswer


@dataclass(frozen=True, slots=True)
class EndRoom:
    """The gaps at one end; the largest tyre is the least that any known gap allows, and no more than the rim's own."""

    place: str
    tyre: str | None
    tyre_mm: float | None
    gaps: tuple[TyreGap, ...]
    largest_tyre_mm: float | None
    rim_largest_tyre_mm: float | None


@dataclass(frozen=True, slots=True)
class Toe:
    """From the middle of the pedal to the front tyre or its guard, mm, and what is to be kept."""

    gap_mm: float | None
    wanted_mm: float
    answer: RoomAnswer


@dataclass(frozen=True, slots=True)
class PedalGround:
    """How far the bicycle leans, crank lowest, before the pedal touches, degrees."""

    lean_deg: float | None
    wanted_deg: float
    answer: RoomAnswer


@dataclass(frozen=True, slots=True)
class TyreRoom:
    """All of it, with what it was reckoned from."""

    ends: tuple[EndRoom, ...]
    toe: Toe
    pedal_ground: PedalGround
    assumes: tuple[str, ...]
    inputs: tuple[Input, ...]
    not_known: tuple[NotKnown, ...]


def tyre_room(bicycle: Bicycle, library: Library) -> TyreRoom:
    """The gaps with these parts, front then rear."""
    reader = Reader(surroundings(bicycle, library))
    use = reader.of_build("use", "What it is for", known_by="chosen")
    ends = tuple(_end(reader, end, str(use)) for end in ENDS)
    toe, ground = _toe(reader), _ground(reader)
    return TyreRoom(ends, toe, ground, tuple(_assumes(reader)), reader.inputs, reader.not_known)


def _assumes(reader: Reader) -> Iterator[str]:
    if any(_measured_width(reader, tyre) is None for tyre in reader.parts("tyre")):
        yield "A tyre not measured on its rim is taken as wide as it is marked; on a wide rim it is wider."
    yield "The wheel runs true: take what it wobbles off every gap at the side."


def _at(reader: Reader, role: str, end: str) -> Placed | None:
    return next((each for each in reader.parts(role) if end in reader.around.ends(each, role).names), None)


def _measured_width(reader: Reader, tyre: Placed) -> float | None:
    return reader.number(tyre, "width_on_rim_mm", least=5, asked=False)


def _width(reader: Reader, end: str) -> float | None:
    tyre = _at(reader, "tyre", end)
    if tyre is None:
        reader.misses("tyre", "width_marked_mm", end)
        return None
    measured = _measured_width(reader, tyre)
    return measured if measured is not None else reader.number(tyre, "width_marked_mm", least=5)


def _end(reader: Reader, end: str, use: str) -> EndRoom:
    host, tyre, rim = reader.one(HOSTS[end]), _at(reader, "tyre", end), _at(reader, "rim", end)
    if host is None:
        reader.misses(HOSTS[end], "gap_side_mm", end)
    width = _width(reader, end)
    rim_most = reader.number(rim, "max_tyre_mm", least=5, asked=False)
    gaps = tuple(_gaps(reader, end, host, width, use))
    known = [each.largest_tyre_mm for each in gaps if each.largest_tyre_mm is not None]
    none_keeps = any(each.gap_mm is not None and each.largest_tyre_mm is None for each in gaps)
    most = min([*known, *([rim_most] if rim_most is not None else [])]) if known and not none_keeps else None
    return EndRoom(end, tyre.part.name if tyre is not None else None, width, gaps, most, rim_most)


@dataclass(frozen=True, slots=True)
class _Asked:
    """What is asked of one gap, and by which way or ways a tyre takes of it."""

    where: str
    ways: tuple[Gap, ...]
    wanted_mm: float
    least_mm: float
    guard_mm: float = 0.0


def _gaps(reader: Reader, end: str, host: Placed | None, width: float | None, use: str) -> Iterator[TyreGap]:
    before = reader.number(host, "gap_tyre_width_mm", least=5)
    wanted = RACING_GAP_MM if use == "road race" else GAP_MM
    beside = _Asked("side", ("side",), wanted, LEAST_GAP_MM)
    yield _gap(beside, reader.number(host, "gap_side_mm"), before, width)
    name = "crown" if end == "front" else "bridge or seat tube"
    over = _Asked(name, ("crown",), wanted, ROUGH_CROWN_MM if use in ROUGH else LEAST_GAP_MM, _guard_mm(reader, end))
    yield _gap(over, reader.number(host, "gap_crown_mm"), before, width)
    if end == "rear" and reader.one("front-derailleur") is not None:
        cage = _Asked("front derailleur", ("side", "crown"), CAGE_MEETS_MM, CAGE_CARE_MM)
        yield _gap(cage, reader.number(host, "gap_fd_tyre_mm"), before, width)


def _guard_mm(reader: Reader, end: str) -> float:
    """What a mudguard at this end takes of the gap over the tyre, the room above it included."""
    guard = _at(reader, "mudguards", end)
    thick = reader.number(guard, "thickness_mm")
    return thick + OVER_GUARD_MM if thick is not None else 0.0


def _gap(asked: _Asked, measured: float | None, before: float | None, width: float | None) -> TyreGap:
    largest = gap = None
    if measured is not None and before is not None:
        room = measured - asked.guard_mm
        largest = min(largest_tyre_mm(before, room, asked.wanted_mm, way) for way in asked.ways)
        if width is not None:
            gap = min(new_gap_mm(before, room, width, way) for way in asked.ways)
    return TyreGap(
        where=asked.where,
        measured_mm=measured,
        measured_with_mm=before,
        tyre_mm=width,
        guard_mm=asked.guard_mm,
        gap_mm=gap,
        wanted_mm=asked.wanted_mm,
        least_mm=asked.least_mm,
        largest_tyre_mm=largest if largest is not None and largest > 0 else None,
        answer="not known" if gap is None else _answer(gap, asked.wanted_mm, asked.least_mm),
    )


def _answer(gap: float, wanted: float, least: float) -> RoomAnswer:
    return "enough" if gap >= wanted else "narrow" if gap >= least else "too little"


def _radius(reader: Reader, end: str) -> float | None:
    tyre, width = _at(reader, "tyre", end), _width(reader, end)
    bead = reader.number(tyre, "bsd_mm", least=100)
    return bead / 2 + section_height_mm(width) if bead is not None and width is not None else None


def _toe(reader: Reader) -> Toe:
    """As the join of crankset and front wheel reckons it, mudguard included."""
    centre = reader.number(reader.one("frame"), "front_centre_mm", least=100)
    crank = reader.number(reader.one("crankset"), "arm_length_mm", least=50)
    radius = _radius(reader, "front")
    held = reader.words(reader.one("pedals"), "kind", asked=False) == "clip_in"
    wanted = TOE_HELD_MM if held else TOE_MM
    guard = _at(reader, "mudguards", "front")
    stands_out = [reader.number(guard, key) for key in ("gap_tyre_mm", "thickness_mm")] if guard is not None else []
    if centre is None or crank is None or radius is None or None in stands_out:
        return Toe(None, wanted, "not known")
    gap = toe_gap_mm(centre, crank, radius + sum(each or 0.0 for each in stands_out))
    return Toe(gap, wanted, "enough" if gap >= wanted else "narrow" if gap >= 0 else "too little")


def _ground(reader: Reader) -> PedalGround:
    """As the join of pedals and ground reckons it."""
    frame, crankset, pedals = reader.one("frame"), reader.one("crankset"), reader.one("pedals")
    radius = _radius(reader, "rear")
    drop = reader.number(frame, "bb_drop_mm", least=-100)
    crank = reader.number(crankset, "arm_length_mm", least=50)
    across = reader.number(crankset, "arms_width_mm", least=50)
    out, below = (reader.number(pedals, key, least=0.1) for key in ("half_width_mm", "below_axle_mm"))
    if pedals is None:
        reader.misses("pedals", "half_width_mm")
    if None in (radius, drop, crank, across, out, below):
        return PedalGround(None, LEAN_DEG, "not known")
    height = (radius or 0.0) - (drop or 0.0) - (crank or 0.0)
    lean = lean_deg(height, below or 0.0, (across or 0.0) / 2 + (out or 0.0))
    return PedalGround(lean, LEAN_DEG, "enough" if lean >= LEAN_DEG else "narrow" if lean > 0 else "too little")
