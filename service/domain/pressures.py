"""How hard each tyre may be pumped: the lowest limit of tyre, rim and tape, whose it is, and what is ridden."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from service.domain.bicycle import Bicycle, Placed
from service.domain.ends import ENDS
from service.domain.inputs import Input, NotKnown, Reader
from service.domain.places import surroundings
from service.domain.procedure import Library
from service.domain.tyre import advised_kpa, ceiling

PressureAnswer = Literal["within", "close under the limit", "too low", "too high", "no pressure fits", "not known"]
CLOSE = 0.95
"""Nearer to the limit than this, a gauge's error or a warm day passes it: common practice, no source."""


@dataclass(frozen=True, slots=True)
class TyrePressure:
    """One tyre, kPa. `least_kpa` is the tyre's own; `advised_kpa` is advice from memory for a rim without a mark.

    `limits_missing`: whose limit is not known, so that the ceiling may lie lower.
    """

    place: str
    tyre: str
    tyre_mm: float | None
    ceiling_kpa: float | None
    governs: str | None
    limits_missing: tuple[str, ...]
    advised_kpa: float | None
    least_kpa: float | None
    planned_kpa: float | None
    answer: PressureAnswer


@dataclass(frozen=True, slots=True)
class Pressures:
    """Both tyres, front then rear."""

    tyres: tuple[TyrePressure, ...]
    assumes: tuple[str, ...]
    inputs: tuple[Input, ...]
    not_known: tuple[NotKnown, ...]


def pressures(bicycle: Bicycle, library: Library) -> Pressures:
    """The ceilings with these parts."""
    reader = Reader(surroundings(bicycle, library))
    found = tuple(_at_end(reader, end) for end in ENDS)
    met = tuple(each for each in found if each is not None)
    return Pressures(met, tuple(_assumes(met)), reader.inputs, reader.not_known)


def _assumes(met: tuple[TyrePressure, ...]) -> Iterator[str]:
    if any(each.limits_missing for each in met):
        yield "Where a limit is not known the ceiling is the lowest of those that are: it may lie lower still."
    if any(each.governs == "hookless" for each in met):
        yield "500 kPa on a hookless rim is for road widths; wider tyres take less: both makers' lists govern."


def _at_end(reader: Reader, end: str) -> TyrePressure | None:
    tyre = next((each for each in reader.parts("tyre") if end in reader.around.ends(each).names), None)
    if tyre is None:
        reader.misses("tyre", "pressure_max_kpa", end)
        return None
    rim, tape = _beside(reader, "rim", tyre), _beside(reader, "rim-tape", tyre)
    width = reader.number(tyre, "width_on_rim_mm", least=5, asked=False)
    width = width if width is not None else reader.number(tyre, "width_marked_mm", least=5)
    limits = {"tyre": reader.number(tyre, "pressure_max_kpa", least=1)}
    limits["rim"] = reader.number(rim, "max_pressure_kpa", least=1)
    if rim is None:
        reader.misses("rim", "max_pressure_kpa", end)
    if tape is not None:
        limits["rim tape"] = reader.number(tape, "pressure_max_kpa", least=1)
    found = ceiling(limits, hookless=reader.words(rim, "bead") == "hookless")
    least = reader.number(tyre, "pressure_min_kpa", least=1)
    planned = reader.number(tyre, "pressure_planned_kpa", least=1)
    return TyrePressure(
        place=end,
        tyre=tyre.part.name,
        tyre_mm=width,
        ceiling_kpa=found.kpa,
        governs=found.governs,
        limits_missing=found.not_known,
        advised_kpa=advised_kpa(width) if width is not None and limits["rim"] is None else None,
        least_kpa=least,
        planned_kpa=planned,
        answer=_answer(found.kpa, least, planned),
    )


def _beside(reader: Reader, role: str, tyre: Placed) -> Placed | None:
    wheels = reader.around.wheels
    own = wheels.get(tyre.part.id)
    return next((each for each in reader.parts(role) if own and wheels.get(each.part.id) == own), None)


def _answer(ceiling_kpa: float | None, least: float | None, planned: float | None) -> PressureAnswer:
    if ceiling_kpa is not None and least is not None and least > ceiling_kpa:
        return "no pressure fits"
    if ceiling_kpa is None or planned is None:
        return "not known"
    if planned > ceiling_kpa:
        return "too high"
    if least is not None and planned < least:
        return "too low"
    return "close under the limit" if planned > CLOSE * ceiling_kpa else "within"
