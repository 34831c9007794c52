"""Spoke lengths against published examples, and what must hold of any wheel."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.wheel import Lacing, order_length_mm, spoke_length_mm
from service.errors import Refusal

PUBLISHED = Lacing(
    hole_circle_mm=58, flange_offset_mm=39, effective_rim_mm=555, spoke_hole_mm=2.6, spokes_count=36, crosses=3
)


# "spoke length" note, http://tristable.net/bike/spoke_length.txt: 265.8 mm
def test_the_length_is_the_published_one() -> None:
    assert spoke_length_mm(PUBLISHED) == pytest.approx(265.8, abs=0.05)


# Inputs of https://en.wikipedia.org/wiki/Spoke#Spoke_length; 292.18 computed, as no result is printed there
def test_the_sample_of_the_encyclopaedia() -> None:
    sample = Lacing(
        hole_circle_mm=39, flange_offset_mm=30, effective_rim_mm=602, spoke_hole_mm=2.2, spokes_count=36, crosses=3
    )
    assert spoke_length_mm(sample) == pytest.approx(292.18, abs=0.01)


# The same note: 36 spokes, 3 crosses: cos 60° = ½, L = √(o² + r² + R² − rR) − s
def test_the_identity_for_36_spokes_and_3_crosses() -> None:
    r, rim, o, s = 29.0, 277.5, 39.0, 1.3
    assert spoke_length_mm(PUBLISHED) == pytest.approx((o**2 + r**2 + rim**2 - r * rim) ** 0.5 - s, rel=1e-12)


@given(st.floats(30, 70), st.floats(15, 45), st.floats(500, 610), st.sampled_from([20, 24, 28, 32, 36]))
def test_more_crosses_and_a_wider_hub_want_longer_spokes(circle: float, offset: float, rim: float, count: int) -> None:
    wheel = Lacing(
        hole_circle_mm=circle,
        flange_offset_mm=offset,
        effective_rim_mm=rim,
        spoke_hole_mm=2.4,
        spokes_count=count,
        crosses=0,
    )
    lengths = [spoke_length_mm(replace(wheel, crosses=crosses)) for crosses in range(count // 8 + 1)]
    assert lengths == sorted(lengths)
    assert len(set(lengths)) == len(lengths)
    assert lengths[0] == pytest.approx(((rim - circle) ** 2 / 4 + offset**2) ** 0.5 - 1.2, rel=1e-12)  # radial
    assert spoke_length_mm(replace(wheel, flange_offset_mm=offset + 1)) > lengths[0]


def test_spokes_are_bought_to_the_nearest_millimetre_and_down_on_the_tight_side() -> None:
    assert (order_length_mm(265.8), order_length_mm(265.8, tight_side=True), order_length_mm(265.4)) == (266, 265, 265)


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"hole_circle_mm": 560}, "/hole_circle_mm"),
        ({"flange_offset_mm": 300}, "/flange_offset_mm"),
        ({"spokes_count": 35, "crosses": 0}, "/spokes_count"),
        ({"spokes_count": 34}, "/spokes_count"),
        ({"crosses": 5}, "/crosses"),
        ({"spokes_count": 20}, "/crosses"),
    ],
)
def test_a_wheel_that_cannot_be_laced_is_refused_at_the_field(wrong: dict[str, float], field: str) -> None:
    with pytest.raises(Refusal) as refused:
        spoke_length_mm(replace(PUBLISHED, **wrong))  # type: ignore[arg-type]
    assert refused.value.errors[0].pointer == field
