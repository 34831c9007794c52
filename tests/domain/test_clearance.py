"""Tyre room: the arithmetic of gaps, worked by hand, and turned round."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.clearance import Gap, largest_tyre_mm, new_gap_mm, section_height_mm

WIDTHS = st.floats(18, 70)


# Geometry: each side takes half the difference, the crown all of it; derived, no outside source
def test_a_gap_carried_over_by_hand() -> None:
    assert new_gap_mm(38, 8, 42, "side") == 6
    assert new_gap_mm(38, 8, 42, "crown") == 4
    assert largest_tyre_mm(38, 8, 6, "side") == 42
    assert largest_tyre_mm(38, 8, 6, "crown") == 40


# ISO 5775-1 as mirrored at https://en-academic.com/dic.nsf/enwiki/884038: under 28 mm a section stands 2.5 mm taller
def test_a_narrow_section_stands_taller_than_it_is_wide() -> None:
    assert (section_height_mm(25), section_height_mm(28)) == (27.5, 28)
    assert new_gap_mm(25, 10, 32, "crown") == pytest.approx(5.5)


@given(WIDTHS, st.floats(3, 30), WIDTHS, st.sampled_from(["side", "crown"]))
def test_there_and_back_is_the_same_gap(old: float, gap: float, new: float, where: Gap) -> None:
    assert new_gap_mm(new, new_gap_mm(old, gap, new, where), old, where) == pytest.approx(gap, abs=1e-9)


@given(st.floats(28, 60), st.floats(4, 20), st.floats(1.6, 10), st.sampled_from(["side", "crown"]))
def test_the_largest_tyre_leaves_the_required_gap(width: float, gap: float, required: float, where: Gap) -> None:
    largest = largest_tyre_mm(width, gap, required, where)
    assert new_gap_mm(width, gap, largest, where) == pytest.approx(required, abs=1e-9)
