"""What is typed into a form, numbers with a point or a comma and versions; and how a distance is written."""

import pytest

from service.errors import Malformed
from service.web.facts import money_typed
from service.web.forms import Typed, as_number
from service.web.words import run


@pytest.mark.parametrize(
    ("text", "number"), [("12.5", 12.5), ("12,5", 12.5), (" 1 240 ", 1240.0), ("-3", -3.0), ("0,125", 0.125), ("7", 7)]
)
def test_numbers_are_read_with_a_point_or_a_comma(text: str, number: float) -> None:
    assert as_number(text, "/km") == number


@pytest.mark.parametrize("text", ["1,240", "12,345"])
def test_a_comma_that_may_part_thousands_is_asked_about(text: str) -> None:
    with pytest.raises(Malformed, match="write it so, without the comma"):
        as_number(text, "/km")


@pytest.mark.parametrize("text", ["1e3", "twelve", "1.2.3", "0x10", "١٢", "nan", "inf", "--1"])
def test_what_is_no_number_stays_text_for_the_model_to_refuse(text: str) -> None:
    assert as_number(text, "/km") == text


def test_a_version_that_is_no_number_is_none() -> None:
    assert Typed.of({"version": "7"}).version() == 7
    assert Typed.of({"version": "-1"}).version() is None
    assert Typed().version() is None


@pytest.mark.parametrize(
    ("least_km", "known", "says"),
    [(0, True, "0 km"), (0, False, "not known"), (0.04, False, "not known"), (12.5, False, "at least 12.5 km")],
)
def test_a_distance_of_which_nothing_is_known_says_so(least_km: float, known: bool, says: str) -> None:
    assert run(least_km, known).replace("\N{NARROW NO-BREAK SPACE}", " ") == says


@pytest.mark.parametrize(("currency", "minor"), [("EUR", 1250), ("JPY", 12), ("KWD", 12500)])
def test_an_amount_is_kept_in_the_currencys_own_minor_units(currency: str, minor: int) -> None:
    """ISO 4217: two decimals for EUR, none for JPY, three for KWD."""
    typed = Typed.of({"price": "12.5" if currency != "JPY" else "12"})
    assert money_typed(typed, currency, "price")["price"].minor == minor
