"""Wear of one part against one pass over its readings, and of a club's 15,000 parts, in seconds."""

import sys
import time
from collections.abc import Sequence
from random import Random

from _series import compare, within

from service.domain.wear import EARLY, LATE, MIDDLE, Prior, Worn

PARTS = 15_000
PRIOR = Prior(0.05, 0.05, 0.2, 0.12, 0.7)
LIMIT, ERROR_VAR = 0.75, 0.0025
Pairs = Sequence[tuple[float, float]]


def _readings(count: int, chance: Random) -> list[tuple[float, float]]:
    """Distance from the reading before, and what was read."""
    at, read = 0.0, []
    for _ in range(count):
        further = chance.uniform(0.5, 1.5) * 3 / count
        at += further
        read.append((further, 0.05 + 0.2 * at + chance.gauss(0, 0.05)))
    return read


def _filtered(readings: Pairs) -> Worn:
    worn, uneven = PRIOR.begin(), PRIOR.uneven
    for further, read in readings:
        worn = worn.after(further, uneven).read(read, ERROR_VAR)
    return worn


def _forecast(readings: Pairs) -> tuple[float | None, ...]:
    """The state after all readings, and where its range crosses the limit."""
    worn, uneven = _filtered(readings), PRIOR.uneven
    return tuple(worn.crossing(LIMIT, quantile, uneven) for quantile in (EARLY, MIDDLE, LATE))


def _one_pass(readings: Pairs) -> float:
    """The sums of a straight line: the least that anything can do that looks at each reading once."""
    sum_x = sum_y = sum_xx = sum_xy = 0.0
    for x, y in readings:
        sum_x += x
        sum_y += y
        sum_xx += x * x
        sum_xy += x * y
    return sum_x * sum_y + sum_xx * sum_xy


def _club(count: int) -> bool:
    chance = Random(count)
    parts = [_readings(count, chance) for _ in range(PARTS)]
    begun = time.perf_counter()
    for readings in parts:
        _forecast(readings)
    return within(f"wear of 15,000 parts, {count} readings each", time.perf_counter() - begun, "seconds", goal=5)


def main() -> int:
    """Prints a line of JSON for each; the exit code says whether one missed its goal."""
    many = [_readings(50, Random(number)) for number in range(100)]

    def floor() -> None:
        for readings in many:
            _one_pass(readings)

    kept = [
        compare(
            "wear of 100 parts: 50 readings, no crossing", lambda: [_filtered(each) for each in many], floor, goal=5
        ),
        compare(
            "wear of 100 parts: 50 readings and crossing", lambda: [_forecast(each) for each in many], floor, goal=5
        ),
        *(_club(count) for count in (5, 20, 50)),
    ]
    return int(not all(kept))


if __name__ == "__main__":
    sys.exit(main())
