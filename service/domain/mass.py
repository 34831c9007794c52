"""What a bicycle weighs: each part's mass, weighed before claimed, by group; and what has none."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal
from uuid import UUID

from service.domain.bicycle import Bicycle, Placed
from service.domain.inputs import NotKnown
from service.domain.sums import LeftOut, by_name, in_short, name_at, sum_of_known

GROUPS: Mapping[str, tuple[str, ...]] = {
    "frame and fork": (
        *("frame", "fork", "headset", "rear-shock", "derailleur-hanger", "seat-clamp", "spacers", "shim"),
        *("bottom-bracket",),
    ),
    "wheels": (
        *("wheel", "factory-wheel", "hub", "dynamo-hub", "rim", "spokes", "rim-tape", "tyre", "tube", "tubeless-valve"),
        *("axle", "internal-gear-hub"),
    ),
    "drive": (
        *("crankset", "chainring", "pedals", "cleats", "chain", "belt", "chain-guide", "cassette"),
        *("screw-on-freewheel", "single-sprocket", "rear-derailleur", "front-derailleur", "shifter", "gear-cable"),
    ),
    "brakes": (
        *("brake-lever", "cable-disc-caliper", "hydraulic-disc-caliper", "linear-pull-brake", "cantilever-brake"),
        *("dual-pivot-brake", "hub-brake", "brake-pads", "rotor", "brake-adaptor", "brake-cable", "hydraulic-hose"),
    ),
    "cockpit and saddle": (
        *("handlebar", "drop-bar", "one-piece-bar", "stem", "quill-stem", "grips", "bar-tape", "combined-lever"),
        *("saddle", "seatpost", "dropper-post"),
    ),
}
OTHER = "everything else"
IN_A_WHEEL = frozenset({"hub", "dynamo-hub", "internal-gear-hub", "rim", "spokes"})
"""What is weighed with a laced wheel that has a mass of its own."""

KnownMass = Literal["weighed", "claimed", "not known", "with its wheel", "nothing of its own"]


@dataclass(frozen=True, slots=True)
class PartMass:
    """One part, g; what is counted is what was weighed, else what is claimed."""

    part: UUID
    category: str
    place: str
    name: str
    group: str
    mass_g: float | None
    claimed_g: float | None
    weighed_g: float | None
    known_by: KnownMass


@dataclass(frozen=True, slots=True)
class GroupMass:
    """One group, g: its sum, and how much of it was weighed; None where nothing of it has a mass."""

    group: str
    mass_g: float | None
    weighed_g: float | None
    parts_count: int
    without_mass_count: int


@dataclass(frozen=True, slots=True)
class Mass:
    """g. `sum_g` leaves out what is in `without_mass`; `difference_g` is the weighed bicycle less the sum.

    Where no part has a mass the sum is None, and with it what is said of it.
    """

    parts: tuple[PartMass, ...]
    groups: tuple[GroupMass, ...]
    sum_g: float | None
    weighed_g: float | None
    claimed_g: float | None
    without_mass: tuple[PartMass, ...]
    bicycle_weighed_g: int | None
    difference_g: float | None
    leaves_out: str
    leaves_out_in_short: str
    assumes: tuple[str, ...]
    not_known: tuple[NotKnown, ...]


def mass(bicycle: Bicycle) -> Mass:
    """The sums for the parts that are fitted or chosen."""
    parts = tuple(masses_of(bicycle.placed))
    total, weighed = _sums(parts)
    without = tuple(each for each in parts if each.known_by == "not known")
    whole = bicycle.build.mass_weighed_g
    left_out = _left_out(without)
    groups = (_group(name, parts) for name in (*GROUPS, OTHER))
    return Mass(
        parts=parts,
        groups=tuple(each for each in groups if each.parts_count),
        sum_g=total,
        weighed_g=weighed,
        claimed_g=None if total is None or weighed is None else total - weighed,
        without_mass=without,
        bicycle_weighed_g=whole,
        difference_g=None if whole is None or total is None else whole - total,
        leaves_out=by_name(left_out),
        leaves_out_in_short=in_short(left_out),
        assumes=tuple(_assumes(parts)),
        not_known=tuple(_missed(each) for each in without),
    )


def masses_of(everything: Sequence[Placed]) -> Iterator[PartMass]:
    """The mass of each of these parts, none counted twice."""
    own = {placed.part.id: _own_mass(placed) for placed in everything}
    inside = {placed.host_id for placed in everything}
    laced = {placed.part.id for placed in everything if placed.slot == "wheel"}
    for placed in everything:
        part, grams = placed.part, own[placed.part.id]
        known: KnownMass = "weighed" if part.mass_weighed_g is not None else "claimed"
        if placed.slot in IN_A_WHEEL and placed.host_id in laced and own.get(placed.host_id) is not None:
            grams, known = None, "with its wheel"
        elif grams is None:
            known = "nothing of its own" if placed.slot == "wheel" and part.id in inside else "not known"
        yield PartMass(
            part.id, placed.slot, placed.place, part.name, _group_of(placed.slot), grams,
            part.mass_claimed_g, part.mass_weighed_g, known,
        )  # fmt: skip


def _own_mass(placed: Placed) -> float | None:
    part = placed.part
    return part.mass_weighed_g if part.mass_weighed_g is not None else part.mass_claimed_g


def _group_of(category: str) -> str:
    return next((group for group, categories in GROUPS.items() if category in categories), OTHER)


def _group(name: str, parts: tuple[PartMass, ...]) -> GroupMass:
    own = [each for each in parts if each.group == name]
    total, weighed = _sums(own)
    return GroupMass(
        group=name,
        mass_g=total,
        weighed_g=weighed,
        parts_count=len(own),
        without_mass_count=sum(each.known_by == "not known" for each in own),
    )


def _sums(parts: Iterable[PartMass]) -> tuple[float | None, float | None]:
    """All that is known of them, and how much of that was weighed."""
    parts = tuple(parts)
    total = sum_of_known(each.mass_g for each in parts)
    weighed = sum((each.mass_g or 0.0 for each in parts if each.known_by == "weighed"), 0.0)
    return total, None if total is None else weighed


def _missed(part: PartMass) -> NotKnown:
    how = "Put it on a scale; else the maker's figure, which is often kind."
    return NotKnown(part.part, part.category, part.place, "mass_weighed_g", f"Mass of {part.name}", how)


def _left_out(without: Iterable[PartMass]) -> tuple[LeftOut, ...]:
    names = [name_at(each.name, each.place) for each in without]
    return (LeftOut("part without a mass", "parts without a mass", names),)


def _assumes(parts: tuple[PartMass, ...]) -> Iterator[str]:
    yield "The mass of a part is its own, without what sits in it."
    if any(each.known_by == "with its wheel" for each in parts):
        yield "A laced wheel that has a mass was weighed with its hub, rim and spokes."
