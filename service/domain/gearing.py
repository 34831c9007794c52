"""Gears: ratio, development, gear inches, gain ratio and speed of one ring and one sprocket on one wheel."""

from dataclasses import dataclass
from math import pi

from service.domain.units import INCH_M

INCH_MM = INCH_M * 1000


@dataclass(frozen=True, slots=True)
class Gear:
    """One ring with one sprocket; `gain_ratio` needs the crank's length, `speed_kmh` a cadence."""

    ratio: float
    development_m: float
    gear_in: float
    gain_ratio: float | None
    speed_kmh: float | None


def gear(
    ring_teeth: int,
    sprocket_teeth: int,
    circumference_mm: float,
    crank_mm: float | None = None,
    cadence_rpm: float | None = None,
) -> Gear:
    """The gear of a wheel of this circumference, mm.

    Development = circumference × ring ÷ sprocket; gear inches = wheel diameter in inches × ring ÷ sprocket
    (M. E. Ward, Bicycling for Ladies, 1896, ch. XVIII); gain ratio = wheel radius ÷ crank × ring ÷ sprocket.
    """
    ratio = ring_teeth / sprocket_teeth
    development_m = circumference_mm * ratio / 1000
    diameter_mm = circumference_mm / pi
    return Gear(
        ratio=ratio,
        development_m=development_m,
        gear_in=diameter_mm / INCH_MM * ratio,
        gain_ratio=None if crank_mm is None else diameter_mm / 2 / crank_mm * ratio,
        speed_kmh=None if cadence_rpm is None else development_m * cadence_rpm * 60 / 1000,
    )
