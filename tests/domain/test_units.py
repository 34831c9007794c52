"""Conversions against published factors."""

import pytest

from service.domain.units import km, metres, newton_metres, printed_torque, torque_in

# NIST SP 811, Appendix B.8, https://www.nist.gov/pml/special-publication-811/nist-guide-si-appendix-b-conversion-factors
NIST = [("lbf·in", 0.1129848, 5e-8), ("lbf·ft", 1.355818, 5e-7), ("kgf·m", 9.80665, 0.0)]


@pytest.mark.parametrize(("unit", "printed", "tolerance"), NIST)
def test_torque_factors_are_those_printed_by_nist(unit: str, printed: float, tolerance: float) -> None:
    assert newton_metres(1, unit) == pytest.approx(printed, abs=tolerance or 1e-12)


# Infolific: using the right torque, https://infolific.com/?p=5857 (1 N·m = 8.851 lbf·in)
def test_a_newton_metre_is_so_many_pound_inches() -> None:
    assert torque_in(1, "lbf·in") == pytest.approx(8.851, abs=5e-4)


def test_units_there_and_back_are_the_same() -> None:
    assert torque_in(newton_metres(37.5, "kgf·cm"), "kgf·cm") == pytest.approx(37.5)


def test_distance_is_whole_metres() -> None:
    assert metres(12.3456) == 12346
    assert km(12346) == 12.346


@pytest.mark.parametrize(
    ("text", "low", "high"),
    [
        ("71–88 lbf·in", 8.0219, 9.9427),
        ("6.0 to 8.0 N m", 6.0, 8.0),
        ("max. 5 Nm", None, 5.0),
        ("40 N·m", None, 40.0),
        ("60-80 kgf.cm", 5.884, 7.8453),
    ],
)
def test_a_printed_torque_is_read(text: str, low: float | None, high: float) -> None:
    read = printed_torque(text)
    assert read is not None
    assert read[0] == (None if low is None else pytest.approx(low, abs=1e-4))
    assert read[1] == pytest.approx(high, abs=1e-4)


@pytest.mark.parametrize("text", ["hand tight", "5", "5 bananas", "5–6", ""])
def test_what_is_no_torque_is_not_read(text: str) -> None:
    assert printed_torque(text) is None
