"""Whether a part from the bin would meet at a place: the worst of its joins there, and what to measure."""

from dataclasses import replace

import pytest

from service.domain.fits import can_fill, would_fit
from service.domain.joins import findings_around, with_joins
from service.domain.places import surroundings
from service.domain.procedure import Library
from service.domain.whatif import Supposed, suppose
from service.errors import Refusal
from service.ids import new_id
from tests.domain.bicycles import Workshop
from tests.domain.small_library import ALL, POST_JOIN, SEATPOST
from tests.domain.small_library import library as small_library
from tests.domain.whole_bicycles import BICYCLES, WholeBicycle

WITH_POST = tuple(replace(each, joins=(POST_JOIN,)) if each is SEATPOST else each for each in ALL)
LIBRARY = small_library(WITH_POST)


@pytest.mark.parametrize(
    ("diameter_mm", "answer"), [(27.2, "meets"), (27.15, "meets"), (27.0, "conflicts"), (None, "not measured yet")]
)
def test_a_post_is_judged_by_the_bore_of_the_frame(diameter_mm: float | None, answer: str) -> None:
    shop = Workshop(LIBRARY)
    shop.fit(shop.part("frame", post_mm=27.2))
    post = shop.part("seatpost", diameter_mm=diameter_mm)
    found = would_fit(shop.bicycle(), shop.parts[post], "", LIBRARY)
    assert found.answer == answer
    measure = [(each.part_id, each.field) for finding in found.findings for each in finding.measure]
    assert measure == ([(post, "diameter_mm")] if diameter_mm is None else [])


def test_the_part_that_is_there_now_plays_no_part() -> None:
    shop = Workshop(LIBRARY)
    shop.fit(shop.part("frame", post_mm=27.2))
    shop.fit(shop.part("seatpost", diameter_mm=27.0))
    post = shop.part("seatpost", diameter_mm=27.2)
    assert would_fit(shop.bicycle(), shop.parts[post], "", LIBRARY).answer == "meets"


def test_where_it_meets_nothing_nothing_is_claimed() -> None:
    shop = Workshop(LIBRARY)
    post = shop.part("seatpost", diameter_mm=27.2)
    found = would_fit(shop.bicycle(), shop.parts[post], "", LIBRARY)
    assert (found.answer, found.findings) == (None, ())


def test_a_place_that_is_not_there_is_refused() -> None:
    shop = Workshop(LIBRARY)
    pads = shop.part("brake-pads")
    with pytest.raises(Refusal, match="there is none"):
        would_fit(shop.bicycle(), shop.parts[pads], "front", LIBRARY)


def test_what_stands_in_for_a_slot_can_fill_it() -> None:
    assert list(can_fill("shifter", LIBRARY)) == ["shifter", "combined-lever"]
    assert list(can_fill("fork", LIBRARY)) == ["fork"]


@pytest.mark.parametrize("name", BICYCLES[::3])  # each takes a second
def test_no_finding_of_a_part_is_left_out_for_speed(name: str, library: Library) -> None:
    whole = WholeBicycle(library, name, fitted=True)
    bicycle = whole.shop.bicycle()
    for key, part_id in whole.parts.items():
        category, _, place = key.partition("@")
        part = replace(bicycle.parts[part_id], id=new_id(), category=category)
        there = suppose(bicycle, [Supposed(part, place)], library).bicycle
        every = findings_around(with_joins(surroundings(there, library)))
        own = {each.join for each in every if part.id in each.parts and not each.join.startswith("whole-bicycle.")}
        asked = {each.join for each in every if each.answer == "not measured yet" and not each.measure}
        assert {each.join for each in would_fit(bicycle, part, place, library).findings} == own - asked, key
