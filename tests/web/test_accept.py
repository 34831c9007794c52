"""Accepting a conflict on the build's page: with a reason or not at all, and taken back there."""

import httpx
import pytest

from tests.api.test_acceptance import TOE, WHY, Tight
from tests.api.words import ONE_DATABASE, fit, part, specs
from tests.web.browser import Browser

pytestmark = ONE_DATABASE


def test_a_conflict_is_accepted_with_a_reason_and_taken_back(client: httpx.Client, browser: Browser) -> None:
    on = Tight(client)
    page = browser.open(f"/builds/{on.on}")
    action = f"/builds/{on.on}/accept"
    page = browser.send(page.form(action, join=TOE), {"reason": WHY})
    assert "Accepted, for these parts and these facts alone." in page.main
    assert f"accepted: {WHY}" in page.main
    assert on.finding()["acceptance"]["reason"] == WHY
    page = browser.send(page.form(action, join=TOE), {"do": "remove"})
    assert "the conflict stands again" in page.main
    assert on.finding()["acceptance"] is None


@pytest.mark.parametrize("reason", ["", "x" * 401])
def test_without_a_reason_it_is_asked_for_again(reason: str, client: httpx.Client, browser: Browser) -> None:
    on = Tight(client)
    form = browser.open(f"/builds/{on.on}").form(f"/builds/{on.on}/accept", join=TOE)
    page = browser.send(form, {"reason": reason}, status=422)
    assert "Nothing was stored." in page.main
    assert on.finding()["acceptance"] is None
    page = browser.send(page.form(f"/builds/{on.on}/accept", join=TOE), {"reason": WHY})
    assert f"accepted: {WHY}" in page.main


def test_what_changed_meanwhile_is_said_and_not_accepted(client: httpx.Client, browser: Browser) -> None:
    on = Tight(client)
    form = browser.open(f"/builds/{on.on}").form(f"/builds/{on.on}/accept", join=TOE)
    client.put(f"/api/v1/parts/{on.crank}/specs/arm_length_mm", json={"number": 180})
    page = browser.send(form, {"reason": WHY}, status=409)
    assert "have changed since it was read" in page.main
    assert on.finding()["acceptance"] is None


def test_what_is_never_accepted_has_no_form_and_says_so(client: httpx.Client, browser: Browser) -> None:
    on = Tight(client)
    fit(client, on.on, part(client, "fork", specs=specs(travel_mm=140, axle_crown_mm=500)))
    for field, mm in (("fork_travel_max_mm", 100), ("front_centre_mm", 660)):
        client.put(f"/api/v1/parts/{on.frame}/specs/{field}", json={"number": mm})
    page = browser.open(f"/builds/{on.on}")
    assert "Never accepted: change a part" in page.main
    assert not [form for form in page.forms if form.action.endswith("/accept")]
    alone = browser.open(f"/builds/{on.on}/accept?join=fork.travel")
    assert "never accepted" in alone.main
    assert not [form for form in alone.forms if form.action.endswith("/accept")]


def test_a_finding_that_is_not_there_is_not_found(client: httpx.Client, browser: Browser) -> None:
    on = Tight(client)
    browser.open(f"/builds/{on.on}/accept?join=crankset.nothing", status=404)
