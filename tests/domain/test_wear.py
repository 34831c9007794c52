"""The filter of wear by its own rules: order, brackets, crossing, chance. Reckoned again in other ways, no source."""

from math import erf, exp, inf, isfinite, sqrt

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from service.domain.wear import EARLY, LATE, MIDDLE, UNEVEN, Prior, Worn, running_in

PRIOR = Prior(new=0.05, new_sd=0.05, rate=0.2, rate_sd=0.12, life=0.7)
"""About a chain: per cent, a thousand km."""
TENTH = (0.1, 0.5, 0.9)

distances = st.floats(0.05, 3)
readings = st.lists(st.tuples(distances, st.floats(-0.5, 1.5), st.floats(0.01, 0.3)), max_size=6)


def filtered(prior: Prior, steps: list[tuple[float, float, float]], uneven: float) -> Worn:
    """Steps of (further distance, reading, its error)."""
    worn = prior.begin()
    for distance, reading, error in steps:
        worn = worn.after(distance, uneven).read(reading, error * error)
    return worn


def numbers(worn: Worn) -> tuple[float, ...]:
    return worn.wear, worn.rate, worn.wear_var, worn.both_cov, worn.rate_var


# One by one, at once, in any order


@given(readings)
def test_readings_seen_one_by_one_are_as_all_at_once(steps: list[tuple[float, float, float]]) -> None:
    """The same sums by weighted normal equations, with the prior as two equations more (no wandering)."""
    one_by_one = filtered(PRIOR, steps, 0)
    at, w, wx, wxx, wy, wxy = 0.0, PRIOR.new_sd**-2, 0.0, PRIOR.rate_sd**-2, PRIOR.new / PRIOR.new_sd**2, 0.0
    wxy = PRIOR.rate / PRIOR.rate_sd**2
    for distance, reading, error in steps:
        at += distance
        weight = error**-2
        w, wx, wxx = w + weight, wx + weight * at, wxx + weight * at * at
        wy, wxy = wy + weight * reading, wxy + weight * at * reading
    whole = w * wxx - wx * wx
    rate, new = (w * wxy - wx * wy) / whole, (wxx * wy - wx * wxy) / whole
    assert one_by_one.rate == pytest.approx(rate, abs=1e-9)
    assert one_by_one.wear == pytest.approx(new + rate * at, abs=1e-9)
    assert one_by_one.rate_var == pytest.approx(w / whole, rel=1e-7)


@given(st.permutations([(0.31, 0.05), (0.42, 0.09), (0.2, 0.02), (0.36, 0.3)]))
def test_at_one_distance_the_order_of_readings_does_not_count(order: list[tuple[float, float]]) -> None:
    def seen(read: list[tuple[float, float]]) -> Worn:
        worn = PRIOR.begin().after(1.2, PRIOR.uneven)
        for reading, error in read:
            worn = worn.read(reading, error * error)
        return worn

    assert numbers(seen(order)) == pytest.approx(numbers(seen(sorted(order))), rel=1e-9)


@given(st.floats(0, 4), st.floats(0, 4), st.floats(0, 0.01))
def test_two_stretches_are_one(first: float, then: float, uneven: float) -> None:
    worn = PRIOR.begin().after(0.5).read(0.2, 0.01)
    assert numbers(worn.after(first, uneven).after(then, uneven)) == pytest.approx(
        numbers(worn.after(first + then, uneven)), abs=1e-12
    )


def test_an_exact_reading_is_believed_and_a_coarse_one_hardly() -> None:
    worn = PRIOR.begin().after(2, PRIOR.uneven)
    exact, coarse = worn.read(0.6, 0), worn.read(0.6, 1e6)
    assert exact.wear == pytest.approx(0.6)
    assert exact.wear_var == pytest.approx(0, abs=1e-15)
    assert numbers(coarse) == pytest.approx(numbers(worn), rel=1e-4)


def test_what_is_known_exactly_is_not_moved_by_a_reading_without_error() -> None:
    known = Worn(0.2, 0.1, 0, 0, 0)
    assert known.read(0.5, 0) == known
    assert known.read_between(0.5, 0.75, 0) == known


# Between two marks, against numerical integration


def integrated(worn: Worn, least: float, most: float, error: float, steps: int = 8000) -> Worn:
    """The moments of wear given that the reading lies between the marks, by Simpson's rule; the rate by regression."""
    sd = sqrt(worn.wear_var)
    low, high = worn.wear - 9 * sd, worn.wear + 9 * sd
    if error == 0:
        low, high = max(low, least), min(high, most)
    width = (high - low) / steps
    sums = [0.0, 0.0, 0.0]
    for number in range(steps + 1):
        x = low + number * width
        weight = (1 if number in (0, steps) else 4 if number % 2 else 2) * exp(-(((x - worn.wear) / sd) ** 2) / 2)
        if error > 0:
            weight *= (erf((most - x) / error / sqrt(2)) - erf((least - x) / error / sqrt(2))) / 2
        sums = [each + weight * x**power for power, each in enumerate(sums)]
    mean = sums[1] / sums[0]
    var = sums[2] / sums[0] - mean * mean
    slope = worn.both_cov / worn.wear_var
    rest = worn.rate_var - slope * worn.both_cov
    return Worn(mean, worn.rate + slope * (mean - worn.wear), var, slope * var, rest + slope * slope * var)


@pytest.mark.parametrize("error", [0, 0.05, 0.12])
@pytest.mark.parametrize(
    ("least", "most"),
    [(0.5, 0.75), (0, 0.25), (0.75, 1.0), (0.45, 0.46), (-inf, 0.5), (0.5, inf), (-inf, 0.2), (0.9, inf)],
)
def test_a_bracket_is_what_integration_gives(least: float, most: float, error: float) -> None:
    worn = PRIOR.begin().after(2, PRIOR.uneven)
    found, wanted = worn.read_between(least, most, error * error), integrated(worn, least, most, error)
    assert numbers(found) == pytest.approx(numbers(wanted), rel=2e-5, abs=2e-6)


def test_a_bracket_that_says_nothing_changes_nothing() -> None:
    worn = PRIOR.begin().after(2)
    assert numbers(worn.read_between(-inf, inf, 0.01)) == pytest.approx(numbers(worn))


def test_a_narrow_bracket_is_a_reading() -> None:
    worn = PRIOR.begin().after(2, PRIOR.uneven)
    between = worn.read_between(0.3 - 1e-4, 0.3 + 1e-4, 0.01)
    assert numbers(between) == pytest.approx(numbers(worn.read(0.3, 0.01)), rel=1e-4)


@pytest.mark.parametrize(("least", "most", "mark"), [(8, 9, 8), (-9, -8, -8), (8, inf, 8), (-inf, -8, -8)])
def test_a_bracket_far_from_all_that_was_expected_is_read_at_its_nearer_mark(
    least: float, most: float, mark: float
) -> None:
    worn = PRIOR.begin().after(1)
    assert worn.read_between(least, most, 0.01) == worn.read(mark, 0.01)


# Where the limit is crossed


def bisected(worn: Worn, limit: float, chance: float, uneven: float) -> float | None:
    """The first distance at which the chance is reached, by walking there and halving; None within a thousand."""
    step, at = 0.01, 0.0
    if worn.chance_past(limit) >= chance:
        return 0.0
    while worn.chance_past(limit, at + step, uneven=uneven) < chance:
        at += step
        step *= 1.02
        if at > 1000:
            return None
    low, high = at, at + step
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (low, middle) if worn.chance_past(limit, middle, uneven=uneven) >= chance else (middle, high)
    return high


@given(readings, st.floats(0.3, 2), st.sampled_from([0.0, PRIOR.uneven, 0.05]))
def test_the_crossing_is_where_ten_fifty_and_ninety_of_a_hundred_are_past(
    steps: list[tuple[float, float, float]], limit: float, uneven: float
) -> None:
    worn = filtered(PRIOR, steps, uneven)
    for quantile, chance in zip((EARLY, MIDDLE, LATE), TENTH, strict=True):
        found = worn.crossing(limit, quantile, uneven)
        if found is None:
            met = bisected(worn, limit, chance, uneven)
            # a band may touch the limit just where rounding decides
            assert met is None or worn.chance_past(limit, met, uneven=uneven) == pytest.approx(chance, abs=1e-6)
        elif found > 0:
            assert worn.chance_past(limit, found, uneven=uneven) == pytest.approx(chance, abs=1e-6)
        else:
            assert worn.chance_past(limit) >= chance - 1e-9


@given(readings, st.floats(0.6, 2))
def test_the_crossing_is_the_first_one(steps: list[tuple[float, float, float]], limit: float) -> None:
    worn = filtered(PRIOR, steps, PRIOR.uneven)
    for quantile, chance in zip((EARLY, MIDDLE, LATE), TENTH, strict=True):
        found, met = worn.crossing(limit, quantile, PRIOR.uneven), bisected(worn, limit, chance, PRIOR.uneven)
        assume(found is None or found < 900)
        if found is not None and met is not None:
            assert found == pytest.approx(met, rel=1e-6, abs=1e-6)


@given(readings, st.floats(0.6, 2))
def test_early_is_not_after_middle_nor_middle_after_late(steps: list[tuple[float, float, float]], limit: float) -> None:
    worn = filtered(PRIOR, steps, PRIOR.uneven)
    early, middle, late = (worn.crossing(limit, each, PRIOR.uneven) for each in (EARLY, MIDDLE, LATE))
    assert middle is None or (early is not None and early <= middle + 1e-9)
    assert late is None or (middle is not None and middle <= late + 1e-9)


def test_what_does_not_wear_never_gets_there() -> None:
    still = Worn(0.2, 0, 0.01, 0, 0)
    assert [still.crossing(1, each) for each in (EARLY, MIDDLE, LATE)] == [None, None, None]
    back = Worn(0.2, -0.1, 0.0001, 0, 0.0001)
    assert [back.crossing(1, each) for each in (EARLY, MIDDLE, LATE)] == [None, None, None]


def test_a_band_that_rises_and_falls_again_meets_the_limit_when_it_rises() -> None:
    better = Worn(0.5, -0.1, 0.001, 0, 0.0001)
    first, chance = better.crossing(0.75, EARLY, 0.2), TENTH[0]
    assert first is not None
    assert first == pytest.approx(bisected(better, 0.75, chance, 0.2))
    assert better.chance_past(0.75, first * 2, uneven=0.2) > chance > better.chance_past(0.75, 100, uneven=0.2)


def test_a_rate_not_told_from_none_has_an_early_end_and_no_late_one() -> None:
    unsure = Worn(0.2, 0.1, 0.0001, 0, 0.1**2)
    early, middle, late = (unsure.crossing(1, each) for each in (EARLY, MIDDLE, LATE))
    assert early is not None
    assert 0 < early < 8
    assert middle == pytest.approx(8)
    assert late is None


def test_where_nothing_is_uncertain_all_three_are_one() -> None:
    sure = Worn(0.05, 0.2, 0, 0, 0)
    assert [sure.crossing(0.75, each) for each in (EARLY, MIDDLE, LATE)] == pytest.approx([3.5] * 3)


@given(st.floats(0, 2), st.floats(0.01, 3), st.floats(0.01, 3))
def test_nothing_uncertain_never_hides_a_crossing(wear: float, rate: float, short: float) -> None:
    sure = Worn(wear, rate, 0, 0, 0)
    for each in (EARLY, MIDDLE, LATE):
        assert sure.crossing(wear + short, each) == pytest.approx((wear + short - wear) / rate)


# Chance


@given(readings, st.floats(0.3, 2), st.floats(0, 5), st.floats(0, 5))
def test_the_chance_is_less_of_a_further_limit_and_more_after_a_further_distance(
    steps: list[tuple[float, float, float]], limit: float, near: float, more: float
) -> None:
    worn = filtered(PRIOR, steps, PRIOR.uneven)
    chance = worn.chance_past(limit, near, uneven=PRIOR.uneven)
    assert 0 <= worn.chance_past(limit + more, near, uneven=PRIOR.uneven) <= chance <= 1
    if worn.rate >= 0 and worn.both_cov >= 0 and chance <= 0.5:
        assert worn.chance_past(limit, near + more, uneven=PRIOR.uneven) >= chance - 1e-12


def test_an_uncertain_distance_widens_the_chance_and_nothing_uncertain_leaves_yes_or_no() -> None:
    worn = Worn(0.3, 0.2, 0.0025, 0, 0.0004)
    assert worn.chance_past(0.75, 1) < worn.chance_past(0.75, 1, distance_var=0.25) < 0.5
    sure = Worn(0.3, 0.2, 0, 0, 0)
    assert (sure.chance_past(0.75, 2), sure.chance_past(0.75, 2.3)) == (0.0, 1.0)


# The prior


def test_wandering_is_its_share_of_a_life_after_a_typical_life() -> None:
    then = PRIOR.begin().after(PRIOR.typical, PRIOR.uneven).wear_var - PRIOR.begin().after(PRIOR.typical).wear_var
    assert sqrt(then) == pytest.approx(UNEVEN * PRIOR.life)
    assert PRIOR.typical == pytest.approx(3.5)
    assert Prior(0, 0, 0, 0, 1).typical == inf


def test_a_part_met_at_its_first_reading_has_the_rate_of_common_practice() -> None:
    worn = PRIOR.begin_at(0.4, 0.0081)
    assert numbers(worn) == (0.4, PRIOR.rate, 0.0081, 0, PRIOR.rate_sd**2)


def test_a_reading_while_it_beds_in_is_as_unsure_as_tool_and_newness_together() -> None:
    assert running_in(0.3, 0.4) == pytest.approx(0.5)


# Nothing breaks it


amounts = st.floats(-1e4, 1e4)
variances = st.one_of(st.just(0.0), st.floats(1e-12, 1e6))
marks = st.one_of(amounts, st.just(inf), st.just(-inf))


@given(amounts, amounts, variances, variances, st.floats(-1, 1), st.data())
def test_no_finite_input_breaks_it(
    wear: float, rate: float, wear_var: float, rate_var: float, correlation: float, data: st.DataObject
) -> None:
    worn = Worn(wear, rate, wear_var, correlation * sqrt(wear_var * rate_var), rate_var)
    for _ in range(data.draw(st.integers(0, 4))):
        worn = worn.after(data.draw(st.floats(0, 1e4)), data.draw(variances))
        least, most = sorted((data.draw(marks), data.draw(marks)))
        error = data.draw(variances)
        if isfinite(least) and data.draw(st.booleans()):
            worn = worn.read(least, error)
        elif least < most:
            worn = worn.read_between(least, most, error)
    assert all(isfinite(each) for each in numbers(worn))
    limit, uneven = data.draw(amounts), data.draw(variances)
    assert 0 <= worn.chance_past(limit, data.draw(st.floats(0, 1e4)), uneven=uneven) <= 1
    for quantile in (EARLY, MIDDLE, LATE):
        found = worn.crossing(limit, quantile, uneven)
        assert found is None or (isfinite(found) and found >= 0)
