"""The lists beside the categories: milestones, stages, tools, consumables, sources, factors of conditions."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Literal

from service.domain.basis import Basis, Strict


@dataclass(frozen=True, slots=True, kw_only=True)
class Milestone(Strict):
    """A state of the bicycle that steps give and need: for each part, each end, or the bicycle."""

    key: str
    title: str
    per: Literal["part", "end", "bicycle"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Stage(Strict):
    """A stretch of the build; stages only break ties in the order."""

    key: str
    title: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Tool(Strict):
    """A tool, with its sizes where it has any."""

    title: str
    sizes: tuple[str, ...] = ()
    instead: str | None = None
    dangerous: str | None = None
    shop: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Stuff(Strict):
    """A consumable by name, with what to know when buying or using it."""

    title: str
    note: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Source(Strict):
    """Where a figure was read."""

    title: str
    address: str
    read_on: date


@dataclass(frozen=True, slots=True, kw_only=True)
class Factors(Strict):
    """How many kilometres one kilometre counts for, by condition; never more than `cap` in all."""

    dry: float = 1.0
    dusty: float = 1.0
    wet: float = 1.0
    gritty: float = 1.0
    salted: float = 1.0
    indoor: float = 1.0
    roller: float = 1.0
    loaded: float = 1.0
    descents: float = 1.0
    motor: float = 1.0
    cap: float = 6.0
    by_end: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    basis: Basis
    source: str | None = None
    note: str | None = None
