"""Bolt strength against the tables that publish ISO 898-1, and the tightening formula against worked examples."""

import math

import pytest

from service.domain.bolt import (
    PITCH_MM,
    PROOF_MPA,
    SHARE_OF_PROOF,
    STRESS_AREA_MM2,
    ceiling_nm,
    coarse_size,
    preload_n,
    proof_load_n,
    tightening_torque_nm,
)
from service.domain.units import POUND_FORCE_N, newton_metres, torque_in

# ISO metric thread proof loads (EN ISO 898-1), https://staging2.optimas.com/technical-resources/iso-metric-thread-proof-loads
PROOF_LOADS = {
    "M5": (8230, 11800, 13800),
    "M6": (11600, 16700, 19500),
    "M8": (21200, 30400, 35500),
    "M10": (33700, 48100, 56300),
}


@pytest.mark.parametrize("size", PROOF_LOADS)
def test_proof_loads_are_those_of_the_table_and_area_times_stress_within_its_rounding(size: str) -> None:
    for bolt_class, printed in zip(("8.8", "10.9", "12.9"), PROOF_LOADS[size], strict=True):
        assert proof_load_n(size, bolt_class) == printed
        assert STRESS_AREA_MM2[size] * PROOF_MPA[bolt_class] == pytest.approx(printed, rel=0.006)


# Stress area = π/4 (d − 0.938194 P)²: ISO 898-1, as at http://www.ux.uis.no/~hirpa/6KdB/ME/StressArea.htm
@pytest.mark.parametrize("size", PITCH_MM)
def test_stress_areas_follow_from_diameter_and_pitch(size: str) -> None:
    diameter = float(size[1:]) - 0.938194 * PITCH_MM[size]
    assert STRESS_AREA_MM2[size] == pytest.approx(math.pi / 4 * diameter**2, rel=0.006)


# "Suggested tightening torque values", https://studylib.net/doc/26058660/bolt-torque-guide
@pytest.mark.parametrize(
    ("diameter_in", "preload_lbf", "k", "unit", "printed", "tolerance"),
    [
        (0.25, 1320, 0.20, "lbf·in", 66, 1),
        (0.25, 1320, 0.15, "lbf·in", 49, 1),
        (0.3125, 2160, 0.20, "lbf·ft", 11, 0.5),
        (0.3125, 2160, 0.15, "lbf·ft", 8, 0.5),
    ],
)
def test_tightening_torque_is_that_of_published_examples(
    diameter_in: float, preload_lbf: float, k: float, unit: str, printed: float, tolerance: float
) -> None:
    torque_nm = tightening_torque_nm(k, preload_lbf * POUND_FORCE_N, diameter_in * 25.4)
    assert torque_in(torque_nm, unit) == pytest.approx(printed, abs=tolerance)


# 75 % of 55 000 psi on 0.0318 in²: the same guide, https://studylib.net/doc/26058660/bolt-torque-guide
def test_the_preload_of_the_guide_is_our_share_of_its_proof_stress() -> None:
    preload_lbf = SHARE_OF_PROOF * 55_000 * 0.0318
    assert preload_lbf == pytest.approx(1320, rel=0.01)


# Engineering page "Bolt torque", https://engitoolbox.org/calculators/bolt-torque
def test_the_preload_of_an_m10_at_fifty_newton_metres_is_that_of_the_published_example() -> None:
    force = preload_n(0.20, 50, 10)
    assert force == pytest.approx(25_000)
    assert force / STRESS_AREA_MM2["M10"] == pytest.approx(431, abs=0.5)


# What the nut factor K encompasses, https://mobiletechengineering.com/2020/11/15/what-does-the-nut-factor-k-really-encompass/
def test_three_eighths_at_thirty_pound_feet_clamps_as_published() -> None:
    assert preload_n(0.20, newton_metres(30, "lbf·ft"), 9.525) / POUND_FORCE_N == pytest.approx(4940, rel=0.03)


# Derived by hand from the proof loads above: K × 0.75 × proof × d
@pytest.mark.parametrize(
    ("size", "bolt_class", "oiled", "dry"),
    [("M5", "8.8", 4.6, 6.2), ("M5", "A2-70", 3.6, 4.8), ("M6", "12.9", 13.2, 17.6), ("M8", "10.9", 27.4, 36.5)],
)
def test_ceilings_are_three_quarters_of_proof(size: str, bolt_class: str, oiled: float, dry: float) -> None:
    assert ceiling_nm(size, bolt_class, 0.15) == pytest.approx(oiled, abs=0.06)
    assert ceiling_nm(size, bolt_class, 0.20) == pytest.approx(dry, abs=0.06)


# Machine manual, µ = 0.14 (maxima), http://88.208.23.73:8080/en/manual/strobl/strocomp-433/1384811?page=99
@pytest.mark.parametrize(("size", "published"), [("M5", 5.9), ("M6", 10), ("M8", 25), ("M10", 49), ("M12", 85)])
def test_ceilings_of_the_usual_class_agree_with_a_published_tightening_table(size: str, published: float) -> None:
    assert ceiling_nm(size, "8.8", 0.20) == pytest.approx(published, rel=0.06)


def test_threads_that_are_not_coarse_metric_have_no_ceiling() -> None:
    assert coarse_size("M5 × 0.8") == "M5"
    for thread in ("M8 × 1", "9/16 × 20", "M7", "English"):
        assert ceiling_nm(thread, "8.8") is None
    assert ceiling_nm("M5", "3.6") is None
