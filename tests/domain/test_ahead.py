"""How far ahead an item is due, with its range: intervals, wear, days. Worked cases by the rules, no outside source."""

from datetime import date, timedelta
from math import inf, sqrt
from random import Random
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.ahead import MOST_LIVES, Ahead, Stretch
from service.domain.between import Between
from service.domain.pace import Pace
from service.domain.wear import Prior, Worn

TODAY = date(2026, 5, 20)
PRIOR = Prior(0.05, 0.05, 0.2, 0.12, 0.7)
EVEN = Pace(10_000, 0.0, 0.0)
PACE = Pace(10_000, 9e7, 0.35)


def chain(km: float = 2000, **more: Any) -> Ahead:
    """A chain in its middle years, read once."""
    worn = PRIOR.begin().after(km / 1000, PRIOR.uneven).read(0.05 + 0.2 * km / 1000, 0.0025)
    return Ahead(worn=worn, limit=0.75, uneven=PRIOR.uneven, typical=PRIOR.typical, **more)


# Intervals


def test_an_interval_by_distance_is_a_fact_in_kilometres_and_a_range_in_days() -> None:
    ahead = Ahead(metres_left=300_000)
    assert ahead.km_left() == Between(300, 300, 300)
    on = ahead.on(TODAY, PACE)
    assert on is not None
    assert on.late is not None
    assert on.early < on.middle < on.late
    assert abs(on.middle - (TODAY + timedelta(days=30))) <= timedelta(days=1)
    assert ahead.on(TODAY, None) is None


def test_less_than_a_days_riding_is_not_early_tomorrow_and_probably_today() -> None:
    assert Ahead(metres_left=9_000).on(TODAY, EVEN) == Between(TODAY, TODAY, TODAY + timedelta(days=1))


def test_conditions_shorten_what_is_left_as_ridden_lately() -> None:
    left = Ahead(metres_left=300_000, mix=1.5).km_left()
    assert left is not None
    assert (left.early, left.middle, left.late) == pytest.approx((200, 200, 200))


def test_what_does_not_reach_it_is_no_part_of_what_is_left_but_takes_its_days() -> None:
    """Half of what is ridden is on a trainer: 300 km of the other half are left, for which it takes twice the days."""
    ahead = Ahead(metres_left=300_000, mix=0.5, reach=0.5)
    assert ahead.km_left() == Between(300, 300, 300)
    on = ahead.on(TODAY, EVEN)
    assert on is not None
    assert abs(on.middle - (TODAY + timedelta(days=60))) <= timedelta(days=1)


def test_days_are_sure_and_whichever_comes_first_counts() -> None:
    both = Ahead(metres_left=300_000, days_left=20)
    sure = TODAY + timedelta(days=20)
    on = both.on(TODAY, PACE)
    assert on is not None
    assert (on.middle, on.late) == (sure, sure)
    assert on.early <= sure
    assert Ahead(days_left=20).on(TODAY, None) == Between(sure, sure, sure)


def test_hours_alone_have_no_day_and_a_chance() -> None:
    ahead = Ahead(hours_left=10)
    assert (ahead.on(TODAY, PACE), ahead.km_left()) == (None, None)
    assert [ahead.chance(Stretch(hours=hours)) for hours in (9, 10)] == [0.0, 1.0]


def test_the_chance_of_an_interval_is_that_of_riding_so_far() -> None:
    ahead = Ahead(metres_left=300_000, days_left=40)
    assert ahead.chance(Stretch(metres=300_000, metres_var=1e9)) == pytest.approx(0.5)
    assert ahead.chance(Stretch(metres=250_000, metres_var=50_000**2)) == pytest.approx(0.158655, abs=1e-6)
    assert ahead.chance(Stretch(metres=100_000, days=40)) == 1.0
    assert Ahead().chance(Stretch(metres=1)) is None


# Wear


def test_wear_has_a_range_in_kilometres_and_a_wider_one_in_days() -> None:
    km, on = chain().km_left(), chain().on(TODAY, PACE)
    even = chain().on(TODAY, EVEN)
    assert km is not None
    assert on is not None
    assert even is not None
    assert km.late is not None
    assert on.late is not None
    assert even.late is not None
    for day, left in ((even.early, km.early), (even.middle, km.middle), (even.late, km.late)):
        assert abs(day - (TODAY + timedelta(days=left / 10))) <= timedelta(days=1)
    assert on.early <= even.early < even.middle < even.late <= on.late
    assert abs(on.middle - even.middle) <= timedelta(days=1)


def test_on_the_early_day_ten_of_a_hundred_are_past_with_wear_and_riding_both_uncertain() -> None:
    """Against drawing both: distance by pace, then wear over that distance; seeded, within the error of so many."""
    chance, ahead = Random(7), chain()
    on, worn = ahead.on(TODAY, PACE), ahead.worn
    assert on is not None
    assert on.late is not None
    assert worn is not None
    for day, share in ((on.early, 0.1), (on.middle, 0.5), (on.late, 0.9)):
        days, past, count = (day - TODAY).days, 0, 4000
        for _ in range(count):
            units = max(chance.gauss(PACE.metres(days), sqrt(PACE.var(days))), 0) / 1e6
            then = worn.after(units, ahead.uneven)
            past += chance.gauss(then.wear, sqrt(then.wear_var)) >= 0.75
        assert past / count == pytest.approx(share, abs=0.04)


def test_the_chance_of_wear_within_a_stretch_is_the_filters() -> None:
    ahead = chain()
    assert ahead.worn is not None
    plain = ahead.worn.chance_past(0.75, 1.2, uneven=ahead.uneven)
    assert ahead.chance(Stretch(metres=1_200_000)) == plain
    assert 0 < plain < 1
    wider = ahead.chance(Stretch(metres=1_200_000, metres_var=300_000.0**2))
    assert wider is not None
    assert abs(wider - 0.5) < abs(plain - 0.5)


def test_wear_by_days_has_no_kilometres_and_needs_no_pace() -> None:
    sealant = Ahead(worn=Worn(-60, 10, 25, 0, 29), limit=-20, uneven=1, typical=4, by_days=True)
    assert sealant.km_left() is None
    on = sealant.on(TODAY, None)
    assert on is not None
    assert on.middle == TODAY + timedelta(days=120)
    assert sealant.chance(Stretch(days=120)) == pytest.approx(0.5)
    assert sealant.worn_km() is None


def test_no_late_end_beyond_three_lives() -> None:
    near = Ahead(worn=Worn(0, 0.2, 0, 0, 0.05**2), limit=0.7, typical=3.5)
    far = Ahead(worn=Worn(0, 0.2, 0, 0, 0.12**2), limit=0.7, typical=3.5)
    left = near.km_left()
    assert left is not None
    assert left.late is not None
    assert left.late <= MOST_LIVES * 3500
    open_ended = far.km_left()
    assert open_ended is not None
    assert open_ended.late is None
    on = far.on(TODAY, EVEN)
    assert on is not None
    assert on.late is None


def test_what_never_gets_there_has_neither_kilometres_nor_days() -> None:
    still = Ahead(worn=Worn(0.2, 0, 0.0001, 0, 0), limit=0.75, typical=3.5)
    assert (still.km_left(), still.on(TODAY, PACE), still.nears) == (None, None, False)


def test_past_its_limit_is_none_left_today() -> None:
    worn = Ahead(worn=Worn(1.0, 0.2, 0.0001, 0, 0.01), limit=0.75, typical=3.5)
    assert worn.km_left() == Between(0, 0, 0)
    assert worn.on(TODAY, PACE) == Between(TODAY, TODAY, TODAY)


def test_not_ridden_where_it_wears_gives_dry_kilometres_and_no_date() -> None:
    dry, indoors = chain(), chain(mix=0.0, reach=0.0)
    assert indoors.km_left() == dry.km_left()
    assert indoors.on(TODAY, PACE) is None


mixes = st.just(0.0) | st.floats(1e-6, 3)
variances = st.floats(0, 0.2)


@given(
    st.floats(0, 1), st.floats(-0.1, 1), variances, variances, variances, mixes, st.floats(1, 3e5), st.floats(0, 1e10)
)  # fmt: skip
def test_whatever_is_told_is_in_order_and_never_before_today(
    wear: float, rate: float, wear_var: float, rate_var: float, uneven: float, mix: float, a_day: float, var: float
) -> None:  # fmt: skip
    ahead = Ahead(mix=mix, worn=Worn(wear, rate, wear_var, 0, rate_var), limit=0.75, uneven=uneven, typical=3.5)
    left, on = ahead.km_left(), ahead.on(TODAY, Pace(a_day, var, 0.35))
    if left is not None:
        assert 0 <= left.early <= left.middle + 1e-6 < inf
        assert left.late is None or left.middle <= left.late + 1e-6
    if on is not None:
        assert TODAY <= on.early <= on.middle
        assert on.late is None or on.middle <= on.late
