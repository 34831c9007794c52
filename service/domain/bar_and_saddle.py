"""The rider's position on a bicycle from its parts: bar, hands and saddle, what reaches a target, what is undecided."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import hypot
from uuid import UUID

from service.domain.bicycle import Bicycle, Placed
from service.domain.inputs import Input, NotKnown, Reader
from service.domain.places import surroundings
from service.domain.position import (
    Front,
    Point,
    Reached,
    Stem,
    bar_point,
    saddle_clamp_point,
    saddle_heights_mm,
    spacers_for,
    stems_for,
)
from service.domain.procedure import Library
from service.domain.set_ups import Change, SetUpFacts, SetUpSeen, difference, over_time

STEERER_BELOW_TOP_MM = 3.0
"""So far the steerer ends below the top of stem or top spacer (common practice; at most 5, ISO 4210-2, 4.7.4)."""
SPACERS_CARBON_MM, SPACERS_METAL_MM = 30.0, 40.0
"""The most spacers under a stem where the fork's papers do not say: common practice, no source."""
STEMS_SHOWN = 6
DECIDED = (("fork", "steerer_wanted_mm"), ("handlebar", "width_wanted_mm"), ("seatpost", "length_wanted_mm"))
"""What the position check decides, before anything is cut."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What is asked besides: other spacers, a target for the bar, an inseam, two set-ups to compare."""

    spacers_mm: float | None = None
    target: Point | None = None
    inseam_mm: float | None = None
    first: UUID | None = None
    second: UUID | None = None


@dataclass(frozen=True, slots=True)
class Hands:
    """Where the hands may be."""

    where: str
    point: Point


@dataclass(frozen=True, slots=True)
class TargetReached:
    """The target, the spacers that come nearest with the stem there is, and stems that come nearest of all."""

    target: Point
    with_this_stem: Reached | None
    stems: tuple[Reached, ...]
    most_spacers_mm: float


@dataclass(frozen=True, slots=True)
class SaddleStart:
    """A published place to start from, shell to saddle top."""

    rule: str
    saddle_height_mm: float


@dataclass(frozen=True, slots=True)
class Position:
    """Points are mm forward and up from the middle of the shell, the bicycle level.

    `saddle_height_mm` runs straight from shell to saddle top; `steerer_mm` is what these spacers and stem want of the
    steerer; `bar_below_saddle_mm` is the bar's clamp against the saddle's top.
    """

    bar: Point | None
    hands: tuple[Hands, ...]
    saddle_clamp: Point | None
    saddle_top: Point | None
    saddle_height_mm: float | None
    bar_below_saddle_mm: float | None
    spacers_mm: float | None
    most_spacers_mm: float | None
    steerer_mm: float | None
    steerer_there_mm: float | None
    reached: TargetReached | None
    starts: tuple[SaddleStart, ...]
    to_decide: tuple[NotKnown, ...]
    set_ups: tuple[SetUpSeen, ...]
    difference: tuple[Change, ...]
    assumes: tuple[str, ...]
    inputs: tuple[Input, ...]
    not_known: tuple[NotKnown, ...]


def position(
    bicycle: Bicycle, library: Library, set_ups: Sequence[SetUpFacts] = (), asked: Asked | None = None
) -> Position:
    """The position with these parts. Raises NotFound for a set-up to compare that is not of this build."""
    asked = asked or Asked()
    reader = Reader(surroundings(bicycle, library))
    front, stem = _front(reader), _stem(reader)
    spacers = asked.spacers_mm if asked.spacers_mm is not None else _spacers(reader)
    bar = bar_point(front, spacers, stem) if front and stem and spacers is not None else None
    clamp, top = _saddle(reader)
    most = _most_spacers(reader)
    crank = reader.number(reader.one("crankset"), "arm_length_mm", least=50, asked=asked.inseam_mm is not None)
    compared = asked.first is not None and asked.second is not None
    return Position(
        bar=bar,
        hands=tuple(_hands(reader, bar)) if bar is not None else (),
        saddle_clamp=clamp,
        saddle_top=top,
        saddle_height_mm=hypot(top.forward_mm, top.up_mm) if top is not None else None,
        bar_below_saddle_mm=top.up_mm - bar.up_mm if top is not None and bar is not None else None,
        spacers_mm=spacers,
        most_spacers_mm=most,
        steerer_mm=_steerer(reader, front, spacers),
        steerer_there_mm=reader.number(reader.one("fork"), "steerer_length_mm", least=50, asked=False),
        reached=_reached(asked.target, front, stem, most),
        starts=tuple(_starts(asked.inseam_mm, crank)),
        to_decide=_to_decide(bicycle, library),
        set_ups=over_time(set_ups),
        difference=difference(set_ups, asked.first, asked.second) if compared and asked.first and asked.second else (),
        assumes=tuple(_assumes(reader, asked.spacers_mm)),
        inputs=reader.inputs,
        not_known=reader.not_known,
    )


def _assumes(reader: Reader, spacers: float | None) -> Iterator[str]:
    yield "The frame stands as it is drawn: with the fork it is drawn for, and level."
    if spacers is None and reader.one("spacers") is not None:
        yield "All spacers are under the stem; another height can be asked for."
    stem = reader.one("stem")
    if stem is not None and stem.slot != "stem":
        yield "Where a quill stem or a one-piece bar puts the hands does not follow from its facts: measure it."
    elif reader.one("handlebar") is not None:
        yield "The bar is level in the stem, its sweep and its turning in the clamp left out."
    yield "The saddle is clamped in the middle of its rails, straight above the head of the post."


def _front(reader: Reader) -> Front | None:
    frame, headset, stem = reader.one("frame"), reader.one("headset"), reader.one("stem")
    for role, part, key in (("frame", frame, "stack_mm"), ("stem", stem, "length_mm")):
        if part is None:
            reader.misses(role, key)
    up, forward = reader.number(frame, "stack_mm", least=100), reader.number(frame, "reach_mm", least=50)
    angle = reader.number(frame, "head_angle_deg", least=30)
    stack = reader.number(headset, "stack_upper_mm")
    height = reader.number(stem, "clamp_height_mm", least=5)
    if None in (up, forward, angle, stack, height):
        return None
    top = Point(forward or 0.0, up or 0.0)
    return Front(top=top, head_angle_deg=angle or 0.0, headset_mm=stack or 0.0, clamp_height_mm=height or 0.0)


def _stem(reader: Reader) -> Stem | None:
    stem = reader.one("stem")
    length = reader.number(stem, "length_mm")
    angle = reader.number(stem, "angle_deg", least=-90)
    return Stem(length, angle) if length is not None and angle is not None else None


def _spacers(reader: Reader) -> float | None:
    spacers = reader.parts("spacers")
    heights = [reader.number(each, "height_mm") for each in spacers]
    return None if None in heights else sum(each or 0.0 for each in heights)


def _most_spacers(reader: Reader) -> float | None:
    fork = reader.one("fork")
    printed = reader.number(fork, "spacer_limit_mm", asked=False)
    if printed is not None:
        return printed
    material = reader.words(fork, "steerer_material")
    if material is None:
        return None
    return SPACERS_CARBON_MM if material == "carbon" else SPACERS_METAL_MM


def _hands(reader: Reader, bar: Point) -> Iterator[Hands]:
    handlebar = reader.one("handlebar")
    if handlebar is None:
        reader.misses("handlebar", "width_mm")
        return
    if handlebar.slot == "drop-bar":
        forward = reader.number(handlebar, "reach_mm")
        if forward is not None:
            yield Hands("hoods", Point(bar.forward_mm + forward, bar.up_mm))
        yield Hands("tops", bar)
        drop = reader.number(handlebar, "drop_mm")
        if drop is not None:
            yield Hands("drops", Point(bar.forward_mm, bar.up_mm - drop))
        return
    rise = reader.number(handlebar, "rise_mm", least=-200)
    if rise is not None:
        yield Hands("grips", Point(bar.forward_mm, bar.up_mm + rise))


def _saddle(reader: Reader) -> tuple[Point | None, Point | None]:
    """The middle of the rails, and the saddle's top straight above it."""
    frame, post, saddle = reader.one("frame"), reader.one("seatpost"), reader.one("saddle")
    if post is None:
        reader.misses("seatpost", "exposed_mm")
    if saddle is None:
        reader.misses("saddle", "height_mm")
    angle = reader.number(frame, "seat_angle_deg", least=30)
    tube = reader.number(frame, "seat_tube_length_mm", least=50)
    shown = reader.number(post, "exposed_mm")
    setback = reader.number(post, "setback_mm", least=-100)
    height = reader.number(saddle, "height_mm")
    if angle is None or tube is None or shown is None or setback is None:
        return None, None
    clamp = saddle_clamp_point(angle, tube + shown, setback)
    return clamp, None if height is None else Point(clamp.forward_mm, clamp.up_mm + height)


def _steerer(reader: Reader, front: Front | None, spacers: float | None) -> float | None:
    """Crown seat to the top: headset, head tube, spacers and stem, less what it ends below the top."""
    tube = reader.number(reader.one("frame"), "head_tube_length_mm", least=20)
    lower = reader.number(reader.one("headset"), "stack_lower_mm")
    if front is None or spacers is None or tube is None or lower is None:
        return None
    return lower + tube + front.headset_mm + spacers + front.clamp_height_mm - STEERER_BELOW_TOP_MM


def _reached(target: Point | None, front: Front | None, stem: Stem | None, most: float | None) -> TargetReached | None:
    if target is None or front is None:
        return None
    limit = most if most is not None else SPACERS_CARBON_MM  # the lower one, where the steerer is not known
    own = spacers_for(front, stem, target, limit) if stem is not None else None
    return TargetReached(target, own, stems_for(front, target, limit)[:STEMS_SHOWN], limit)


def _starts(inseam: float | None, crank: float | None) -> Iterator[SaddleStart]:
    if inseam is None:
        return
    by_inseam, by_pedal = saddle_heights_mm(inseam, crank)
    yield SaddleStart("0.883 of the inseam, shell to saddle top", by_inseam)
    if by_pedal is not None:
        yield SaddleStart("1.09 of the inseam, lowest pedal to saddle top, less the crank", by_pedal)


def _to_decide(bicycle: Bicycle, library: Library) -> tuple[NotKnown, ...]:
    """What must be settled by riding before steerer, bar or post is cut."""
    reader = Reader(surroundings(bicycle, library))
    for role, key in DECIDED:
        for placed in _with_field(reader, role, key):
            reader.number(placed, key)
    return reader.not_known


def _with_field(reader: Reader, role: str, key: str) -> Iterator[Placed]:
    for placed in reader.parts(role):
        here = reader.around.here(placed).category
        if here is not None and any(spec.key == key for spec in here.specs):
            yield placed
