"""What lies ahead of an item that is due some day: how far and until when, with a range, and how likely by then."""

from dataclasses import dataclass
from datetime import date, timedelta
from math import inf, sqrt

from service.domain.between import Between
from service.domain.odometer import PLAIN, Weighing
from service.domain.pace import LONGEST_DAYS, Pace, first_day
from service.domain.wear import EARLY, LATE, MIDDLE, Worn

METRES_A_UNIT = 1_000_000
"""Rates are for a thousand kilometres."""
DAYS_A_UNIT = 30
MOST_LIVES = 3
"""Beyond so many typical lives there is no late end: "at least until" is all that can be said."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """A stretch of time and riding to come: equivalent metres with their variance, days, hours in the saddle."""

    metres: float = 0
    metres_var: float = 0
    days: float = 0
    hours: float = 0


@dataclass(frozen=True, slots=True)
class Ahead:
    """What brings an item on, and how far it is from its limit now.

    Of an interval: equivalent metres, days and hours left, less than 0 where past. Of wear: the state now, the limit,
    both counted so that wear grows, and what a unit of distance adds in variance. `by_days`: it wears by days, not by
    distance. `mix`: equivalent metres that a ridden metre has counted for lately. `reach`: the share of what was ridden
    that counted at all; kilometres left are such ones. `typical`: a typical life, in units.
    """

    weighing: Weighing = PLAIN
    mix: float = 1.0
    reach: float = 1.0
    metres_left: float | None = None
    days_left: float | None = None
    hours_left: float | None = None
    worn: Worn | None = None
    limit: float = inf
    uneven: float = 0.0
    typical: float = inf
    by_days: bool = False

    def chance(self, stretch: Stretch) -> float | None:
        """How likely it falls due within a stretch, 0 to 1; None where that cannot be said."""
        if self.worn is not None:
            return self._chance_worn(self.worn, stretch)
        met = [
            (self.metres_left, stretch.metres, stretch.metres_var),
            (self.days_left, stretch.days, 0.0),
            (self.hours_left, stretch.hours, 0.0),
        ]
        chances = [_reached(left, more, var) for left, more, var in met if left is not None]
        return max(chances, default=None)

    def _chance_worn(self, worn: Worn, stretch: Stretch) -> float:
        if self.by_days:
            return worn.chance_past(self.limit, stretch.days / DAYS_A_UNIT, uneven=self.uneven)
        distance, var = stretch.metres / METRES_A_UNIT, stretch.metres_var / METRES_A_UNIT**2
        return worn.chance_past(self.limit, distance, uneven=self.uneven, distance_var=var)

    @property
    def km_a_unit(self) -> float:
        """Kilometres that come to a unit of wear's distance, as ridden lately; dry ones where none reached it then."""
        return METRES_A_UNIT / 1000 * (self.reach / self.mix if self.mix > 0 else 1.0)

    def km_left(self) -> Between[float] | None:
        """Kilometres left of those that reach it, as it is ridden lately; None where distance does not bring it on."""
        per_km = self.km_a_unit
        if self.worn is None:
            left = None if self.metres_left is None else self.metres_left / METRES_A_UNIT * per_km
            return None if left is None else Between(left, left, left)
        middle = self._crossing(MIDDLE)
        if self.by_days or middle is None:
            return None
        early, late = self._crossing(EARLY), self._crossing(LATE)
        far = None if late is None or late > MOST_LIVES * self.typical else late * per_km
        return Between((early or 0.0) * per_km, middle * per_km, far)

    def worn_km(self) -> float | None:
        """The equivalent kilometres at which wear is as likely past its limit as not; None where it goes by days."""
        middle = None if self.by_days else self._crossing(MIDDLE)
        return None if middle is None else middle * METRES_A_UNIT / 1000

    @property
    def nears(self) -> bool:
        """Is wear under way to its limit?"""
        return self._crossing(MIDDLE) is not None

    def _crossing(self, quantile: float) -> float | None:
        return self.worn.crossing(self.limit, quantile, self.uneven) if self.worn is not None else None

    def on(self, today: date, pace: Pace | None) -> Between[date] | None:
        """The days on which it is reached; by distance only where there is a pace. None where that cannot be said."""
        if self.worn is None:
            return self._on_interval(today, pace)
        if self.by_days:
            days = [self._crossing(quantile) for quantile in (EARLY, MIDDLE, LATE)]
            counted = [None if each is None else each * DAYS_A_UNIT for each in days]
            return _days(today, counted[0] or 0.0, counted[1], counted[2])
        crossing = self._crossing(MIDDLE)
        if pace is None or self.mix <= 0 or crossing is None:
            return None
        middle = crossing * METRES_A_UNIT / self.mix / pace.metres_a_day
        if middle > LONGEST_DAYS:
            return None
        left = self.km_left()
        has_late = left is not None and left.late is not None
        late = self._worn_day(self.worn, pace, LATE, middle) if has_late else None
        return _days(today, self._worn_day(self.worn, pace, EARLY, middle) or 0.0, middle, late)

    def _worn_day(self, worn: Worn, pace: Pace, quantile: float, near: float) -> float | None:
        """The first day whose band of wear and of riding together meets the limit: their variances are added."""
        scale = self.mix / METRES_A_UNIT
        by_pace = worn.rate * worn.rate * scale * scale

        def past(days: float) -> float:
            distance = pace.metres_a_day * days * scale
            var = worn.wear_var + distance * (2 * worn.both_cov + distance * worn.rate_var + self.uneven)
            off = worn.wear + worn.rate * distance - self.limit
            return off + quantile * sqrt(max(var + by_pace * pace.var(days), 0.0))

        return first_day(past, near)

    def _on_interval(self, today: date, pace: Pace | None) -> Between[date] | None:
        met: list[Between[float]] = []
        if self.days_left is not None:
            met.append(Between(self.days_left, self.days_left, self.days_left))
        if self.metres_left is not None and pace is not None and self.mix > 0:
            real = self.metres_left / self.mix
            early, middle, late = (pace.day(real, quantile) for quantile in (EARLY, MIDDLE, LATE))
            if middle is not None and real > 0:
                met.append(Between(early or 0.0, middle, late))
        if not met:
            return None
        late_ones = [each.late for each in met if each.late is not None]
        return _days(
            today,
            min(each.early for each in met),
            min(each.middle for each in met),
            min(late_ones, default=None),
        )


def _reached(left: float, more: float, var: float) -> float:
    if var <= 0:
        return 1.0 if more >= left else 0.0
    return Worn(more, 0.0, var, 0.0, 0.0).chance_past(left)


def _days(today: date, early: float, middle: float | None, late: float | None) -> Between[date] | None:
    """Days from now as dates; none where even the middle one is too far ahead to be named.

    Early and late are found to a quarter of a day: they never change places with the middle.
    """
    if middle is None or middle > LONGEST_DAYS:
        return None
    last = None if late is None or late > LONGEST_DAYS else today + timedelta(days=max(late, middle))
    return Between(today + timedelta(days=min(early, middle)), today + timedelta(days=middle), last)
