"""The pages of trouble: plain words first, then whether to ride, then each cause with what to begin."""

import httpx
import pytest

from tests.api.test_trouble import with_two_tyres
from tests.api.words import NOON
from tests.conftest import Served
from tests.web.browser import Browser

pytestmark = pytest.mark.parametrize("database", ["sqlite"], indirect=True)


def test_a_symptom_is_chosen_and_its_page_says_first_whether_to_ride(
    client: httpx.Client, service: Served, browser: Browser
) -> None:
    service.now = NOON
    on, tyres = with_two_tyres(client)
    page = browser.open(f"/builds/{on}/trouble?stage=riding")
    assert f"/builds/{on}/trouble/bump-each-turn" in page.links()
    page = browser.open(f"/builds/{on}/trouble/bump-each-turn")
    assert page.main.index("Do not ride until") < page.main.index("Begin with")
    assert f"/builds/{on}/log?part={tyres[1]}&kind=inspected" in page.links()
    abouts = [form.fields["about"] for form in page.forms if form.fields.get("task") == ["tyre.look"]]
    assert [tyres[0]] in abouts
    assert [tyres[1]] in abouts


def test_trouble_is_reached_from_the_bicycle_the_part_and_the_log(
    client: httpx.Client, service: Served, browser: Browser
) -> None:
    service.now = NOON
    on, tyres = with_two_tyres(client)
    assert f"/builds/{on}/trouble" in browser.open(f"/builds/{on}").links()
    assert f"/builds/{on}/trouble?part={tyres[0]}" in browser.open(f"/parts/{tyres[0]}").links()
    assert f"/builds/{on}/trouble" in browser.open(f"/builds/{on}/log").links()
    assert "/trouble/bump-each-turn" in browser.open("/trouble").links()
    said = browser.open(f"/builds/{on}/trouble?part={tyres[0]}").main
    assert "A bump each turn" in said
    assert "The chain skips" not in said
