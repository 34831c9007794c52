"""The pages of riding and logging: three taps, corrections, what a ride asks for, gauges, own rules, put-offs."""

from datetime import timedelta
from typing import Any

import httpx
import pytest

from tests.api.words import NOON, build, fit, got, km_of, part, ride
from tests.conftest import Served
from tests.web.browser import Browser, Page

pytestmark = pytest.mark.parametrize("database", ["sqlite"], indirect=True)


def bicycle(client: httpx.Client, service: Served) -> tuple[str, dict[str, str]]:
    """A build in service since 4 May with a chain, a disc brake and its pads; it is now 10 May."""
    service.now = NOON
    on = build(client, state="in service")
    parts = {"chain": part(client, "chain")}
    parts |= {"cable-disc-caliper": part(client, "cable-disc-caliper"), "brake-pads": part(client, "brake-pads")}
    fit(client, on, parts["chain"], at=NOON.isoformat())
    fit(client, on, parts["cable-disc-caliper"], "front", at=NOON.isoformat())
    fit(client, on, parts["brake-pads"], "", into_part=parts["cable-disc-caliper"], at=NOON.isoformat())
    service.now = NOON + timedelta(days=6)
    return on, parts


def send(browser: Browser, path: str, typed: dict[str, Any], to: str = "", *, status: int = 200) -> Page:
    """Opens a page, fills its form in and sends it."""
    action = to or path.partition("?")[0]
    return browser.send(browser.open(path).form(action), typed, status=status)


def test_a_last_distance_is_one_tap_and_what_is_typed_goes_before_it(
    browser: Browser, client: httpx.Client, service: Served
) -> None:
    on, _ = bicycle(client, service)
    for km, day in ((24.5, "2026-05-05"), (60, "2026-05-06"), (24.5, "2026-05-07")):
        ride(client, on, km, day)
    page = browser.open(f"/builds/{on}/ride")
    chips = [each.attributes["value"] for each in page.all("input", type="radio", name="again")]
    assert chips == ["24.5", "60"]
    assert not [each for each in page.all("input", name="again") if "checked" in each.attributes]
    send(browser, f"/builds/{on}/ride", {"again": "24.5", "conditions": "dusty"})
    send(browser, f"/builds/{on}/ride", {"again": "60", "km": "61"})
    send(browser, f"/builds/{on}/ride", {"again": "60"})
    today = [each for each in got(client, "/rides", build=on)["items"] if each["day"] == "2026-05-10"]
    assert sorted((each["km"], each["conditions"]) for each in today) == [(24.5, "dusty"), (60, "dry"), (61, "dry")]
    nothing = send(browser, f"/builds/{on}/ride", {}, status=422)
    assert nothing.text_of("p", id="km-mistake") == "Is needed"


def test_a_corrected_ride_says_what_of_what_is_due_has_moved(
    browser: Browser, client: httpx.Client, service: Served
) -> None:
    on, parts = bicycle(client, service)
    logged = ride(client, on, 700, "2026-05-06")
    path = f"/builds/{on}/rides/{logged['id']}"
    page = browser.open(path)
    assert page.form(path).fields["km"] == ["700"]
    assert page.form(path).fields["time"] == ["12:00"]
    moved = send(browser, path, {"km": "70", "conditions": "wet", "note": "A nought too many."})
    assert "The ride is corrected" in moved.main
    cells = [" ".join(each.text.split()) for each in moved.all("td")]
    at = cells.index("Clean the chain")
    assert cells[at : at + 3] == ["Clean the chain", "overdue", "fine"]
    kept = got(client, f"/rides/{logged['id']}")
    assert (kept["km"], kept["conditions"], kept["day"]) == (70, "wet", "2026-05-06")
    assert kept["started_at"] == logged["started_at"]
    assert km_of(client, parts["chain"]) == 70
    stale = browser.send(page.form(path), {"km": "71"}, status=412)
    assert "Nothing was stored" in stale.main
    wrong = send(browser, path, {"time": "25:99"}, status=422)
    assert "such as 14:30" in wrong.text_of("p", id="time-mistake")
    gone = send(browser, path, {"do": "remove"})
    assert "The ride is removed" in gone.main
    assert got(client, "/rides", build=on)["items"] == []
    assert browser.client.get(path).status_code == 404


def test_a_reading_of_the_odometer_is_corrected_and_removed(
    browser: Browser, client: httpx.Client, service: Served
) -> None:
    on, parts = bicycle(client, service)
    for shows, days in ((1000, 1), (1500, 3)):
        client.post("/api/v1/odometer-readings", json={
            "build": on, "km": shows, "at": (NOON + timedelta(days=days)).isoformat(),
        }).raise_for_status()  # fmt: skip
    assert km_of(client, parts["chain"]) == 500
    [path, _] = [link for link in browser.open(f"/builds/{on}/ride").links() if "/odometer/" in link]
    moved = send(browser, path, {"km": "1100"})
    assert "The reading is corrected" in moved.main
    assert km_of(client, parts["chain"]) == 100
    falls = send(browser, path, {"km": "900"}, status=400)
    assert falls.text_of("p", id="km-mistake")
    assert "The reading is removed" in send(browser, path, {"do": "remove"}).main
    assert km_of(client, parts["chain"]) == 0


def test_a_dry_ride_asks_for_nothing_and_a_gritty_one_for_what_one_tap_logs(
    browser: Browser, client: httpx.Client, service: Served
) -> None:
    on, parts = bicycle(client, service)
    dry = send(browser, f"/builds/{on}/ride", {"km": "20"})
    assert "After this ride" not in dry.main
    assert f"/builds/{on}/trouble?stage=riding" in dry.links()
    gritty = send(browser, f"/builds/{on}/ride", {"km": "20", "conditions": "gritty"})
    assert "Dry and oil after a wet ride" in gritty.main
    assert "1.5 mm of lining" in gritty.main
    left = browser.send(gritty.form(f"/builds/{on}/log", task="brake-pads.look"))
    assert "After this ride" in left.main
    assert "1.5 mm of lining" not in left.main
    [look] = got(client, "/maintenance-events", part=parts["brake-pads"])["items"]
    assert (look["kind"], look["found"], look["tasks"]) == ("inspected", "fine", ["brake-pads.look"])
    done = browser.send(left.form(f"/builds/{on}/log", task="whole-bicycle.after-wet"))
    assert "After this ride" not in done.main


def test_the_api_tells_what_a_ride_asks_for(client: httpx.Client, service: Served) -> None:
    on, parts = bicycle(client, service)
    wet = ride(client, on, 20, "2026-05-09", conditions="gritty")
    items = got(client, f"/rides/{wet['id']}/prompt")["items"]
    assert [(each["task"], each["part"]) for each in items] == [
        ("whole-bicycle.after-wet", None), ("brake-pads.look", parts["brake-pads"]),
    ]  # fmt: skip
    assert got(client, f"/rides/{ride(client, on, 20, '2026-05-08')['id']}/prompt")["items"] == []


def test_a_chain_gauge_is_two_taps_and_another_gauge_is_typed(
    browser: Browser, client: httpx.Client, service: Served
) -> None:
    on, parts = bicycle(client, service)
    path, to = f"/builds/{on}/log?part={parts['chain']}", f"/builds/{on}/log"
    send(browser, path, {"marks.wear.gauge_step": "0.5:0.75"}, to)
    send(browser, path, {"marks.wear.gauge_step": "1:"}, to)
    send(browser, path, {"low.wear.gauge_step": "0,6", "high.wear.gauge_step": "0.8"}, to)
    send(browser, path, {"high.wear.elongation_percent": "0.3", "tool.wear.elongation_percent": "rule"}, to)
    items = got(client, "/wear-measurements", part=parts["chain"])["items"]
    brackets = [(each["low"], each["high"]) for each in items if each["dimension"] == "gauge_step"]
    assert brackets == [(0.6, 0.8), (1, None), (0.5, 0.75)]
    [rule] = [each for each in items if each["dimension"] == "elongation_percent"]
    assert (rule["low"], rule["high"]) == (0, 0.3)
    both = send(
        browser, path, {"wear.elongation_percent": "0.3", "low.wear.elongation_percent": "0.25"}, to, status=422
    )
    assert "given twice" in both.main
    other = send(
        browser, path, {"low.wear.elongation_percent": "0.8", "high.wear.elongation_percent": "0.5"}, to, status=422
    )
    assert "Is above high" in other.text_of("p", id="wear.elongation_percent-mistake")


def test_an_unlikely_reading_is_asked_for_again_at_its_field_and_kept_when_right(
    browser: Browser, client: httpx.Client, service: Served
) -> None:
    on, parts = bicycle(client, service)
    path, to, name = f"/builds/{on}/log?part={parts['brake-pads']}", f"/builds/{on}/log", "wear.lining_mm.inner"
    asked = send(browser, path, {name: "18", "wear.lining_mm.outer": "1.8"}, to, status=409)
    assert "18 mm is more than new" in asked.text_of("p", id=f"{name}-mistake")
    assert "sure" not in asked.text_of("p", id=f"{name}-mistake")
    assert asked.form(to).fields["wear.lining_mm.outer"] == ["1.8"]
    assert got(client, "/wear-measurements", part=parts["brake-pads"])["items"] == []
    browser.send(asked.form(to), {f"{name}.sure": "yes"})
    items = got(client, "/wear-measurements", part=parts["brake-pads"])["items"]
    assert sorted((each["place"], each["low"]) for each in items) == [("inner", 18), ("outer", 1.8)]


def test_an_own_rule_is_set_shown_on_the_pages_of_the_build_and_dropped(
    browser: Browser, client: httpx.Client, service: Served
) -> None:
    on, parts = bicycle(client, service)
    [path] = [
        link for link in browser.open(f"/builds/{on}/due").links() if "/rule?" in link and "brake-pads.look" in link
    ]
    page = browser.open(path)
    assert "every 500 km or 30 days" in page.main
    assert "matter of safety" in page.main
    bare = send(browser, path, {"off": "yes"}, status=422)
    assert "needs a reason" in bare.text_of("p", id="reason-mistake")
    send(browser, path, {"km": "900", "reason": "Only dry roads."})
    assert "900 km instead of 500" in browser.open(f"/builds/{on}").main
    assert browser.open(path).form(f"/builds/{on}/rule").fields["km"] == ["900"]
    send(browser, path, {"off": "yes", "km": "", "reason": "A shop looks."})
    assert "Lining, front: switched off: A shop looks." in browser.open(f"/builds/{on}").main
    started = client.post("/api/v1/checklists", json={"build": on, "job": "service", "task": "whole-bicycle.monthly"})
    if started.status_code == 201:
        job = started.json()["id"]
        assert "switched off: A shop looks." in browser.open(f"/checklists/{job}/list").main
    send(browser, path, {"do": "drop"})
    assert "switched off" not in browser.open(f"/builds/{on}").main
    strange = browser.client.get(f"/builds/{on}/rule?part={parts['chain']}&task=brake-pads.look")
    assert strange.status_code == 404


def test_safety_is_put_off_with_a_reason_for_thirty_days_and_every_page_says_so(
    browser: Browser, client: httpx.Client, service: Served
) -> None:
    on, parts = bicycle(client, service)
    path, to = f"/builds/{on}/put-off?part={parts['brake-pads']}&task=brake-pads.look", f"/builds/{on}/put-off"
    bare = send(browser, path, {"until_on": "2026-05-20"}, to, status=400)
    assert "say why" in bare.text_of("p", id="reason-mistake")
    far = send(browser, path, {"until_on": "2026-06-20", "reason": "Ordered."}, to, status=400)
    assert "no later than" in far.text_of("p", id="until_on-mistake")
    send(browser, path, {"until_on": "2026-06-01", "reason": "Ordered."}, to)
    assert "put off until 1 June: Ordered." in browser.open(f"/builds/{on}").main


def test_a_swap_on_the_way_is_two_rides_and_each_part_gets_its_kilometres(
    browser: Browser, client: httpx.Client, service: Served
) -> None:
    on, parts = bicycle(client, service)
    form = {"day": "2026-05-08", "conditions": "dry"}
    send(browser, f"/builds/{on}/ride", form | {"km": "30", "time": "09:00"})
    send(browser, f"/builds/{on}/ride", form | {"km": "45", "time": "13.15"})
    wrong = send(browser, f"/parts/{parts['chain']}/swap", {"day": "2026-05-08", "time": "noon"}, status=422)
    assert "such as 14:30" in wrong.text_of("p", id="time-mistake")
    send(browser, f"/parts/{parts['chain']}/swap", {"day": "2026-05-08", "time": "11:30", "why_removed": "It broke."})
    assert km_of(client, parts["chain"]) == 30
    [new] = [each for each in got(client, "/parts", category="chain")["items"] if each["id"] != parts["chain"]]
    assert km_of(client, new["id"]) == 45
    send(browser, f"/parts/{new['id']}/take-off", {"day": "2026-05-08", "time": "13:00", "why_removed": "Wrong one."})
    assert km_of(client, new["id"]) == 0
