"""Tyre sizes, widths and pressures against ISO 5775 and the tables that report it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.tyre import WIDTHS_MM, advised_kpa, ceiling, circumference_mm, diameter_mm, widths, widths_for


# Circumferences as printed for ISO 5775 sizes; a formula agrees with any printed table to 0.5 %
# (16 CFR 1512 and makers' tables at second hand; the last from http://vaalmtb.co.za/Forum, touring-club tyre sizes)
@pytest.mark.parametrize(
    ("width", "seat", "printed"), [(20, 622, 2086), (23, 622, 2096), (25, 622, 2105), (32, 622, 2155)]
)
def test_a_circumference_is_the_printed_one(width: float, seat: float, printed: float) -> None:
    assert circumference_mm(seat, width) == pytest.approx(printed, rel=0.005)
    assert diameter_mm(seat, width) == seat + 2 * width


# ETRTO as of 2006, https://de-rec-fahrrad.de/_export/xhtml/technik/etrtotabelle
TABLE = {
    13: (18, 25), 15: (23, 32), 17: (25, 50), 19: (28, 62), 21: (35, 62), 23: (37, 62), 25: (44, 62), 27: (47, 62),
    29: (54, 62),
}  # fmt: skip


@pytest.mark.parametrize("inner", TABLE)
def test_widths_are_those_of_the_table(inner: int) -> None:
    low, high = TABLE[inner]
    assert WIDTHS_MM[inner] == (low, high)
    assert widths(low, inner) == widths(high, inner) == "meets"
    assert widths(high + 1, inner) == "needs care"
    assert widths(inner / 0.9 - 0.1, inner) == "conflicts"  # common practice, no source


def test_without_the_rims_width_nothing_is_said() -> None:
    assert widths(40, None) == "not measured yet"


@given(st.floats(13, 29), st.floats(13, 29))
def test_a_wider_rim_never_takes_a_narrower_tyre(one: float, other: float) -> None:
    narrow, wide = sorted((one, other))
    assert widths_for(narrow)[0] <= widths_for(wide)[0] + 1e-9
    assert widths_for(narrow)[1] <= widths_for(wide)[1] + 1e-9


# ISO 4210-1, 2.27 (TBIS 4210-1:2018, page 11, http://chctest.tbnet.org.tw/eBOOK-TBIS/01/EN/files/basic-html/page11.html)
# and the 5 bar of a hookless rim (https://slowtwitch.cloud/cycling/hookless-rim-and-tire-compatibility-update)
@pytest.mark.parametrize(
    ("tyre", "rim", "hookless", "kpa", "governs"),
    [
        (600.0, 550.0, False, 550.0, "rim"),
        (400.0, 550.0, False, 400.0, "tyre"),
        (600.0, 550.0, True, 500.0, "hookless"),
        (450.0, None, True, 450.0, "tyre"),
        (None, None, True, 500.0, "hookless"),
        (None, None, False, None, None),
    ],
)
def test_the_lowest_limit_governs(
    tyre: float | None, rim: float | None, hookless: bool, kpa: float | None, governs: str | None
) -> None:
    found = ceiling({"tyre": tyre, "rim": rim}, hookless=hookless)
    assert (found.kpa, found.governs) == (kpa, governs)
    assert found.not_known == tuple(name for name, limit in (("tyre", tyre), ("rim", rim)) if limit is None)


# From memory: what a rim without a mark is trusted with
def test_a_wider_tyre_is_advised_less() -> None:
    assert [advised_kpa(width) for width in (28, 35, 45, 57, 60)] == [500, 400, 300, 250, 200]
