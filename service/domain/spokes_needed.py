"""The spokes a bicycle's laced wheels want: lengths, what to order, how tension divides between the sides, dish."""

from collections.abc import Iterator
from dataclasses import dataclass

from service.domain.bicycle import Bicycle, Placed
from service.domain.ends import end_in
from service.domain.inputs import Input, NotKnown, Reader
from service.domain.places import surroundings
from service.domain.procedure import Library
from service.domain.wheel import Lacing, order_length_mm, sideways_pull, spoke_length_mm
from service.errors import Refusal

SPARES = 3
"""Spokes more than there are holes, of each length: common practice, no source."""
SIDES = ("left", "right")
RIGHT_WITHIN_MM = 1.0


@dataclass(frozen=True, slots=True)
class SideSpokes:
    """One side of a wheel: what its spokes must measure, and what those that are there do.

    `difference_mm` is theirs less what is wanted; `tension_percent` in percent of the tighter side.
    """

    side: str
    crosses: int | None
    spokes_count: int | None
    length_mm: float | None
    order_mm: int | None
    there_mm: float | None
    difference_mm: float | None
    tension_percent: float | None
    tighter: bool | None


@dataclass(frozen=True, slots=True)
class SpokeOrder:
    """So many spokes of one length to buy, the spares among them."""

    length_mm: int
    quantity_count: int
    spares_count: int


@dataclass(frozen=True, slots=True)
class WheelSpokes:
    """A laced wheel. `dish_mm`: how far the middle between the flanges lies to the left of the rim's middle plane."""

    place: str
    wheel: str
    sides: tuple[SideSpokes, ...]
    order: tuple[SpokeOrder, ...]
    dish_mm: float | None
    cannot: str | None


@dataclass(frozen=True, slots=True)
class SpokesNeeded:
    """Every laced wheel of a bicycle."""

    wheels: tuple[WheelSpokes, ...]
    assumes: tuple[str, ...]
    inputs: tuple[Input, ...]
    not_known: tuple[NotKnown, ...]


@dataclass(frozen=True, slots=True)
class _Side:
    """What is known of one side; `offset_mm` runs across, from the rim's spoke holes to the flange."""

    side: str
    spokes_count: int | None
    crosses: int | None
    offset_mm: float | None
    circle_mm: float | None
    rim_mm: float | None
    hole_mm: float | None
    there_mm: float | None


def spokes_needed(bicycle: Bicycle, library: Library) -> SpokesNeeded:
    """The spokes of all wheels that are laced from hub, rim and spokes; a factory wheel's are its maker's."""
    reader = Reader(surroundings(bicycle, library))
    wheels = [each for each in reader.parts("wheel") if each.slot == "wheel"]
    if not reader.parts("wheel"):
        reader.misses("wheel", "built_by")
    found = tuple(_wheel(reader, each) for each in wheels)
    return SpokesNeeded(found, tuple(_assumes(reader)), reader.inputs, reader.not_known)


def _assumes(reader: Reader) -> Iterator[str]:
    yield "From the inside of the elbow to the tip; the nearest millimetre, rounded down on the tighter side."
    offsets = [reader.number(rim, "offset_mm", asked=False) for rim in reader.parts("rim") if rim.slot == "rim"]
    if None in offsets:
        yield "A rim whose offset nobody entered is taken to have its holes in the middle."
    if any(offsets):
        yield "An off-centre rim has its holes towards the side whose flange stands farther out."


def _wheel(reader: Reader, wheel: Placed) -> WheelSpokes:
    place = end_in(wheel.place) or wheel.place
    hub, rim = (_in_wheel(reader, role, wheel) for role in ("hub", "rim"))
    for role, part, key in (("hub", hub, "flange_left_mm"), ("rim", rim, "erd_mm")):
        if part is None:
            reader.misses(role, key, place)
    flanges = {side: reader.number(hub, f"flange_{side}_mm", least=0.1) for side in SIDES}
    left, right = flanges["left"], flanges["right"]
    dish = (left - right) / 2 if left is not None and right is not None else None
    known = [_side(reader, wheel, side, hub, rim, _offset(flanges, side, reader, rim)) for side in SIDES]
    try:
        lengths = {each.side: _length_mm(each) for each in known}
    except Refusal as refusal:
        where = "; ".join(f"{fault.pointer.lstrip('/')} {fault.detail}" for fault in refusal.errors)
        return WheelSpokes(place, wheel.part.name, (), (), dish, f"{refusal} Look again at {where}.")
    sides = tuple(_shown(known, lengths, number) for number in (0, 1))
    return WheelSpokes(place, wheel.part.name, sides, tuple(_order(sides)), dish, None)


def _in_wheel(reader: Reader, role: str, wheel: Placed, side: str = "") -> Placed | None:
    own = (each for each in reader.parts(role) if reader.around.wheels.get(each.part.id) == wheel.part.id)
    return next((each for each in own if not side or each.own_place == side), None)


def _offset(flanges: dict[str, float | None], side: str, reader: Reader, rim: Placed | None) -> float | None:
    """From the rim's holes across to the flange: an off-centre rim favours the flange that stands nearer the middle."""
    own, other = flanges[side], flanges["right" if side == "left" else "left"]
    if own is None or other is None:
        return own
    shift = reader.number(rim, "offset_mm", asked=False) or 0.0
    return own + (shift if own < other else -shift if own > other else 0.0)


def _side(
    reader: Reader, wheel: Placed, side: str, hub: Placed | None, rim: Placed | None, offset_mm: float | None
) -> _Side:
    spokes = _in_wheel(reader, "spokes", wheel, side)
    if spokes is None:
        reader.misses("spokes", "crosses_count", f"{end_in(wheel.place) or wheel.place}.{side}")
    count = reader.whole(spokes, "spokes_count", asked=False)
    if count is None:
        holes = reader.whole(hub, "holes_count", least=8)
        count = holes // 2 if holes is not None and holes % 2 == 0 else None
    return _Side(
        side=side,
        spokes_count=count,
        crosses=reader.whole(spokes, "crosses_count", least=0),
        offset_mm=offset_mm,
        circle_mm=reader.number(hub, f"hole_circle_{side}_mm", least=1),
        rim_mm=reader.number(rim, "erd_mm", least=1),
        hole_mm=reader.number(hub, "spoke_hole_mm", least=0.1),
        there_mm=reader.number(spokes, "length_mm", least=1, asked=False),
    )


def _length_mm(side: _Side) -> float | None:
    count, crosses, offset, circle, rim, hole = (
        *(side.spokes_count, side.crosses, side.offset_mm),
        *(side.circle_mm, side.rim_mm, side.hole_mm),
    )
    if None in (count, crosses, offset, circle, rim, hole):
        return None
    lacing = Lacing(
        hole_circle_mm=circle or 0.0,
        flange_offset_mm=offset or 0.0,
        effective_rim_mm=rim or 0.0,
        spoke_hole_mm=hole or 0.0,
        spokes_count=2 * (count or 0),
        crosses=crosses or 0,
    )
    return spoke_length_mm(lacing)


def _shown(known: list[_Side], lengths: dict[str, float | None], number: int) -> SideSpokes:
    side, other = known[number], known[1 - number]
    length = lengths[side.side]
    pull, other_pull = _pull(side, length), _pull(other, lengths[other.side])
    percent = None if pull is None or other_pull is None else 100 * min(1.0, other_pull / pull)
    tighter = None if pull is None or other_pull is None else pull < other_pull * (1 - 1e-9)
    return SideSpokes(
        side=side.side,
        crosses=side.crosses,
        spokes_count=side.spokes_count,
        length_mm=length,
        order_mm=None if length is None else order_length_mm(length, tight_side=bool(tighter)),
        there_mm=side.there_mm,
        difference_mm=None if length is None or side.there_mm is None else side.there_mm - length,
        tension_percent=percent,
        tighter=tighter,
    )


def _pull(side: _Side, length_mm: float | None) -> float | None:
    if length_mm is None or side.offset_mm is None or side.spokes_count is None or side.offset_mm <= 0:
        return None
    return sideways_pull(side.spokes_count, side.offset_mm, length_mm)


def _order(sides: tuple[SideSpokes, ...]) -> Iterator[SpokeOrder]:
    """What to buy, by length; spokes that are there already and right within a millimetre are not ordered."""
    wanted: dict[int, int] = {}
    for side in sides:
        right = side.difference_mm is not None and abs(side.difference_mm) <= RIGHT_WITHIN_MM
        if side.order_mm is not None and side.spokes_count is not None and not right:
            wanted[side.order_mm] = wanted.get(side.order_mm, 0) + side.spokes_count
    for length, count in sorted(wanted.items()):
        yield SpokeOrder(length, count + SPARES, SPARES)
