"""Looking for a fact: which readings count for what was typed, by the give, the snap and the sizes of the field."""

import pytest

from service.domain.looking import Sought, sought
from service.domain.procedure import Library, SpecField
from service.errors import Refusal
from tests.domain.garage import category, choice, library, number

HEADSET = category("headset", specs=(number("bore_mm", sizes=((33.9, 34.0, 34.0), (41.8, 42.0, 42.0))),))
POST = category(
    "seatpost",
    specs=(
        number("bore_mm", nominal=(27.0, 27.2), snap=0.05),
        number("length_mm", give=2.0),
        choice("head", "two_bolt", "one_bolt"),
        SpecField(key="outline", title="Outline", kind="label", measure="Look."),
        SpecField(key="used", title="Used", kind="yes-no", measure="Look."),
    ),
)
LIBRARY: Library = library(HEADSET, POST)


def counts(key: str, worth: str, reading: float, category: str = "seatpost") -> bool:
    """Does a part with this reading count?"""
    found = sought(LIBRARY, key, worth, (category,))
    return any(low <= reading <= high for each in found for low, high in each.ranges)


def test_a_number_counts_with_the_give_of_its_field() -> None:
    assert counts("length_mm", "350", 352.0)
    assert counts("length_mm", "350,0", 348.0)
    assert not counts("length_mm", "350", 352.5)


def test_readings_that_snap_to_the_same_size_count() -> None:
    assert counts("bore_mm", "27.2", 27.16)
    assert counts("bore_mm", "27.16", 27.24)  # both are 27.2
    assert not counts("bore_mm", "27.2", 27.0)
    assert counts("bore_mm", "34", 33.92, "headset")
    assert not counts("bore_mm", "34", 34.05, "headset")


def test_each_category_has_its_own_give_and_alike_ones_stand_together() -> None:
    found = sought(LIBRARY, "bore_mm", "27.2")
    assert {each.categories for each in found} == {("headset",), ("seatpost",)}
    same = library(POST, category("post-of-another-kind", specs=POST.specs))
    [one] = sought(same, "length_mm", "350")
    assert one.categories == ("seatpost", "post-of-another-kind")


@pytest.mark.parametrize(
    ("key", "worth", "words"),
    [
        ("head", "Two bolt", "two_bolt"),
        ("outline", " Two Holes ", "Two Holes"),
        ("used", "true", "yes"),
        ("used", "No", "no"),
    ],
)
def test_words_are_found_as_people_write_them(key: str, worth: str, words: str) -> None:
    assert sought(LIBRARY, key, worth) == (Sought(("seatpost",), key, (), words),)


@pytest.mark.parametrize(
    ("key", "worth", "right"),
    [
        ("length_mm", "long", "a number such as 27.2"),
        ("length_mm", "nan", "a number such as 27.2"),
        ("head", "three", "one of two_bolt, one_bolt"),
        ("used", "perhaps", "yes or no"),
        ("colour", "red", "a fact of some category"),
    ],
)
def test_what_cannot_be_found_is_refused_with_what_would_be_right(key: str, worth: str, right: str) -> None:
    with pytest.raises(Refusal, match=right) as refused:
        sought(LIBRARY, key, worth)
    assert [error.pointer for error in refused.value.errors] == [f"/spec.{key}"]
