"""What a person with a phone is told in plain words: how to get in, how far a job is, what is not known."""

import httpx
import pytest

from tests.api.words import NOON, build, fit, part, plan, ride, specs, start
from tests.conftest import Served
from tests.web.browser import Browser, Page

pytestmark = pytest.mark.parametrize("database", ["sqlite"], indirect=True)  # words, whatever keeps them
WAYS = ("installed: locknut person link", "from a checkout: scripts/locknut person link", "the demo: stop it and start")


def page_of(visitor: httpx.Client, path: str, status: int) -> Page:
    answer = visitor.get(path)
    assert answer.status_code == status
    return Page(answer)


@pytest.mark.parametrize("path", ["/", "/due", "/parts", "/builds/0199f2a1-7c00-7000-8000-00000000000a"])
def test_a_page_tells_a_stranger_to_open_or_scan_a_link_and_the_api_keeps_its_words(
    visitor: httpx.Client, path: str
) -> None:
    page = page_of(visitor, path, 401)
    assert "Open a sign-in link on it, or scan its QR code" in page.main
    assert [way for way in WAYS if way not in page.main] == []
    assert "Bearer" not in page.main
    assert "token" not in page.main
    assert "Authorization: Bearer" in visitor.get("/api/v1/me").json()["detail"]


@pytest.mark.parametrize(("path", "status"), [("/sign-in", 200), ("/sign-in/spent-long-ago", 410)])
def test_the_page_of_no_link_or_a_spent_one_tells_how_to_get_another(
    visitor: httpx.Client, path: str, status: int
) -> None:
    page = page_of(visitor, path, status)
    assert [way for way in WAYS if way not in page.main] == []
    assert page.all("nav") == []  # its links would all ask to sign in again


def test_a_second_hand_part_has_run_nobody_knows_how_far(browser: Browser, client: httpx.Client) -> None:
    on, saddle = build(client), part(client, "saddle", origin="second-hand")
    fit(client, on, saddle, at=NOON.isoformat())
    for path in (f"/parts/{saddle}", f"/builds/{on}"):
        shown = browser.open(path).main
        assert "not known" in shown
        assert "at least" not in shown
    ride(client, on, 40, NOON)
    for path in (f"/parts/{saddle}", f"/builds/{on}"):
        assert "at least 40" in browser.open(path).main


def test_the_stand_tells_how_much_is_done_before_which_step_this_is(
    browser: Browser, client: httpx.Client, service: Served
) -> None:
    on = build(client)
    fit(client, on, part(client, "frame"))
    job = start(client, on)
    step = job["steps"][2]["id"]
    shown = browser.open(f"/checklists/{job['id']}?step={step}").main
    assert f"0 of {len(job['steps'])} done · this is step 3 in order" in shown


def test_what_to_bring_to_a_shop_is_a_list(browser: Browser, client: httpx.Client) -> None:
    on = build(client)
    fork = part(client, "fork", "Fork, painted, grey", specs=specs(brake_mount="post", mount_painted="yes"))
    plan(client, on, fork)
    plan(client, on, part(client, "cable-disc-caliper", specs=specs(mount="post", moving_pads="one")), "front")
    page = browser.open(f"/checklists/{start(client, on)['id']}/list")
    assert "Bring:" in page.main
    assert "Fork, painted, grey" in [" ".join(each.text.split()) for each in page.all("li")]
