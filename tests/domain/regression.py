"""Least squares by the filter of wear, exactly: no wandering, a flat prior, fractions instead of floats."""

import csv
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from math import sqrt
from pathlib import Path
from typing import Any

import mpmath  # type: ignore[import-untyped]

from service.domain.wear import Worn

FLAT: Any = Fraction(10) ** 30
"""A variance beside which the readings of these tables say everything: what it adds is in the thirtieth digit."""
ZERO: Any = Fraction(0)
exactly: Any = Fraction
"""What the filter is fed: it only adds, takes away, multiplies and divides, and fractions do that without loss."""
Pairs = Sequence[tuple[float, float]]


def rows(name: str) -> list[dict[str, str]]:
    """The rows of a file in degradation/, whose first lines name their source."""
    with (Path(__file__).parent / "degradation" / f"{name}.csv").open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def pairs(name: str, x: str, y: str, **wanted: str) -> list[tuple[float, float]]:
    """Two columns as numbers, of the rows that have these values."""
    met = [row for row in rows(name) if all(row[key] == value for key, value in wanted.items())]
    return [(float(row[x]), float(row[y])) for row in met]


@dataclass(frozen=True)
class Fit:
    """A filter's state at x = 0, its reading error taken as 1; `sd` is that of the residuals on `df` degrees."""

    worn: Worn
    sd: float
    df: int

    def at(self, x: float) -> Worn:
        """The state at x, its variances in the data's own unit."""
        return _scaled(self.worn.after(exactly(x)), self.sd * self.sd)

    @property
    def here(self) -> Worn:
        """The state at 0, as floats."""
        return self.at(0)

    def one_reading(self, of: int = 1) -> Worn:
        """The state at 0 as a single reading, or the mean of several, would show it: with their own error."""
        worn = self.here
        return Worn(worn.wear, worn.rate, worn.wear_var + self.sd * self.sd / of, worn.both_cov, worn.rate_var)


def _scaled(worn: Worn, by: float) -> Worn:
    return Worn(
        float(worn.wear), float(worn.rate), float(worn.wear_var) * by, float(worn.both_cov) * by,
        float(worn.rate_var) * by,
    )  # fmt: skip


def line(readings: Pairs, *, through: float | None = None) -> Fit:
    """The straight line; `through`: what it is at 0, where that is known. Readings are taken in one by one."""
    worn = Worn(exactly(through or 0), ZERO, ZERO if through is not None else FLAT, ZERO, FLAT)
    at = ZERO
    for x, y in sorted(readings):
        worn = worn.after(exactly(x) - at).read(exactly(y), 1)
        at = exactly(x)
    begin = worn.after(-at)
    off = [exactly(y) - begin.wear - begin.rate * exactly(x) for x, y in readings]
    df = len(readings) - (1 if through is not None else 2)
    sd = sqrt(sum(each * each for each in off) / df) if df else 0.0
    return Fit(begin, sd, df)


@cache
def student(two_sided: float, df: int) -> float:
    """Student's t for a two-sided level, such as 0.95; the incomplete beta function is mpmath's."""
    tail = (1 - two_sided) / 2

    def upper(t: Any) -> Any:
        return mpmath.betainc(mpmath.mpf(df) / 2, 0.5, 0, df / (df + t * t), regularized=True) / 2 - tail

    low, high = mpmath.mpf(0), mpmath.mpf(1000)
    while high - low > 1e-12:
        middle = (low + high) / 2
        low, high = (middle, high) if upper(middle) > 0 else (low, middle)
    return float(low)


def limits(worn: Worn, limit: float, quantile: float) -> tuple[float | None, float | None, float | None]:
    """Where the upper edge of a band, the line itself, and the lower edge cross a limit."""
    return worn.crossing(limit, quantile), worn.crossing(limit, 0), worn.crossing(limit, -quantile)


def turned(readings: Iterable[tuple[float, float]]) -> list[tuple[float, float]]:
    """Readings that fall, counted so that wear grows."""
    return [(x, -y) for x, y in readings]
