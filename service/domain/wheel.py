"""Spokes of a wheel: how long they must be, from hub, rim and lacing."""

from dataclasses import dataclass
from math import cos, floor, pi, sqrt

from service.errors import Refusal


@dataclass(frozen=True, slots=True, kw_only=True)
class Lacing:
    """One side of a wheel: diameters of hole circle, effective rim and spoke hole, mm; spokes of the whole wheel."""

    hole_circle_mm: float
    flange_offset_mm: float
    effective_rim_mm: float
    spoke_hole_mm: float
    spokes_count: int
    crosses: int


def spoke_length_mm(lacing: Lacing) -> float:
    """Inside of the elbow to the tip: √(o² + r² + R² − 2rR cos α) − s, α = 360° × crosses ÷ spokes of this side.

    The law of cosines in the plane of the flange (http://tristable.net/bike/spoke_length.txt). Raises Refusal for
    a wheel that cannot be laced so.
    """
    _check(lacing)
    hub, rim = lacing.hole_circle_mm / 2, lacing.effective_rim_mm / 2
    angle = 2 * pi * lacing.crosses / (lacing.spokes_count / 2)
    plane = hub**2 + rim**2 - 2 * hub * rim * cos(angle)
    return sqrt(lacing.flange_offset_mm**2 + plane) - lacing.spoke_hole_mm / 2


def _check(lacing: Lacing) -> None:
    if lacing.hole_circle_mm >= lacing.effective_rim_mm:
        raise Refusal(
            "The flange is wider than the rim.",
            errors=[("/hole_circle_mm", f"under effective_rim_mm, {lacing.effective_rim_mm:g}: both are diameters")],
        )
    if lacing.flange_offset_mm >= lacing.effective_rim_mm / 2:
        right = "from the wheel's middle plane to the flange, far less than half the rim"
        raise Refusal("The flange stands farther out than the rim is high.", errors=[("/flange_offset_mm", right)])
    if lacing.spoke_hole_mm >= lacing.effective_rim_mm - lacing.hole_circle_mm:
        raise Refusal(
            "The rim lies so close to the flange that no spoke goes between them.",
            errors=[("/effective_rim_mm", "far over hole_circle_mm: both are diameters")],
        )
    if lacing.spokes_count % 2 or (lacing.crosses and lacing.spokes_count % 4):
        right = "the spokes of the whole wheel: even, and divisible by 4 where they cross"
        raise Refusal("So many spokes cannot be shared between two sides.", errors=[("/spokes_count", right)])
    most = lacing.spokes_count // 8
    if lacing.crosses > most:
        raise Refusal(
            "So many crosses lay a spoke over the head of its neighbour.",
            errors=[("/crosses", f"at most {most} with {lacing.spokes_count} spokes")],
        )


def order_length_mm(length_mm: float, *, tight_side: bool = False) -> int:
    """The length to buy: the nearest whole millimetre, rounded down on the tighter side (from memory)."""
    return floor(length_mm) if tight_side else floor(length_mm + 0.5)


def sideways_pull(spokes_count: int, offset_mm: float, length_mm: float) -> float:
    """How hard one side of a wheel pulls the rim sideways for each newton in each of its spokes.

    Count × offset ÷ length; a rim that stands still is pulled alike from both sides, so the tensions are to one another
    as these pulls turned round (statics).
    """
    return spokes_count * offset_mm / length_mm
