"""The usual pace and the days that follow. Worked cases by the rules; thresholds are common practice, no source."""

from datetime import UTC, date, datetime, timedelta
from itertools import pairwise
from math import isfinite, sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.pace import LONGEST_DAYS, Pace, first_day, no_pace, pace_of, said_pace
from service.domain.wear import EARLY, LATE, MIDDLE, Worn

FIRST = datetime(2025, 1, 1, tzinfo=UTC)
WEEK = timedelta(days=7)


def pace_after(weeks: list[int], *, idle_days: float = 0) -> Pace | None:
    """The pace after these weekly metres, each ridden in the middle of its week, the oldest first."""
    rides = [(FIRST + WEEK * number + WEEK / 2, metres) for number, metres in enumerate(weeks)]
    now = FIRST + WEEK * len(weeks) + timedelta(days=idle_days)
    return pace_of(lambda since, until: sum(m for at, m in rides if since <= at < until), FIRST, now)


# When there is one


@pytest.mark.parametrize(
    ("weeks", "has_one"),
    [
        ([50_000, 50_000], False),
        ([10_000, 10_000, 10_000], True),
        ([10_000, 10_000, 9_999], False),
        ([50_000] * 4 + [0] * 6, False),
        ([50_000] * 4 + [0] * 5, True),
        ([0] * 10, False),
    ],
)  # fmt: skip
def test_three_weeks_and_thirty_kilometres_and_a_ride_in_six_weeks_make_a_pace(weeks: list[int], has_one: bool) -> None:
    assert (pace_after(weeks) is not None) is has_one


def test_even_weeks_are_their_own_pace_without_spread() -> None:
    pace = pace_after([70_000] * 20)
    assert pace is not None
    assert (pace.metres_a_day, pace.var_a_day, pace.drift) == pytest.approx((10_000, 0, 0.35))


def test_weeks_count_half_as_much_eight_weeks_later() -> None:
    pace = pace_after([0] * 8 + [70_000] * 8)
    weights = [0.5 ** (back / 8) for back in range(16)]
    assert pace is not None
    assert pace.metres_a_day == pytest.approx(10_000 * sum(weights[:8]) / sum(weights))
    assert pace.metres_a_day == pytest.approx(10_000 * 2 / 3)


def test_uneven_weeks_have_the_variance_of_a_weighted_sample() -> None:
    """With equal weights it would be that of a sample: sum of squares by n - 1; here by the effective number."""
    pace = pace_after([30_000, 90_000, 60_000, 120_000])
    sums, weights = [120_000, 60_000, 90_000, 30_000], [0.5 ** (back / 8) for back in range(4)]
    whole = sum(weights)
    mean = sum(w * s for w, s in zip(weights, sums, strict=True)) / whole
    squares = sum(w * (s - mean) ** 2 for w, s in zip(weights, sums, strict=True))
    assert pace is not None
    assert pace.var_a_day * 7 == pytest.approx(squares / (whole - sum(w * w for w in weights) / whole))


def test_what_is_older_than_eighty_weeks_does_not_count() -> None:
    assert pace_after([10_000_000] * 30 + [70_000] * 80) == pace_after([70_000] * 80)


def test_a_said_pace_is_half_uncertain() -> None:
    pace = said_pace(70_000)
    assert pace == Pace(10_000, 0, 0.5)
    assert sqrt(pace.var(90)) == pytest.approx(0.5 * pace.metres(90))


# To a day


def test_the_pace_may_be_off_by_a_third_after_ninety_days_and_no_more_than_half_again() -> None:
    pace = Pace(10_000, 0, 0.35)
    assert sqrt(pace.var(90)) == pytest.approx(0.35 * 900_000)
    assert pace.var(30) == pytest.approx((0.35 * 300_000) ** 2 / 3)
    assert pace.var(900) == pytest.approx((0.35 * 9_000_000) ** 2 * 1.5)


def test_the_middle_day_is_when_the_pace_is_there_and_the_others_lie_round_it() -> None:
    pace = Pace(10_000, 9e7, 0.35)
    early, middle, late = (pace.day(600_000, quantile) for quantile in (EARLY, MIDDLE, LATE))
    assert middle == pytest.approx(60, abs=0.25)
    assert early is not None
    assert late is not None
    assert early < 60 < late


@given(st.floats(100, 200_000), st.floats(0, 1e10), st.floats(0, 0.5), st.floats(1, 5_000_000))
def test_on_the_day_as_many_have_ridden_so_far_as_the_quantile_says(
    a_day: float, var: float, drift: float, metres: float
) -> None:
    """By the normal distribution of what is ridden until then, found another way than by walking to the day."""
    pace = Pace(a_day, var, drift)
    for quantile, chance in ((EARLY, 0.1), (MIDDLE, 0.5), (LATE, 0.9)):
        day = pace.day(metres, quantile)
        if day is None:
            assert Worn(pace.metres(LONGEST_DAYS), 0, pace.var(LONGEST_DAYS), 0, 0).chance_past(metres) < chance
        else:
            assert isfinite(day)
            then, before = (
                Worn(pace.metres(each), 0, pace.var(each), 0, 0).chance_past(metres)
                for each in (day * (1 + 1e-9), max(day - 0.25, 0))
            )
            assert before - 1e-9 <= chance <= then + 1e-9


@given(st.floats(100, 100_000), st.floats(0, 1e9), st.floats(1, 1e6))
def test_early_comes_before_middle_before_late(a_day: float, var: float, metres: float) -> None:
    days = [Pace(a_day, var, 0.35).day(metres, quantile) or LONGEST_DAYS for quantile in (EARLY, MIDDLE, LATE)]
    assert all(each <= after + 0.25 for each, after in pairwise(days))  # a day is found to a quarter


def test_further_than_five_years_there_is_no_day() -> None:
    pace = Pace(1_000, 0, 0.35)
    assert pace.day(1_000 * (LONGEST_DAYS - 1), MIDDLE) == pytest.approx(LONGEST_DAYS - 1, abs=0.25)
    assert pace.day(1_000 * (LONGEST_DAYS + 1), MIDDLE) is None


def test_the_first_day_is_found_to_a_quarter() -> None:
    assert first_day(lambda day: day - 0.1) == pytest.approx(0.1, abs=0.25)
    assert first_day(lambda day: day - 33.3) == pytest.approx(33.3, abs=0.25)
    assert first_day(lambda day: day + 1) == 0.0
    assert first_day(lambda day: -1.0) is None


# Why there is none


def test_it_is_said_why_there_is_no_date() -> None:
    today = date(2026, 5, 20)
    assert no_pace(None, today) == "Not ridden yet: kilometres, no date."
    assert no_pace(today - timedelta(days=43), today) == "Not ridden since 7 April: kilometres, no date."
    assert no_pace(today - timedelta(days=42), today).startswith("Less than three weeks of riding")
