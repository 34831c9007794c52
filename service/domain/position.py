"""Where bar and saddle stand: points from the middle of the shell, and the stem and spacers that reach one.

Every point is forward (towards the front wheel is plus) and up, mm, with the bicycle level; angles are in degrees from
level. All of it is plane geometry.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from math import cos, hypot, radians, sin

STEM_LENGTHS_MM = (35, 40, 45, 50, 60, 70, 80, 90, 100, 110, 120, 130, 140)
STEM_ANGLES_DEG = (-17, -12, -10, -6, 0, 6, 10, 12, 17, 25, 35)
"""Stems that are to be had; a stem of either sign is the same one turned over. Common practice, no source."""
SHELL_TO_SADDLE = 0.883
"""Saddle top to shell, along the seat tube, as a share of the inseam: a place to start from
(https://sportcoaching.co.nz/lemond-method-saddle-height-formula/)."""
PEDAL_TO_SADDLE = 1.09
"""Saddle top to the lowest pedal axle as a share of the inseam (http://victorharborcycles.com/vhcycles_009.htm)."""


@dataclass(frozen=True, slots=True)
class Point:
    """A point, mm from the middle of the shell."""

    forward_mm: float
    up_mm: float

    def moved(self, length_mm: float, angle_deg: float) -> "Point":
        """The point so far away, in a direction from level: 0 straight forward, 90 straight up."""
        turn = radians(angle_deg)
        return Point(self.forward_mm + length_mm * cos(turn), self.up_mm + length_mm * sin(turn))


@dataclass(frozen=True, slots=True, kw_only=True)
class Front:
    """The head tube's top, its angle, and what stands on it up to the stem: headset, spacers under the stem."""

    top: Point
    head_angle_deg: float
    headset_mm: float
    clamp_height_mm: float


@dataclass(frozen=True, slots=True)
class Stem:
    """Length from middle to middle, and degrees from square to the steerer, up is plus."""

    length_mm: float
    angle_deg: float


def bar_point(front: Front, spacers_mm: float, stem: Stem) -> Point:
    """The middle of the bar's clamp: up the steerer to the middle of the stem, then along it."""
    up_steerer = 180 - front.head_angle_deg
    on_steerer = front.top.moved(front.headset_mm + spacers_mm + front.clamp_height_mm / 2, up_steerer)
    return on_steerer.moved(stem.length_mm, up_steerer - 90 + stem.angle_deg)


def saddle_clamp_point(seat_angle_deg: float, tube_and_post_mm: float, setback_mm: float) -> Point:
    """The middle of the rails in the post's head: up the seat tube, then square to it to the rear."""
    up_tube = 180 - seat_angle_deg
    return Point(0.0, 0.0).moved(tube_and_post_mm, up_tube).moved(setback_mm, up_tube + 90)


@dataclass(frozen=True, slots=True)
class Reached:
    """A stem and spacers, and how far the bar then is from the target, mm: more than nothing is beyond, or above it."""

    spacers_mm: float
    stem: Stem
    forward_off_mm: float
    up_off_mm: float

    @property
    def off_mm(self) -> float:
        """How far it is off, straight across."""
        return hypot(self.forward_off_mm, self.up_off_mm)


def spacers_for(front: Front, stem: Stem, target: Point, most_mm: float) -> Reached:
    """The spacers, 0 to the most, that bring the bar nearest the target with this stem."""
    bare = bar_point(front, 0.0, stem)
    turn = radians(180 - front.head_angle_deg)
    along = (target.forward_mm - bare.forward_mm) * cos(turn) + (target.up_mm - bare.up_mm) * sin(turn)
    spacers = min(max(along, 0.0), most_mm)
    there = bar_point(front, spacers, stem)
    return Reached(spacers, stem, there.forward_mm - target.forward_mm, there.up_mm - target.up_mm)


def stems_for(front: Front, target: Point, most_spacers_mm: float) -> tuple[Reached, ...]:
    """Every stem that is to be had with the spacers that suit it best, the nearest first; of equals fewest spacers."""
    found = (spacers_for(front, stem, target, most_spacers_mm) for stem in _stems())
    return tuple(sorted(found, key=lambda each: (round(each.off_mm, 1), each.spacers_mm, each.stem.length_mm)))


def _stems() -> Iterator[Stem]:
    for length in STEM_LENGTHS_MM:
        for angle in STEM_ANGLES_DEG:
            yield Stem(float(length), float(angle))


def saddle_heights_mm(inseam_mm: float, crank_mm: float | None) -> tuple[float, float | None]:
    """Two published places to start from, shell to saddle top: by the inseam alone, and by inseam and crank.

    Neither knows the foot, the shoe or the hips: ride, then settle it.
    """
    by_pedal = None if crank_mm is None else PEDAL_TO_SADDLE * inseam_mm - crank_mm
    return SHELL_TO_SADDLE * inseam_mm, by_pedal
