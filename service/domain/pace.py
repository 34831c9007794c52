"""How much is ridden: the usual pace with its spread, and from it on which day so much will have been ridden."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from math import sqrt

from service.domain.wording import day_words

WEEK = timedelta(days=7)
HALF_LIFE_WEEKS = 8
"""A week counts half as much as one eight weeks later: what was ridden lately says most."""
MOST_WEEKS = 80
"""Older weeks weigh less than a thousandth."""
LEAST_WEEKS, LEAST_METRES = 3, 30_000
"""No pace is told from less."""
IDLE_DAYS = 42
"""After so long without a ride the pace says nothing of the next weeks: common practice, no source."""
DRIFT, SAID_DRIFT = 0.35, 0.5
"""How far the pace itself may be off: as measured, and where it is only what the rider says. From simulation."""
DRIFT_DAYS, MOST_DRIFT = 90, 1.5
"""The pace drifts for some ninety days; further ahead it is no more uncertain than that and half again."""
LONGEST_DAYS = 5 * 365
"""Further ahead there are no dates."""
NEAR_ENOUGH_DAYS = 0.25


@dataclass(frozen=True, slots=True)
class Pace:
    """Metres a day, the variance that a day adds (metres²), and how far the pace itself may be off, as a share."""

    metres_a_day: float
    var_a_day: float
    drift: float

    def metres(self, days: float) -> float:
        """What is likely to be ridden in so many days."""
        return self.metres_a_day * days

    def var(self, days: float) -> float:
        """The variance of what is ridden in so many days, metres²: uneven weeks, and a pace that may be off."""
        off = self.drift * self.metres_a_day * days
        return self.var_a_day * days + off * off * min(days / DRIFT_DAYS, MOST_DRIFT)

    def day(self, metres: float, quantile: float) -> float | None:
        """In how many days so much is ridden, at a standard normal quantile: early ones are above 0, late ones below.

        None where that is further ahead than dates are given for.
        """
        near = metres / self.metres_a_day
        if quantile == 0:
            return None if near > LONGEST_DAYS else max(near, 0.0)
        return first_day(lambda days: self.metres_a_day * days - metres + quantile * sqrt(self.var(days)), near)


def first_day(past: Callable[[float], float], near: float = 1.0) -> float | None:
    """The first day, from 0 on, at which a function that grows in the long run reaches 0; None past `LONGEST_DAYS`.

    Sought from a day `near` it, to a quarter of a day, by false position (the Illinois form: M. Dowell, P. Jarratt,
    A modified regula falsi method for computing the root of an equation, 1971).
    """
    early, early_is = 0.0, past(0)
    if early_is >= 0:
        return 0.0
    late = min(max(near, 1.0), LONGEST_DAYS)
    late_is = past(late)
    while late_is < 0:
        if late >= LONGEST_DAYS:
            return None
        early, early_is = late, late_is
        late = min(late * 2, LONGEST_DAYS)
        late_is = past(late)
    return _between(past, (early, early_is), (late, late_is))


def _between(past: Callable[[float], float], low: tuple[float, float], high: tuple[float, float]) -> float:
    (early, early_is), (late, late_is) = low, high
    side = 0
    while late - early > NEAR_ENOUGH_DAYS:
        day = (early * late_is - late * early_is) / (late_is - early_is)
        # the edges close in at least so much, or false position would creep up to one of them
        day = min(max(day, early + NEAR_ENOUGH_DAYS / 2), late - NEAR_ENOUGH_DAYS / 2)
        worth = past(day)
        if worth >= 0:
            late, late_is = day, worth
            early_is = early_is / 2 if side > 0 else early_is
            side = 1
        else:
            early, early_is = day, worth
            late_is = late_is / 2 if side < 0 else late_is
            side = -1
    return late


def pace_of(ridden: Callable[[datetime, datetime], int], first: datetime, now: datetime) -> Pace | None:
    """The pace of a bicycle first ridden at `first`; `ridden` tells whole metres between two instants.

    None before three weeks of riding and 30 km, and after six weeks without any.
    """
    weeks = min(int((now - first) / WEEK), MOST_WEEKS)
    if weeks < LEAST_WEEKS or ridden(now - timedelta(days=IDLE_DAYS), now) <= 0:
        return None
    sums = [ridden(now - (back + 1) * WEEK, now - back * WEEK) for back in range(weeks)]
    if sum(sums) < LEAST_METRES:
        return None
    weights = [0.5 ** (back / HALF_LIFE_WEEKS) for back in range(weeks)]
    whole = sum(weights)
    mean = sum(weight * each for weight, each in zip(weights, sums, strict=True)) / whole
    spread = sum(weight * (each - mean) ** 2 for weight, each in zip(weights, sums, strict=True)) / whole
    unbiased = 1 - sum(weight * weight for weight in weights) / (whole * whole)
    return Pace(mean / 7, spread / unbiased / 7, DRIFT) if mean > 0 else None


def said_pace(weekly_metres: int) -> Pace:
    """The pace that a rider says they have, half of it uncertain."""
    return Pace(weekly_metres / 7, 0.0, SAID_DRIFT)


def no_pace(last_ride: date | None, today: date) -> str:
    """Why there is no pace, in words."""
    if last_ride is None:
        return "Not ridden yet: kilometres, no date."
    if today - last_ride > timedelta(days=IDLE_DAYS):
        return f"Not ridden since {day_words(last_ride, today)}: kilometres, no date."
    return "Less than three weeks of riding, or under 30 km: kilometres, no date."
