"""A tyre on a rim: its size when inflated, whether the widths go together, and the highest pressure that is allowed."""

from collections.abc import Mapping
from dataclasses import dataclass
from math import pi
from typing import Literal

HOOKLESS_KPA = 500.0
"""The most on a hookless rim, for road widths (ETRTO, as reported at
https://slowtwitch.cloud/cycling/hookless-rim-and-tire-compatibility-update)."""

WIDTHS_MM = {
    13: (18, 25),
    15: (23, 32),
    17: (25, 50),
    19: (28, 62),
    21: (35, 62),
    23: (37, 62),
    25: (44, 62),
    27: (47, 62),
    29: (54, 62),
}
"""Narrowest and widest tyre by the rim's inner width, mm: ETRTO as of 2006
(https://de-rec-fahrrad.de/_export/xhtml/technik/etrtotabelle); too strict for today's wide rims."""

SECTION_KPA = ((28, 500.0), (35, 400.0), (45, 300.0), (57, 250.0), (float("inf"), 200.0))
"""Advice for a rim without a mark, by the widest tyre it holds for, mm (from memory)."""

Widths = Literal["meets", "needs care", "conflicts", "not measured yet"]


def diameter_mm(bead_seat_mm: float, tyre_mm: float) -> float:
    """Outside diameter: bead seat plus two section heights, a section as high as it is wide (ISO 5775-1)."""
    return bead_seat_mm + 2 * tyre_mm


def circumference_mm(bead_seat_mm: float, tyre_mm: float) -> float:
    """Once round, unloaded: within half a percent of printed tables for computers; a measured roll-out is better."""
    return pi * diameter_mm(bead_seat_mm, tyre_mm)


def widths(tyre_mm: float, rim_inner_mm: float | None) -> Widths:
    """How a tyre's width and a rim's inner width go together; both makers' lists govern.

    A rim wider than 0.9 of the tyre conflicts (common practice); outside the table of 2006 it needs care.
    """
    if rim_inner_mm is None:
        return "not measured yet"
    if rim_inner_mm > 0.9 * tyre_mm:
        return "conflicts"
    low, high = widths_for(rim_inner_mm)
    return "meets" if low <= tyre_mm <= high else "needs care"


def widths_for(rim_inner_mm: float) -> tuple[float, float]:
    """Narrowest and widest tyre of the table, mm; between two rows in proportion, outside it as its last row."""
    rows = sorted(WIDTHS_MM)
    inner = min(max(rim_inner_mm, rows[0]), rows[-1])
    below = max(row for row in rows if row <= inner)
    above = min(row for row in rows if row >= inner)
    share = 0.0 if above == below else (inner - below) / (above - below)
    low, high = (a + share * (b - a) for a, b in zip(WIDTHS_MM[below], WIDTHS_MM[above], strict=True))
    return low, high


@dataclass(frozen=True, slots=True)
class Ceiling:
    """The highest pressure, kPa, and whose limit it is; None where nobody's is known."""

    kpa: float | None
    governs: str | None
    not_known: tuple[str, ...]


def ceiling(limits_kpa: Mapping[str, float | None], *, hookless: bool) -> Ceiling:
    """The lowest of the known limits, each under the name of its part; a hookless rim has its own besides.

    The order of precedence is ISO 4210-1's (2.27) with the hookless limit of ETRTO beside it.
    """
    known = {name: kpa for name, kpa in limits_kpa.items() if kpa is not None}
    if hookless:
        known["hookless"] = HOOKLESS_KPA
    missing = tuple(name for name, kpa in limits_kpa.items() if kpa is None)
    if not known:
        return Ceiling(None, None, missing)
    governs = min(known, key=lambda name: known[name])
    return Ceiling(known[governs], governs, missing)


def advised_kpa(tyre_mm: float) -> float:
    """What a rim without a mark is trusted with at most, kPa, by the tyre's width: advice, from memory."""
    return next(kpa for widest, kpa in SECTION_KPA if tyre_mm <= widest)
