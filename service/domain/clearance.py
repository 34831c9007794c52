"""Tyre room: a gap measured with one tyre carried over to another, and the largest tyre that keeps a gap."""

from math import atan2, degrees
from typing import Literal

Gap = Literal["side", "crown"]
TALL_UNDER_MM, TALLER_BY_MM = 28.0, 2.5
"""A narrow section stands higher than it is wide (ISO 5775-1, as mirrored at
https://en-academic.com/dic.nsf/enwiki/884038)."""


def section_height_mm(width_mm: float) -> float:
    """How far a tyre stands over the bead seat, mm, from its width on this rim."""
    return width_mm + (TALLER_BY_MM if width_mm < TALL_UNDER_MM else 0.0)


def new_gap_mm(tyre_mm: float, gap_mm: float, new_tyre_mm: float, gap: Gap = "side") -> float:
    """The gap that another tyre leaves on the same rim; less than nothing where it does not fit.

    At the side each tyre takes half the difference of widths, at crown, bridge and seat tube the whole difference of
    heights, as the bead's seat is fixed (geometry).
    """
    if gap == "side":
        return gap_mm - (new_tyre_mm - tyre_mm) / 2
    return gap_mm - (section_height_mm(new_tyre_mm) - section_height_mm(tyre_mm))


def largest_tyre_mm(tyre_mm: float, gap_mm: float, required_mm: float, gap: Gap = "side") -> float:
    """The widest tyre, mm on this rim, that leaves the required gap."""
    room = gap_mm - required_mm
    if gap == "side":
        return tyre_mm + 2 * room
    height = section_height_mm(tyre_mm) + room
    return height if height >= TALL_UNDER_MM else height - TALLER_BY_MM


def toe_gap_mm(front_centre_mm: float, crank_mm: float, tyre_radius_mm: float) -> float:
    """Middle of a level pedal to the front tyre at the worst angle; less than nothing: they meet (geometry)."""
    return front_centre_mm - crank_mm - tyre_radius_mm


def lean_deg(axle_height_mm: float, below_axle_mm: float, pedal_out_mm: float) -> float:
    """How far a bicycle leans before the lower pedal's outer edge touches, degrees; 0 where it touches upright.

    `axle_height_mm`: the lowest pedal axle over the ground; `pedal_out_mm`: middle plane to that edge (geometry).
    """
    return degrees(atan2(max(axle_height_mm - below_axle_mm, 0.0), pedal_out_mm))
