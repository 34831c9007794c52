"""The page before a tour: asked for, answered in groups, wrong fields said where they stand."""

import httpx
import pytest

from tests.api.words import NOON, build, fit, part, ride
from tests.conftest import Served
from tests.web.browser import Browser

pytestmark = pytest.mark.parametrize("database", ["sqlite"], indirect=True)


def test_a_tour_is_asked_for_and_answered_in_groups(browser: Browser, client: httpx.Client, service: Served) -> None:
    service.now = NOON
    on = build(client, state="in service")
    fit(client, on, part(client, "chain"), day="2026-04-01")
    ride(client, on, 40, "2026-04-20")
    assert f"/builds/{on}/tour" in browser.open(f"/builds/{on}").links()
    page = browser.open(f"/builds/{on}/tour")
    assert "How far" in page.main
    page = browser.open(f"/builds/{on}/tour?km=1200&days=21&leaving=2026-05-25&conditions=wet&loaded=yes")
    assert "1 200 km in 21 days from 25 May 2026." in page.main.replace("\u202f", " ")
    assert "Do before" in page.main
    assert "On the way" in page.main
    assert "joining link to carry" in page.main
    assert "ask a qualified mechanic" in page.main
    assert "%" not in page.main.partition("Do before")[2].partition("To carry")[0].replace(" %, trade page", "")


def test_a_field_that_is_wrong_is_said_where_it_stands(browser: Browser, client: httpx.Client, service: Served) -> None:
    service.now = NOON
    on = build(client, state="in service")
    page = browser.open(f"/builds/{on}/tour?km=far&days=21&leaving=", 422)
    assert "should be a distance such as 1200" in page.main.lower()
    assert "should be the day of leaving" in page.main.lower()
    page = browser.open(f"/builds/{on}/tour?km=1200&days=21&leaving=2026-05-01", 400)
    assert "should be from 2026-05-04" in page.main.lower()
