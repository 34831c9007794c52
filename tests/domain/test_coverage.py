"""A range that claims 80 % holds about that often, for simulated parts and riders; seeded. Simulation, no source.

A claim of 80 % is kept where 74 to 90 of a hundred are held, give or take twice the error of so many. A rate that never
wanders is held more often, as the filter counts with wandering: its ranges are wider than that part needs.
`scripts/bench coverage` asks ten times as many.
"""

from functools import cache
from random import Random

import pytest

from service.domain.due import desk_of, worn_at
from service.domain.pace import Pace
from service.domain.procedure import Rate
from service.domain.wear_life import Life
from tests.domain import simulated
from tests.domain.garage import Garage, Limit, Wear, at, category, library
from tests.domain.simulated import (
    FAR,
    KINDS,
    LEAST,
    MOST,
    READINGS,
    STEADY,
    Kind,
    Part,
    pace_holds,
    paces,
    part_of,
    share_held,
    slack,
)

PARTS, RIDERS, LOGGED = 1500, 500, 400


@pytest.mark.parametrize("count", READINGS)
@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)
def test_the_range_of_wear_holds_as_often_as_it_claims(kind: Kind, count: int) -> None:
    held = share_held(kind, count, PARTS)
    assert held >= LEAST - slack(PARTS)
    assert held <= (MOST + slack(PARTS) if kind is not STEADY else 0.97)


@cache
def riders() -> tuple[tuple[Pace, list[int]], ...]:
    return tuple(paces(RIDERS))


@pytest.mark.parametrize("km", FAR)
def test_the_range_of_days_holds_as_often_as_it_claims(km: int) -> None:
    held = sum(pace_holds(pace, ridden, km) for pace, ridden in riders()) / RIDERS
    assert LEAST - slack(RIDERS) <= held <= MOST + slack(RIDERS)


@pytest.mark.parametrize("km", FAR[1:])
def test_without_a_pace_that_may_be_off_far_dates_hold_too_seldom(km: int) -> None:
    """Why there is a drift: with uneven weeks alone a claim of 80 % is not kept."""
    sure = [(Pace(pace.metres_a_day, pace.var_a_day, 0.0), ridden) for pace, ridden in riders()]
    held = sum(pace_holds(pace, ridden, km) for pace, ridden in sure) / RIDERS
    assert held < LEAST


# The same with everything that lies between: rides, readings, doubts


def logged(part: Part, count: int, chance: Random) -> tuple[Life, float]:
    """What a log tells of such a part, read so often in the first six tenths of its life; its true kilometres left."""
    kind, upto = part.kind, 0.6 * part.life()
    wear = Wear(
        key="growth_percent", title="Growth", direction="grows", new=simulated.NEW, new_spread=simulated.NEW_SD,
        running_in_km=simulated.RUNNING_IN * 1000 if kind.bedding else 0, measure="Rule.",
        reading_error={"any": kind.error_sd},
        limits=(Limit(action="replace", value=simulated.LIMIT, basis="from memory"),),
        rates=(Rate(per_1000_km=simulated.RATE, spread=simulated.SPREAD, basis="from memory"),),
    )  # fmt: skip
    garage = Garage(library(category("chain", wear=(wear,))))
    chain = garage.part("chain")
    garage.fit(chain, at(0))
    for number in range(1, count + 1):
        garage.ride(at(number, 8), upto / count * 1000)
        reading = part.worn(upto * number / count) + chance.gauss(0, kind.error_sd)
        garage.read(chain, "growth_percent", at(number, 20), reading)
    now = at(count + 1)
    desk = desk_of(garage.bicycle(), garage.library, today=now.date(), now=now)
    return next(iter(worn_at(desk))).life, (part.life() - upto) * 1000


@pytest.mark.parametrize("count", [1, 2, 4])
@pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)
def test_what_a_log_tells_holds_as_often_and_right_readings_are_seldom_doubted(kind: Kind, count: int) -> None:
    chance = Random(f"logged {kind.name} {count}")
    held = told = doubted = 0
    for _ in range(LOGGED):
        life, left = logged(part_of(kind, chance), count, chance)
        doubted += sum(each.doubt is not None for each in life.seen)
        km = life.ahead.km_left() if life.ahead is not None else None
        if km is not None:
            told += 1
            held += km.early <= left and (km.late is None or left <= km.late)
    assert told >= 0.97 * LOGGED
    assert doubted <= 0.03 * LOGGED * count
    assert held / told >= LEAST - slack(told)
    assert held / told <= (MOST + slack(told) if kind is not STEADY else 0.97)
