"""Chain lengths against textbook examples; the pitch of a bicycle chain stands for any pitch, as only pitches count."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.chain import PITCH_MM, links_approximate, links_exact, links_to_fit
from service.errors import Refusal


# Machine design text, ch. 30 "Chain drive", example 30-1 (https://huggingface.co/datasets/nvidia/Nemotron-CC-Math-v1):
# 21 and 42 teeth, 50 pitches apart, pitch 9.52 mm: 1254.01 mm
def test_the_length_is_that_of_a_textbook_to_a_hundredth_of_a_millimetre() -> None:
    assert links_approximate(42, 21, 50 * PITCH_MM) * 9.52 == pytest.approx(1254.01, abs=0.01)
    assert links_exact(42, 21, 50 * PITCH_MM) * 9.52 == pytest.approx(1254.01, abs=0.01)


# Budynas and Nisbett, solutions manual, problem 17-26: 21 and 84 teeth, half-inch pitch, 20 in: 135 pitches
# https://www.coursehero.com/file/6628931/24-ch-17-Mechanical-Design-budynas-SM-ch17/
def test_the_length_is_that_of_a_solved_problem() -> None:
    assert links_approximate(84, 21, 508) == pytest.approx(135, abs=0.1)
    assert links_exact(84, 21, 508) == pytest.approx(135, abs=0.1)
    assert links_to_fit(links_exact(84, 21, 508)) == 136


# The same text, example 30-3: 17 and 51 teeth, pitch 9.52 mm, 300 mm
def test_the_inverse_gives_the_distance_back() -> None:
    links = links_approximate(51, 17, 300 / 9.52 * PITCH_MM)
    rest = links - (51 + 17) / 2
    back = 9.52 / 4 * (rest + (rest**2 - 8 * ((51 - 17) / (2 * 3.141592653589793)) ** 2) ** 0.5)
    assert back == pytest.approx(300.00, abs=0.005)


# Computed with general numerical libraries, not published: half-inch pitch, distance in pitches
@pytest.mark.parametrize(
    ("small", "large", "centre", "approximate", "exact"),
    [(16, 44, 33.0, 96.60179, 96.60270), (11, 50, 32.3, 96.29280, 96.29650), (11, 34, 32.8, 88.50853, 88.50895)],
)
def test_bicycle_sizes(small: int, large: int, centre: float, approximate: float, exact: float) -> None:
    assert links_approximate(large, small, centre * PITCH_MM) == pytest.approx(approximate, abs=5e-6)
    assert links_exact(large, small, centre * PITCH_MM) == pytest.approx(exact, abs=5e-6)


@given(st.integers(8, 60), st.integers(8, 60), st.floats(380, 480))
def test_it_is_the_same_both_ways_round_grows_with_the_stay_and_fits_evenly(one: int, other: int, stay: float) -> None:
    links = links_exact(one, other, stay)
    assert links == pytest.approx(links_exact(other, one, stay), rel=1e-12)
    assert links_exact(one, other, stay + 1) > links
    fit = links_to_fit(links)
    assert fit % 2 == 0
    assert links - 1e-6 <= fit < links + 2


# About 1 m of a chain of 25.4 mm pitch: 39.37 pitches, 40 with the joining link, 1016 mm
# https://www.adoz.cz/en/actualities/how-to-determine-the-proper-length-of-a-roller-chain
def test_the_number_of_links_is_even_with_the_joining_link() -> None:
    assert links_to_fit(1000 / 25.4) == 40
    assert links_to_fit(1000 / 25.4) * 25.4 == pytest.approx(1016)


def test_a_whole_even_number_is_kept() -> None:
    assert [links_to_fit(each) for each in (96.0, 96.0000000001, 96.001, 97.0)] == [96, 96, 98, 98]


def test_wheels_that_would_overlap_are_refused() -> None:
    with pytest.raises(Refusal) as refused:
        links_exact(60, 40, 200)
    assert refused.value.errors[0].pointer == "/chainstay_mm"
