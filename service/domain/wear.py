"""How a part wears: level and rate, from common practice as the prior and its own readings; when a limit is crossed.

A filter of two states (R. E. Kalman, A new approach to linear filtering and prediction problems, 1960) over distance:
the rate wanders, so the level's variance grows as well by `uneven` for every unit ridden. With no wandering and a flat
prior it is the least-squares line, and where it crosses a limit is the inverse prediction of Fieller.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from math import erf, exp, hypot, inf, pi, sqrt

UNEVEN = 0.15
"""How unevenly a part wears over its life, as a share of it: one standard deviation. From simulation, no source."""
NOWHERE = 1e6
"""So many units ahead, thousands of kilometres or months, a limit is never met."""
EARLY, MIDDLE, LATE = 1.2815515655446004, 0.0, -1.2815515655446004
"""Standard normal quantiles: of a hundred parts, ten have crossed by the early end, ninety by the late one."""


@dataclass(frozen=True, slots=True)
class Worn:
    """Wear and its rate with their variances, counted so that wear grows; a unit of distance is the rate's own."""

    wear: float
    rate: float
    wear_var: float
    both_cov: float
    rate_var: float

    def after(self, distance: float, uneven: float = 0) -> "Worn":
        """The state after a further distance; `uneven` is the variance that every unit of it adds."""
        cov = self.both_cov + distance * self.rate_var
        var = self.wear_var + distance * (self.both_cov + cov) + uneven * distance
        return Worn(self.wear + self.rate * distance, self.rate, var, cov, self.rate_var)

    def read(self, reading: float, error_var: float) -> "Worn":
        """The state once a reading is known, `error_var` being the variance of its error."""
        var = self.wear_var + error_var
        return self._corrected(reading - self.wear, 1, var) if var > 0 else self

    def _corrected(self, by: float, known: float, var: float) -> "Worn":
        """The gain of a reading; `known` is the share of its variance `var` that the reading has removed."""
        gain, rate_gain = self.wear_var / var, self.both_cov / var
        return Worn(
            self.wear + gain * by,
            self.rate + rate_gain * by,
            self.wear_var - gain * self.wear_var * known,
            self.both_cov - gain * self.both_cov * known,
            self.rate_var - rate_gain * self.both_cov * known,
        )

    def read_between(self, least: float, most: float, error_var: float) -> "Worn":
        """The state once it is known to lie between two marks, either of which may be infinitely far.

        The moments of a normal distribution cut off at both ends: N. L. Johnson, S. Kotz, N. Balakrishnan, Continuous
        Univariate Distributions, volume 1, 2nd edition (1994), 10.1.
        """
        var = self.wear_var + error_var
        if var <= 0:
            return self
        sd = sqrt(var)
        low, high = (least - self.wear) / sd, (most - self.wear) / sd
        inside = _below(high) - _below(low)
        if inside < 1e-9:  # far from all that was expected: as if the nearer mark had been read
            return self.read(least if low > 0 else most, error_var)
        at_low, at_high = _density(low), _density(high)
        shift = (at_low - at_high) / inside
        edges = (0 if low == -inf else low * at_low) - (0 if high == inf else high * at_high)
        spread = min(max(1 + edges / inside - shift * shift, 0), 1)  # rounding may pass either, between marks close by
        return self._corrected(shift * sd, 1 - spread, var)

    def chance_past(self, limit: float, distance: float = 0, *, uneven: float = 0, distance_var: float = 0) -> float:
        """How likely wear has reached a limit after a further distance, 0 to 1; the distance may be uncertain too."""
        then = self.after(distance, uneven)
        sd = sqrt(max(then.wear_var + self.rate * self.rate * distance_var, 0))
        if sd == 0:
            return 1.0 if then.wear >= limit else 0.0
        return _below((then.wear - limit) / sd)

    def crossing(self, limit: float, quantile: float, uneven: float = 0) -> float | None:
        """The distance from here at which the band of a standard normal `quantile` first reaches a limit.

        0 where it has reached it already, None where it never does: with a rate that is not told from none, the late
        end is nowhere. E. C. Fieller, Some problems in interval estimation (1954).
        """
        short = limit - self.wear
        if short <= quantile * sqrt(max(self.wear_var, 0)):
            return 0.0
        if quantile == 0:
            met = [short / self.rate] if self.rate > 0 else []
        else:
            roots = self._roots(short, quantile * quantile, self.both_cov + uneven / 2)
            met = [root for root in roots if root > 0 and self._is_at(short, quantile, root)]
        return min((each for each in met if each < NOWHERE), default=None)

    def _roots(self, short: float, squared: float, cov: float) -> Iterable[float]:
        """Where (rate x - short)² is so many times the variance at x: the roots of a x² - 2 half x + c.

        What is under the square root is written out, as four of its terms cancel: where nothing is uncertain it is 0,
        and both roots are one.
        """
        a = self.rate * self.rate - squared * self.rate_var
        half = self.rate * short + squared * cov
        c = short * short - squared * self.wear_var
        spread = cov * cov - self.rate_var * self.wear_var
        mixed = 2 * self.rate * short * cov + self.rate * self.rate * self.wear_var + short * short * self.rate_var
        under = squared * (squared * spread + mixed)
        if under < 0:
            return ()
        far = half + (sqrt(under) if half >= 0 else -sqrt(under))
        if far == 0:
            return ()
        return (c / far,) if a == 0 else (c / far, far / a)

    def _is_at(self, short: float, quantile: float, distance: float) -> bool:
        """Of the two roots of a squared equation, is this the one on the right side? Rounding does not decide it."""
        run = self.rate * distance
        return (run - short) * quantile <= 1e-12 * abs(quantile) * (abs(run) + abs(short))


def _below(quantile: float) -> float:
    return (1 + erf(quantile / sqrt(2))) / 2


def _density(quantile: float) -> float:
    return exp(-quantile * quantile / 2) / sqrt(2 * pi) if abs(quantile) != inf else 0.0


@dataclass(frozen=True, slots=True)
class Prior:
    """What is known of a dimension before it is read: new and rate with their standard deviations, wear growing.

    `life`: from new to the limit, in the dimension's unit, always more than 0; it scales the unevenness.
    """

    new: float
    new_sd: float
    rate: float
    rate_sd: float
    life: float

    @property
    def uneven(self) -> float:
        """Variance that each unit of distance adds: after a typical life, (`UNEVEN` of that life)²."""
        return UNEVEN * UNEVEN * self.life * self.rate

    @property
    def typical(self) -> float:
        """A typical life as a distance."""
        return self.life / self.rate if self.rate > 0 else inf

    def begin(self) -> Worn:
        """A new part."""
        return Worn(self.new, self.rate, self.new_sd * self.new_sd, 0, self.rate_sd * self.rate_sd)

    def begin_at(self, reading: float, error_var: float) -> Worn:
        """A part whose past is not known, at its first reading."""
        return replace(self.begin(), wear=reading, wear_var=error_var)


def running_in(error_sd: float, new_sd: float) -> float:
    """The error of a reading taken while a part beds in, when it wears faster than it will: as its newness spreads."""
    return hypot(error_sd, new_sd)
