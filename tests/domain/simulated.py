"""Simulated parts and riders of whom the truth is known, for asking how often a range holds it. All seeded."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from math import cos, exp, log1p, pi, sqrt
from random import Random

from service.domain.pace import Pace, pace_of
from service.domain.wear import EARLY, LATE, Prior, Worn, running_in

CLAIMED = 0.8
LEAST, MOST = 0.74, 0.90
"""Between these a claim of 80 % is taken as kept."""


def slack(count: int) -> float:
    """Twice the standard error of a share of so many."""
    return 2 * sqrt(CLAIMED * (1 - CLAIMED) / count)


# Parts


@dataclass(frozen=True)
class Kind:
    """A way of wearing, in per cent and thousand km, as the truth and as it is read.

    `season`: by how much of itself the rate swings over a year. `bedding`: what it wears more while running in.
    """

    name: str
    season: float = 0.0
    bedding: float = 0.0
    error_sd: float = 0.05


STEADY = Kind("steady rate")
SEASONAL = Kind("rate wanders with the season by 40 %", season=0.4)
COARSE = Kind("season, running in and coarse readings", season=0.4, bedding=0.08, error_sd=0.09)
KINDS = (STEADY, SEASONAL, COARSE)
READINGS = (0, 1, 2, 4, 6)
NEW, NEW_SD, RATE, SPREAD, LIMIT = 0.05, 0.05, 0.2, 0.6, 0.75
RUNNING_IN = 0.25
A_YEAR = (2.0, 8.0)
"""Riders do so many thousand kilometres a year, and one year is one season of the rate."""
PRIOR = Prior(NEW, NEW_SD, RATE, RATE * SPREAD, LIMIT - NEW)


@dataclass(frozen=True)
class Part:
    """One part: how it truly wears over distance, and where it is at its limit."""

    kind: Kind
    new: float
    rate: float
    phase: float
    year: float

    def worn(self, distance: float) -> float:
        """Its true wear after a distance."""
        turn = 2 * pi / self.year
        swing = self.kind.season * (cos(self.phase) - cos(self.phase + turn * distance)) / turn
        bedded = self.kind.bedding * min(distance / RUNNING_IN, 1.0)
        return self.new + bedded + self.rate * (distance + swing)

    def life(self) -> float:
        """Where it truly reaches its limit; it never wears backwards."""
        low, high = 0.0, 1.0
        while self.worn(high) < LIMIT:
            high *= 2
        while high - low > 1e-6:
            middle = (low + high) / 2
            low, high = (middle, high) if self.worn(middle) < LIMIT else (low, middle)
        return high


def part_of(kind: Kind, chance: Random) -> Part:
    """A part as common practice says they are spread: rates are positive and skew, of the prior's mean and spread."""
    sd = sqrt(log1p(SPREAD * SPREAD))
    rate = RATE * chance.lognormvariate(-sd * sd / 2, sd)
    return Part(kind, NEW + chance.gauss(0, NEW_SD), rate, chance.uniform(0, 2 * pi), chance.uniform(*A_YEAR))


def seen(part: Part, count: int, chance: Random) -> tuple[Worn, float]:
    """The filter's state after so many readings, spread over the first six tenths of its life, and where that is."""
    worn, at = PRIOR.begin(), 0.0
    upto = 0.6 * part.life()
    for number in range(1, count + 1):
        there = upto * number / count
        reading = part.worn(there) + chance.gauss(0, part.kind.error_sd)
        beds = there < RUNNING_IN and part.kind.bedding > 0
        error = running_in(part.kind.error_sd, NEW_SD) if beds else part.kind.error_sd
        worn = worn.after(there - at, PRIOR.uneven).read(reading, error * error)
        at = there
    return worn, at


def holds(part: Part, count: int, chance: Random) -> bool:
    """Does the range told after so many readings hold the part's true end?"""
    worn, at = seen(part, count, chance)
    early, late = (worn.crossing(LIMIT, quantile, PRIOR.uneven) for quantile in (EARLY, LATE))
    left = part.life() - at
    return early is not None and early <= left and (late is None or left <= late)


def share_held(kind: Kind, count: int, parts: int, seed: int = 1) -> float:
    """The share of parts whose range holds."""
    chance = Random(f"{kind.name} {count} {seed}")
    return sum(holds(part_of(kind, chance), count, chance) for _ in range(parts)) / parts


# Riders

MONDAY = datetime(2024, 1, 1, tzinfo=UTC)
FAR = (150, 600, 2000)


def rider(chance: Random, days: int) -> list[int]:
    """Metres ridden on each day: some days a week, a season, a drift over the years, holidays without or full of it."""
    weekly = chance.lognormvariate(4.4, 0.6)
    rides_a_week, season, phase = chance.uniform(1.5, 5), chance.uniform(0, 0.6), chance.uniform(0, 365)
    drift, holiday, ridden = 0.0, 0, []
    for day in range(days):
        if day % 7 == 0:
            drift += chance.gauss(0, 0.04)
        if holiday == 0 and chance.random() < 0.006:
            holiday = chance.randint(7, 18)
            touring = chance.random() < 0.25
        share = 1 + season * cos(2 * pi * (day - phase) / 365)
        a_day = weekly / rides_a_week * share * exp(drift)
        if holiday:
            holiday -= 1
            ridden.append(round(1000 * chance.uniform(40, 90)) if touring else 0)
        elif chance.random() < rides_a_week / 7:
            ridden.append(round(1000 * a_day * chance.lognormvariate(-0.08, 0.4)))
        else:
            ridden.append(0)
    return ridden


def summed(ridden: list[int]) -> Callable[[datetime, datetime], int]:
    """What is ridden between two instants at midnight."""
    sums = [0]
    for metres in ridden:
        sums.append(sums[-1] + metres)

    def between(since: datetime, until: datetime) -> int:
        first, last = (max((at - MONDAY).days, 0) for at in (since, until))
        return sums[last] - sums[first]

    return between


def paces(count: int, seed: int = 1) -> Iterator[tuple[Pace, list[int]]]:
    """Riders on some day of their third year: their pace as told then, and what they rode from then on."""
    chance = Random(f"riders {seed}")
    while count:
        ridden = rider(chance, 365 * 6)
        now = chance.randint(120, 900)
        pace = pace_of(summed(ridden[:now]), MONDAY, MONDAY + timedelta(days=now))
        if pace is not None:
            count -= 1
            yield pace, ridden[now:]


def day_ridden(ridden: list[int], metres: float) -> int | None:
    """The day on which so much has been ridden, 1 is the first; None where that is never seen."""
    total = 0
    for day, each in enumerate(ridden, 1):
        total += each
        if total >= metres:
            return day
    return None


def pace_holds(pace: Pace, ridden: list[int], km: float) -> bool:
    """Does the range of days hold the day on which so much was truly ridden? A day without end is late enough."""
    met = day_ridden(ridden, km * 1000)
    early, late = pace.day(km * 1000, EARLY), pace.day(km * 1000, LATE)
    if early is None:
        return met is None or met > 5 * 365
    if met is None:
        return late is None
    return early <= met and (late is None or met <= late + 1)
