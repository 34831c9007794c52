"""What cannot be: the same form again with what was typed, the mistake beside its field, and nothing stored."""

from datetime import timedelta

import httpx
import pytest

from tests.api.words import NOON, build, fit, got, part, start
from tests.conftest import Served
from tests.web.browser import Browser, Page

pytestmark = pytest.mark.parametrize("database", ["sqlite"], indirect=True)  # forms are read before any database


def mistake(page: Page, name: str) -> str:
    """What is said beside a field."""
    text = page.text_of("p", id=f"{name}-mistake")
    return text[:1].lower() + text[1:]


@pytest.mark.parametrize(
    ("km", "status", "says"),
    [
        ("twenty", 422, "should be a number such as 12.5, not 'twenty'"),
        ("NaN", 422, "should be a number"),
        ("inf", 422, "should be a number"),
        ("-5", 422, "should be more than 0"),
        ("", 422, "is needed"),
        ("1,240", 422, "could be 1240 or 1.240"),
        ("41000", 422, "should be at most 40075"),  # WGS 84: the equator is 40,075 km long
        ("2500", 409, "more than 2,000 km in a day is unlikely"),  # common practice, no source
    ],
)
def test_an_absurd_distance_is_shown_again_with_what_would_be_right(
    browser: Browser, client: httpx.Client, km: str, status: int, says: str
) -> None:
    on = build(client)
    form = browser.open(f"/builds/{on}/ride").form(f"/builds/{on}/ride")
    page = browser.send(form, {"km": km, "conditions": "gritty", "note": "to the sea"}, status=status)
    assert says in mistake(page, "km")
    again = page.form(f"/builds/{on}/ride")
    assert (again.fields["km"], again.fields["conditions"], again.fields["note"]) == ([km], ["gritty"], ["to the sea"])
    assert got(client, "/rides", build=on)["items"] == []


def test_an_unlikely_distance_is_taken_once_it_is_ticked_as_right(browser: Browser, client: httpx.Client) -> None:
    on = build(client)
    form = browser.open(f"/builds/{on}/ride").form(f"/builds/{on}/ride")
    asked = browser.send(form, {"km": "2500"}, status=409)
    assert "sure" not in asked.text_of("div", role="alert")  # a word of the API, not of a page
    browser.send(asked.form(f"/builds/{on}/ride"), {"km.sure": "yes"})
    assert got(client, "/rides", build=on)["items"][0]["km"] == 2500


def test_a_ride_in_the_far_future_is_refused_beside_its_day(browser: Browser, client: httpx.Client) -> None:
    on = build(client)
    form = browser.open(f"/builds/{on}/ride").form(f"/builds/{on}/ride")
    page = browser.send(form, {"km": "10", "day": "2199-01-01"}, status=400)
    assert "has not come yet" in page.text_of("div", role="alert")
    assert page.form(f"/builds/{on}/ride").fields["day"] == ["2199-01-01"]


def test_every_mistake_in_the_facts_of_a_part_is_said_at_once(browser: Browser, client: httpx.Client) -> None:
    form = browser.open("/parts/new?category=fork").form("/parts/new")
    typed = {"name": "Steel fork", "specs.steerer_mm": "thick", "specs.steerer_length_mm": "1,200", "price": "a lot"}
    page = browser.send(form, {**typed, "price": "12,50", "specs.steerer_kind": "threadless"}, status=422)
    assert "should be a number such as 12.5" in mistake(page, "specs.steerer_mm")
    assert "could be 1200 or 1.200" in mistake(page, "specs.steerer_length_mm")
    listed = page.text_of("div", role="alert")
    assert "Steerer diameter at the stem should be a number" in listed
    assert "Steerer length: could be 1200 or 1.200" in listed
    again = page.form("/parts/new").fields
    assert (again["name"], again["specs.steerer_mm"], again["price"]) == (["Steel fork"], ["thick"], ["12,50"])
    assert again["specs.steerer_kind"] == ["threadless"]
    assert again["id"] == form.fields["id"]
    assert got(client, "/parts")["items"] == []


def test_an_unlikely_fact_is_asked_for_and_taken_once_ticked(browser: Browser, client: httpx.Client) -> None:
    form = browser.open("/parts/new?category=fork").form("/parts/new")
    asked = browser.send(form, {"name": "Odd fork", "specs.steerer_length_mm": "900"}, status=409)
    assert "is usually 80 to 400 mm" in mistake(asked, "specs.steerer_length_mm")
    page = browser.send(asked.form("/parts/new"), {"specs.steerer_length_mm.sure": "yes"})
    assert "900 mm" in page.main
    # a fact that is known already is not asked for again
    part_id = got(client, "/parts")["items"][0]["id"]
    kept = browser.send(browser.open(f"/parts/{part_id}/facts").form(f"/parts/{part_id}/facts"), {"note": "seen"})
    assert "seen" in kept.main


def test_a_fact_is_changed_and_taken_back_in_the_same_form(browser: Browser, client: httpx.Client) -> None:
    chain = part(client, "chain", specs={"links_count": {"number": 114}, "outer_mm": {"number": 5.6}})
    form = browser.open(f"/parts/{chain}/facts").form(f"/parts/{chain}/facts")
    name = "specs.links_count"
    assert form.fields[name] == ["114"]
    browser.send(form, {name: "", "specs.outer_mm": "5,5", "specs.outer_mm.known_by": "printed", "tag": "B7"})
    shown = got(client, f"/parts/{chain}")
    assert "links_count" not in shown["specs"]
    assert (shown["specs"]["outer_mm"]["number"], shown["specs"]["outer_mm"]["known_by"]) == (5.5, "printed")
    assert shown["tag"] == "B7"


def test_a_form_that_was_overtaken_is_shown_again_and_stores_nothing(browser: Browser, client: httpx.Client) -> None:
    on = build(client, "First name")
    stale = browser.open(f"/builds/{on}/change").form(f"/builds/{on}/change")
    fresh = browser.open(f"/builds/{on}/change").form(f"/builds/{on}/change")
    browser.send(fresh, {"name": "Second name"})
    page = browser.send(stale, {"name": "Third name"}, status=412)
    assert page.form(f"/builds/{on}/change").fields["name"] == ["Third name"]
    assert got(client, f"/builds/{on}")["name"] == "Second name"
    browser.send(page.form(f"/builds/{on}/change"))  # now that both were seen, it may be kept
    assert got(client, f"/builds/{on}")["name"] == "Third name"


def test_a_form_sent_twice_stores_once_and_other_content_under_its_id_is_refused(
    browser: Browser, client: httpx.Client
) -> None:
    form = browser.open("/").form("/builds")
    first = browser.send(form, {"name": "Once"})
    second = browser.send(form, {"name": "Once"})
    assert first.path == second.path
    other = browser.send(form, {"name": "Other"}, status=409)
    assert other.form("/builds").fields["id"] != form.fields["id"]  # the used id would be refused for ever
    browser.send(other.form("/builds"))
    assert sorted(each["name"] for each in got(client, "/builds")["items"]) == ["Once", "Other"]


def test_a_place_that_is_taken_is_said_beside_the_places(browser: Browser, client: httpx.Client) -> None:
    on = build(client)
    fit(client, on, part(client, "chain", "Old chain"))
    part(client, "chain", "New chain")
    form = browser.open(f"/builds/{on}/fit?slot=chain").form(f"/builds/{on}/fit")
    new = next(each["id"] for each in got(client, "/parts", in_bin=True)["items"])
    page = browser.send(form, {"part": new, "where": "|", "do": "fit"}, status=409)
    assert "is taken by Old chain" in page.text_of("div", role="alert")
    assert page.form(f"/builds/{on}/fit").fields["part"] == [new]


def test_nothing_chosen_is_said(browser: Browser, client: httpx.Client) -> None:
    on = build(client)
    part(client, "chain")
    form = browser.open(f"/builds/{on}/fit?slot=chain").form(f"/builds/{on}/fit")
    assert "should be one of these" in mistake(browser.send(form, status=422), "part")


def test_a_removal_before_the_fitting_is_refused(browser: Browser, client: httpx.Client, service: Served) -> None:
    service.now = NOON
    on, chain = build(client), part(client, "chain")
    fit(client, on, chain, at=NOON.isoformat())
    service.now = NOON + timedelta(days=1)
    form = browser.open(f"/parts/{chain}/take-off").form(f"/parts/{chain}/take-off")
    page = browser.send(form, {"day": "2026-05-01", "why_removed": "worn"}, status=400)
    assert "is not after the fitting" in page.text_of("div", role="alert")
    assert page.form(f"/parts/{chain}/take-off").fields["why_removed"] == ["worn"]


def test_a_tick_for_parts_that_have_changed_shows_the_step_again(browser: Browser, client: httpx.Client) -> None:
    on = build(client)
    chain = part(client, "chain", "First chain")
    fitting = fit(client, on, chain)["id"]
    job = start(client, on)["id"]
    form = browser.open(f"/checklists/{job}?step=chain.join").form(f"/checklists/{job}/mark")
    client.delete(f"/api/v1/fittings/{fitting}")
    fit(client, on, part(client, "chain", "Second chain"))
    page = browser.send(form, {"note": "with a new link"}, status=409)
    assert "have changed" in page.text_of("div", role="alert")
    again = page.form(f"/checklists/{job}/mark")
    assert again.fields["note"] == ["with a new link"]
    assert again.fields["fingerprint"] != form.fields["fingerprint"]
    browser.send(again, {"state": "done"})


def test_unknown_names_in_addresses_are_answered_with_what_there_is(browser: Browser, client: httpx.Client) -> None:
    on, chain = build(client), part(client, "chain")
    fit(client, on, chain)
    job = start(client, on)["id"]
    for path, status in {
        f"/builds/{on}/fit?slot=propeller": 400,
        "/parts?category=propeller": 400,
        f"/checklists/{job}?step=chain.fly": 404,
        "/?after=rubbish": 422,
        "/parts?after=rubbish": 422,
        "/builds/rubbish": 422,
    }.items():
        assert browser.open(path, status).all("h1"), path


def test_an_unlikely_torque_is_taken_once_it_is_ticked_as_right(browser: Browser, client: httpx.Client) -> None:
    stem = part(client, "stem")
    path = f"/parts/{stem}/torque"
    form = browser.open(f"/parts/{stem}").form(path)
    asked = browser.send(form, {"fastening": "stem.steerer-clamp", "high_nm": "50"}, status=409)
    assert "50 N·m is unlikely" in mistake(asked, "high_nm")
    assert "sure" not in asked.text_of("div", role="alert")
    browser.send(asked.form(path), {"high_nm.sure": "yes"})
    assert got(client, f"/parts/{stem}")["torque_figures"]["stem.steerer-clamp"]["high_nm"] == 50


def test_a_left_hand_cup_that_may_not_be_one_says_so_before_its_figure(browser: Browser, client: httpx.Client) -> None:
    on, cups = build(client), part(client, "bottom-bracket", specs={"kind": {"words": "cartridge"}})
    fit(client, on, part(client, "frame"))
    fit(client, on, cups)
    job = start(client, on)["id"]
    page = browser.open(f"/checklists/{job}?step=bottom-bracket.fit-cartridge").source
    says = page.index("Only if &#34;Shell it fits&#34; is threaded english or threaded english 26 or")
    assert says < page.index("left-hand thread: tightens anticlockwise")
    assert page.index('class="nm') < says < page.index('class="figure"')
    assert f'href="/parts/{cups}/facts#specs.shell"' in page
