"""Gears against published tables, and what must hold of any gear."""

from math import pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.gearing import INCH_MM, gear

WHEEL_28 = pi * 28 * INCH_MM
TEETH = st.integers(1, 130)

# M. E. Ward, Bicycling for Ladies (1896), end of ch. XVIII, table for a 28-inch wheel,
# https://bitlit.ru/page/en/maria-e-ward/bicycling-for-ladies-the-common-sense-of-bicycling-with-hints-as-to-the-art-of-wheelingadvice-to-beginnersdresscare-of-the-bicyclemechanicstrainingexe/62
WARD = {
    17: (68, 59.5, 53),
    18: (72, 63, 56),
    19: (76, 66.5, 59),
    20: (80, 70, 62),
    21: (84, 73.5, 65),
}


@pytest.mark.parametrize("front", WARD)
def test_gear_inches_are_those_of_a_printed_table(front: int) -> None:
    for rear, printed in zip((7, 8, 9), WARD[front], strict=True):
        assert gear(front, rear, WHEEL_28).gear_in == pytest.approx(printed, abs=0.5)


# A. Williams, How It Works, "The gearing of a cycle", http://www.free-books.at/book_22465/ (the first two);
# Schwalbach and Wilcox, The Modern Bicycle, "Gear ratio",
# https://bitlit.ru/chapter/en/alex-schwalbach-julius-wilcox/the-modern-bicycle-and-its-accessories/gear-ratio-104
@pytest.mark.parametrize(
    ("front", "rear", "printed"),
    [(75, 30, 70), (75, 25, 84), (20, 8, 70), (1, 7, 4), (1, 8, 3.5), (1, 9, 28 / 9), (1, 10, 2.8), (1, 11, 28 / 11)],
)
def test_gear_inches_are_exactly_the_worked_ones(front: int, rear: int, printed: float) -> None:
    assert gear(front, rear, WHEEL_28).gear_in == pytest.approx(printed, rel=1e-12)


# Cycle Repairing and Adjusting (Cassell, 1916), ch. VIII, travel in inches by gear,
# https://tekniskkulturarv.dk/book/dec6aa56-2a37-4558-8ab8-f70b760598dd?page=130
@pytest.mark.parametrize(("inches", "printed"), [(56, 176), (60, 188.5), (70, 220), (80, 251), (90, 283)])
def test_travel_of_a_turn_follows_from_gear_inches(inches: float, printed: float) -> None:
    found = gear(1, 1, pi * inches * INCH_MM)
    assert found.development_m * 1000 / INCH_MM == pytest.approx(printed, abs=0.5)


# "Gear inches explanation", https://groups.yahoo.com/neo/groups/Geared_hub_bikes/conversations/topics/22 (to 0.5 %)
@pytest.mark.parametrize(("inches", "metres"), [(12.5, 1.0), (20, 1.6), (25, 2.0), (50, 4.0), (100, 8.0)])
def test_development_in_metres_follows_from_gear_inches(inches: float, metres: float) -> None:
    assert gear(1, 1, pi * inches * INCH_MM).development_m == pytest.approx(metres, rel=0.005)


# 16 CFR 1512.5: 24 km/h at 60 turns a minute is 6.67 m a turn, https://www.ecfr.gov/current/title-16/part-1512
def test_speed_follows_from_development_and_cadence() -> None:
    found = gear(1, 1, 6670, cadence_rpm=60)
    assert found.speed_kmh == pytest.approx(24, abs=0.05)
    assert found.development_m / 0.3048 == pytest.approx(21.9, abs=0.05)


@given(TEETH, TEETH, st.floats(500, 3000))
def test_a_larger_ring_and_a_smaller_sprocket_go_farther(front: int, rear: int, around: float) -> None:
    here = gear(front, rear, around, crank_mm=170, cadence_rpm=80)
    assert (
        gear(front + 1, rear, around).development_m > here.development_m > gear(front, rear + 1, around).development_m
    )
    gains = [gear(front, rear, around, crank_mm=crank).gain_ratio or 0 for crank in (165, 170, 175)]
    assert gains == sorted(gains, reverse=True)
    assert gains[1] == here.gain_ratio
