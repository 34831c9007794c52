"""The filter's limit case, no wandering and a flat prior, against published straight lines, intervals and crossings.

It is least squares then; Student's t stands in for the normal quantile, as the residuals' spread is found from data.
Sources beside each; files in degradation/ name their own. Not the filter's, and left out: polynomials.
"""

from math import exp, log, sqrt

import pytest

from service.domain.wear import UNEVEN, Prior, Worn
from tests.domain.regression import Fit, limits, line, pairs, rows, student, turned

# NIST Statistical Reference Datasets, https://www.itl.nist.gov/div898/strd/lls/lls.shtml


def test_norris_is_met_to_nine_digits() -> None:
    fit = line(pairs("nist_norris", "x", "y"))
    assert fit.here.wear == pytest.approx(-0.262323073774029, rel=1e-9)
    assert fit.here.rate == pytest.approx(1.00211681802045, rel=1e-9)
    assert sqrt(fit.here.wear_var) == pytest.approx(0.232818234301152, rel=1e-9)
    assert sqrt(fit.here.rate_var) == pytest.approx(0.429796848199937e-3, rel=1e-9)
    assert fit.sd == pytest.approx(0.884796396144373, rel=1e-9)


def test_norris_in_plain_floats_still_has_its_slope_to_seven_digits() -> None:
    exact, plain = line(pairs("nist_norris", "x", "y")), _plain_line(pairs("nist_norris", "x", "y"))
    assert plain.rate == pytest.approx(exact.here.rate, rel=1e-7)


def _plain_line(readings: list[tuple[float, float]]) -> Worn:
    worn, at = Worn(0.0, 0.0, 1e6, 0.0, 1e4), 0.0
    for x, y in sorted(readings):
        worn, at = worn.after(x - at).read(y, 1.0), x
    return worn


def test_a_line_through_the_origin_is_a_part_whose_newness_is_known() -> None:
    fit = line(pairs("nist_noint1", "x", "y"), through=0)
    assert fit.here.rate == pytest.approx(2.07438016528926, rel=1e-9)
    assert sqrt(fit.here.rate_var) == pytest.approx(0.0165289256198347, rel=1e-9)
    assert fit.sd == pytest.approx(3.56753034006338, rel=1e-9)
    assert (fit.here.wear, fit.here.wear_var) == (0, 0)


# NIST/SEMATECH e-Handbook of Statistical Methods, https://www.itl.nist.gov/div898/handbook/


def test_line_widths_have_the_published_fit_and_limits_of_the_mean() -> None:
    fit = line(pairs("nist_linewidth_calibration", "x", "y"))
    t = student(0.95, fit.df)
    for row in rows("nist_linewidth_calibration"):
        then = fit.at(float(row["x"]))
        half = t * sqrt(then.wear_var)
        assert then.wear == pytest.approx(float(row["fit"]), abs=1e-6)
        assert then.wear + half == pytest.approx(float(row["upper"]), abs=1e-6)
        assert then.wear - half == pytest.approx(float(row["lower"]), abs=1e-6)


def test_pressures_have_the_published_fit_and_residuals() -> None:
    fit = line(pairs("nist_pressure_temperature", "temperature_c", "pressure"))
    for row in rows("nist_pressure_temperature"):
        then = fit.at(float(row["temperature_c"]))
        assert then.wear == pytest.approx(float(row["fitted"]), abs=0.003)
        assert float(row["pressure"]) - then.wear == pytest.approx(float(row["residual"]), abs=0.003)


# D. Dalpiaz, Applied Statistics with R, 8.7 and 8.8, https://online.anyflip.com/tbejy/wwos/files/basic-html/page147.html


@pytest.mark.parametrize(
    ("mph", "fitted", "of_mean", "of_one"),
    [
        (5, 2.082949, (-10.89309, 15.05898), (-41.16099, 45.32689)),
        (21, 65.001489, (56.45836, 73.54462), (22.87494, 107.12803)),
    ],
)
def test_stopping_distances_have_the_published_intervals(
    mph: float, fitted: float, of_mean: tuple[float, float], of_one: tuple[float, float]
) -> None:
    fit = line(pairs("stopping_distance", "speed_mph", "stopping_ft"))
    then, t = fit.at(mph), student(0.99, fit.df)
    assert then.wear == pytest.approx(fitted, abs=1e-5)
    for var, published in ((then.wear_var, of_mean), (then.wear_var + fit.sd**2, of_one)):
        half = t * sqrt(var)
        assert (then.wear - half, then.wear + half) == pytest.approx(published, abs=1e-5)


# The same data, https://www.journaldev.com/45290/predict-function-in-r
def test_stopping_distances_have_the_published_line() -> None:
    fit = line(pairs("stopping_distance", "speed_mph", "stopping_ft"))
    assert (fit.here.wear, fit.here.rate) == pytest.approx((-17.579, 3.932), abs=0.0005)


# Where a line crosses: B. M. Greenwell, C. M. Schubert Kabban, investr, https://cran.r-project.org/package=investr


def test_arsenic_crosses_where_it_was_published() -> None:
    fit = line(pairs("arsenic_calibration", "actual", "measured"))
    t = student(0.90, fit.df)
    assert limits(fit.one_reading(), 3.0, t) == pytest.approx((2.6035, 2.9314, 3.2587), abs=5e-5)
    low, _, high = limits(fit.here, 3.0, t)
    assert (low, high) == pytest.approx((2.8724, 2.9898), abs=5e-5)


def test_the_delta_method_is_the_crossing_of_a_sure_rate() -> None:
    fit = line(pairs("arsenic_calibration", "actual", "measured"))
    low, high = _delta(fit, 3.0, student(0.90, fit.df), 1)
    assert (low, high) == pytest.approx((2.6040, 3.2589), abs=5e-5)
    assert (high - low) / 2 / student(0.90, fit.df) == pytest.approx(0.1929, abs=5e-5)


def _delta(fit: Fit, limit: float, quantile: float, of: int) -> tuple[float, float]:
    """With the spread at the crossing held fixed (Wald), as if the rate were known."""
    middle = fit.here.crossing(limit, 0)
    assert middle is not None
    then = fit.at(middle)
    sure = Worn(fit.here.wear, fit.here.rate, then.wear_var + fit.sd**2 / of, 0.0, 0.0)
    low, _, high = limits(sure, limit, quantile)
    assert low is not None
    assert high is not None
    return low, high


# D. L. Massart and others, Handbook of Chemometrics and Qualimetrics A (1997), chapter 8, example 7, figures in the
# test set of chemCal, https://cran.r-project.org/package=chemCal
@pytest.mark.parametrize(
    ("reading", "of", "published", "half"), [(15, 1, 6.1, 4.9), (90, 1, 43.9, 4.9), (90, 5, 43.9, 3.2)]
)
def test_calibration_by_the_delta_method(reading: float, of: int, published: float, half: float) -> None:
    fit = line([(0, 4.0), (10, 21.2), (20, 44.6), (30, 61.8), (40, 78.0), (50, 105.2)])
    assert fit.here.crossing(reading, 0) == pytest.approx(published, abs=0.05)
    low, high = _delta(fit, reading, student(0.95, fit.df), of)
    assert (high - low) / 2 == pytest.approx(half, abs=0.05)


# ReliaWiki, crack propagation, https://www.reliawiki.com/index.php?title=Example:_Weibull_Degradation_Crack_Propagation_-_Point_Estimation
# Published: a and b of b exp(a x); the crossings were recomputed from them, no source
@pytest.mark.parametrize(
    ("unit", "a", "b", "crossing"),
    [
        ("A", 0.00158, 13.596, 500.622),
        ("B", 0.00271, 8.272, 475.739),
        ("C", 0.00140, 16.435, 428.739),
        ("D", 0.00177, 10.361, 600.810),
        ("E", 0.00294, 7.931, 452.832),
    ],
)
def test_cracks_grow_by_the_published_exponentials(unit: str, a: float, b: float, crossing: float) -> None:
    grown = [(x, log(y)) for x, y in pairs("blade_crack_length", "kcycles", "crack_mm", unit=unit)]
    fit = line(grown)
    assert fit.here.rate == pytest.approx(a, abs=5e-6)
    assert exp(fit.here.wear) == pytest.approx(b, abs=6e-4)
    assert fit.here.crossing(log(30), 0) == pytest.approx(crossing, abs=0.01)


# W. Q. Meeker, L. A. Escobar, Statistical Methods for Reliability Data (1998), laser data. Crossings and limits were
# computed from the published data by two other libraries, no source
LASERS = {
    "101": (3702.04, 3639.5, 3767.8, 3536.4, 3870.9),
    "102": (4194.42, 4138.5, 4252.6, 4067.6, 4323.5),
    "103": (5846.75, 5705.6, 5998.0, 5617.8, 6085.8),
    "104": (6172.07, 5864.8, 6527.5, 5689.2, 6703.2),
    "105": (5300.98, 5198.3, 5409.6, 5119.2, 5488.7),
    "106": (3592.36, 3535.5, 3651.9, 3436.3, 3751.1),
    "107": (6050.79, 5835.7, 6289.0, 5709.8, 6415.0),
    "108": (6538.47, 6376.3, 6712.2, 6297.8, 6790.7),
}


@pytest.mark.parametrize("unit", LASERS)
def test_lasers_reach_ten_per_cent_where_two_other_libraries_say(unit: str) -> None:
    fit = line(pairs("laser_degradation", "hours", "increase_percent", unit=unit))
    t = student(0.95, fit.df)
    crossing, early, late, one_early, one_late = LASERS[unit]
    found = limits(fit.here, 10, t)
    assert found[1] == pytest.approx(crossing, abs=0.05)
    assert (found[0], found[2]) == pytest.approx((early, late), abs=0.1)
    of_one = limits(fit.one_reading(), 10, t)
    assert (of_one[0], of_one[2]) == pytest.approx((one_early, one_late), abs=0.1)


def test_lasers_far_ahead_are_held_by_wandering_and_missed_by_least_squares() -> None:
    """Fitted to 2,000 h, asked for 4,000 h at 95 %: readings of one unit hang together, and its drift bends."""
    assert _lasers_held_by_least_squares() == {"101", "106", "108"}
    assert _lasers_held_by_the_filter(UNEVEN) == set(LASERS)
    assert len(_lasers_held_by_the_filter(0.0)) <= 3


def _laser(unit: str) -> tuple[list[tuple[float, float]], float]:
    """The readings to 2,000 h, and that at 4,000 h."""
    readings = pairs("laser_degradation", "hours", "increase_percent", unit=unit)
    return [each for each in readings if each[0] <= 2000], next(y for x, y in readings if x == 4000)


def _lasers_held_by_least_squares() -> set[str]:
    held = set()
    for unit in LASERS:
        early, then = _laser(unit)
        fit = line(early)
        at = fit.at(4000)
        if abs(then - at.wear) <= student(0.95, fit.df) * sqrt(at.wear_var + fit.sd**2):
            held.add(unit)
    return held


def _lasers_held_by_the_filter(uneven: float) -> set[str]:
    """A prior from the same eight units: this shows the need for wandering, no more."""
    fits = [line(_laser(unit)[0]) for unit in LASERS]
    rates = [fit.here.rate for fit in fits]
    rate = sum(rates) / len(rates)
    spread = sqrt(sum((each - rate) ** 2 for each in rates) / (len(rates) - 1))
    error = sqrt(sum(fit.sd**2 for fit in fits) / len(fits))
    prior = Prior(0, error, rate, spread, 10)
    wandering = prior.uneven * (uneven / UNEVEN) ** 2
    held = set()
    for unit in LASERS:
        early, then = _laser(unit)
        worn, at = prior.begin(), 0.0
        for x, y in early:
            worn, at = worn.after(x - at, wandering).read(y, error**2), x
        far = worn.after(4000 - at, wandering)
        if abs(then - far.wear) <= 1.959964 * sqrt(far.wear_var + error**2):
            held.add(unit)
    return held


# P. A. Tobias, D. C. Trindade, Applied Reliability, p. 216: three readings a unit. Crossings and limits were computed
# from the published data, no source


@pytest.mark.parametrize(
    ("unit", "crossing"), [("1", 1575.27), ("2", 1852.94), ("3", 2875.00), ("4", 1351.85), ("5", 3166.67)]
)
def test_voltages_fall_to_their_limit(unit: str, crossing: float) -> None:
    fit = line(turned(pairs("threshold_voltage", "hours", "volts", unit=unit)))
    assert fit.here.crossing(-0.5, 0) == pytest.approx(crossing, abs=0.01)


@pytest.mark.parametrize(
    ("unit", "early", "late"),
    [("1", 1351.75, 1926.36), ("2", 1008.62, None), ("4", 891.05, 5185.44), ("5", 2187.14, 6638.02)],
)
def test_three_readings_may_have_no_late_end(unit: str, early: float, late: float | None) -> None:
    fit = line(turned(pairs("threshold_voltage", "hours", "volts", unit=unit)))
    found = limits(fit.here, -0.5, student(0.95, fit.df))
    assert found[0] == pytest.approx(early, abs=0.1)
    assert found[2] == (late if late is None else pytest.approx(late, abs=0.1))


def test_three_readings_on_one_line_prove_nothing_of_their_interval() -> None:
    """The band of an exact fit collapses to a point; with wandering it does not."""
    readings = turned(pairs("threshold_voltage", "hours", "volts", unit="3"))
    fit = line(readings)
    assert fit.sd == pytest.approx(0, abs=1e-9)
    assert limits(fit.here, -0.5, student(0.95, fit.df)) == pytest.approx((2875, 2875, 2875), abs=0.01)
    worn, at = Prior(readings[0][1], 0.01, 1e-4, 1e-4, 0.5).begin(), 0.0
    for x, y in readings:
        worn, at = worn.after(x - at, 1e-7).read(y, 1e-4), x
    early, middle, late = limits(worn, -0.5, 1.2816)
    assert early is not None
    assert middle is not None
    assert early < middle * 0.95
    assert late is None or late > middle * 1.05


# The same, p. 201: ten resistors; through the origin, and with an intercept. Computed from the published data
BY_ORIGIN = (107.2, 912.1, 230.1, 266.4, 728.8, 915.6, 242.4, 275.6, 131.2, 222.2)
BY_LINE = (106.9, 918.1, 230.5, 268.2, 623.3, 953.6, 239.0, 269.3, 131.2, 224.8)


@pytest.mark.parametrize("number", range(1, 11))
def test_resistors_reach_thirty_per_cent(number: int) -> None:
    readings = pairs("resistor_degradation_125c", "hours", "degradation_percent", unit=str(number))
    assert line(readings, through=0).here.crossing(30, 0) == pytest.approx(BY_ORIGIN[number - 1], abs=0.05)
    assert line(readings).here.crossing(30, 0) == pytest.approx(BY_LINE[number - 1], abs=0.05)


def test_a_resistor_past_its_limit_has_nothing_left() -> None:
    readings = pairs("resistor_degradation_125c", "hours", "degradation_percent", unit="1")
    assert line(readings, through=0).at(168).crossing(30, 0) == 0


# Meeker and Escobar, the same book: sliding metal. Slopes of the logarithms, computed from the published data
POWERS = (0.1922, 0.1927, 0.2044, 0.2008, 0.1368, 0.1933, 0.1648, 0.1784, 0.1928, 0.2202, 0.2006, 0.2161)


@pytest.mark.parametrize("number", range(12))
def test_sliding_metal_wears_by_a_power_of_its_cycles(number: int) -> None:
    worn = pairs("metal_sliding_wear", "cycles", "wear_um", unit=str(101 + number))
    assert line([(log(x), log(y)) for x, y in worn]).here.rate == pytest.approx(POWERS[number], abs=5e-5)


# Johnson, Ott, Dogucu, Bayes Rules!, chapter 5, https://r4ds.github.io/bookclub-bayes_rules/normal-model.html
def test_a_prior_and_the_mean_of_readings_meet_where_it_was_published() -> None:
    found = Worn(6.5, 0.0, 0.4**2, 0.0, 0.0).read(5.735, 0.5**2 / 25)
    assert found.wear == pytest.approx(5.78, abs=1e-8)
    assert found.wear_var == pytest.approx(0.009411765, abs=1e-8)
    assert sqrt(found.wear_var) == pytest.approx(0.09701425, abs=1e-8)
