"""The plan on one page, two side by side, the shopping list, what if, the parts that would fit: without scripts."""

import re

import httpx
import pytest

from service.domain.procedure import Library
from tests.api.words import build, fit, got, part, plan, specs
from tests.planned_bicycle import NOT_MEASURED, PRICES, WITHOUT_PRICE, Planned
from tests.web.browser import Browser, Page

pytestmark = pytest.mark.parametrize("database", ["sqlite"], indirect=True)
NARROW = "\N{NARROW NO-BREAK SPACE}"


@pytest.fixture
def planned(client: httpx.Client, library: Library) -> Planned:
    """The bicycle, stored."""
    return Planned(client, library)


def plain(page: Page) -> str:
    """What the page says, with plain spaces."""
    return page.main.replace(NARROW, " ")


def test_one_page_tells_what_meets_what_to_measure_what_to_buy_and_what_changes(
    planned: Planned, browser: Browser, library: Library
) -> None:
    said = plain(browser.open(f"/builds/{planned.build}/plan"))
    assert re.search(r"Joins: \d+ needs? care, \d+ are not measured yet, \d+ meet\.", said)
    assert "Not seen at night" in said or "teeth over" in said  # what needs care is told in words
    for key, field in NOT_MEASURED:
        spec = next(each for each in library.categories[key.partition("@")[0]].specs if each.key == field)
        assert f"The {key}: {spec.title.lower()}" in said
        assert " ".join(spec.measure.split()) in said
    assert "552.30 EUR" in said  # by hand, see tests/planned_bicycle.py
    assert "41.00 EUR" in said
    left_out = said.partition("without a price are not in the sum: ")[2].partition("nothing is")[0]
    assert [key for key in PRICES if f"The {key}" in left_out] == [key for key in PRICES if key in WITHOUT_PRICE]
    candidate = said.partition("Closer cassette")[2].partition("Off the plan")[0]
    assert "now needs care then meets" in candidate
    assert "Mass" in candidate
    assert "555.80 EUR instead of 552.30 EUR" in candidate
    assert "instead of 2.49 m" in candidate
    bought = said.partition("What else to buy")[2]
    assert "The seatpost, planned 12.00 EUR" in bought
    assert "sealant, 120 ml" in bought
    assert "Pedals" in said.partition("Nothing chosen yet")[2]


def test_a_candidate_is_chosen_and_taken_off_the_plan_with_a_button(planned: Planned, browser: Browser) -> None:
    path = f"/builds/{planned.build}/plan"
    page = browser.open(path)
    page = browser.send(page.form(path, part=planned.closer), {"do": "choose"})
    assert "The cassette@rear 28.00 EUR candidate" in plain(page)
    assert "Closer cassette 31.50 EUR chosen" in plain(page)
    chosen = {row["part"]: row["chosen"] for row in got(planned.client, f"/builds/{planned.build}/plan")["items"]}
    assert chosen[planned.closer]
    assert not chosen[planned.parts["cassette@rear"]]
    page = browser.send(page.form(path, part=planned.parts["cassette@rear"]), {"do": "drop"})
    assert "The cassette@rear" not in page.main
    assert browser.send(page.form(path, part=planned.closer), {"do": "candidate"}).status == 200
    assert not any(
        row["chosen"] and row["part"] == planned.closer
        for row in got(planned.client, f"/builds/{planned.build}/plan")["items"]
    )


def test_two_candidates_and_two_builds_stand_side_by_side(planned: Planned, browser: Browser) -> None:
    old = planned.parts["cassette@rear"]
    page = browser.open(f"/builds/{planned.build}/compare?one={old}&other={planned.closer}")
    said = plain(page)
    columns = [each.text for each in page.all("th", scope="col")]
    assert columns[:3] == ["What", "The cassette@rear", "Closer cassette"]
    cells = [" ".join(each.text.split()).replace(NARROW, " ") for each in page.all("td")]
    assert [each[:10] for each in cells if each.startswith("55")] == ["552.30 EUR", "555.80 EUR"]
    assert "needs care" in said.partition("Joins that answer otherwise")[2]
    assert "Of both" in said
    assert said.partition("Of both")[2].count("Hub, width over") == 1
    other = build(planned.client, "Blue one")
    page = browser.open(f"/builds/{planned.build}/compare")
    assert "Closer cassette" in page.main
    answer = browser.open(f"/builds/{planned.build}/compare?beside={other}")
    assert [each.text for each in answer.all("th", scope="col")][:3] == ["What", "Planned bicycle", "Blue one"]


def test_a_shopping_list_is_there_to_print(planned: Planned, browser: Browser) -> None:
    said = plain(browser.open(f"/builds/{planned.build}/shopping"))
    assert "Together: 41.00 EUR" in said
    for heading in ("Small parts that come with them", "Used up", "Tools", "By visit to a shop", "Bring:"):
        assert heading in said
    assert "No tool is on your bench's list" in said


def test_what_if_is_asked_of_a_form_and_mistakes_stand_beside_the_field(browser: Browser, client: httpx.Client) -> None:
    on = build(client)
    fit(client, on, part(client, "frame", "Frame", specs=specs(seatpost_mm=27.2)))
    plan(client, on, part(client, "seatpost", "Short post", specs=specs(diameter_mm=27.2)))
    page = browser.open(f"/builds/{on}/what-if?category=seatpost")
    form = page.form(f"/builds/{on}/what-if")
    answer = browser.send(form, {"name": "Thick post", "specs.diameter_mm": "31.6", "price": "35.50"})
    said = plain(answer)
    assert "Thick post, in place of Short post. Nothing is stored." in said
    assert "now meets then conflicts" in said
    assert "35.50 EUR" in said
    assert len(got(client, "/parts")["items"]) == 2
    wrong = browser.send(form, {"specs.diameter_mm": "thick", "price": "35.50"}, status=422)
    assert "number" in wrong.text_of("p", id="specs.diameter_mm-mistake")


def test_parts_in_the_bin_are_found_by_fact_and_by_where_they_would_fit(browser: Browser, client: httpx.Client) -> None:
    on = build(client)
    fit(client, on, part(client, "frame", "Frame", specs=specs(seatpost_mm=27.2)))
    for name, size in (("Thin post", 27.2), ("Thick post", 31.6)):
        part(client, "seatpost", name, specs=specs(diameter_mm=size))
    page = browser.open("/parts?category=seatpost&field=diameter_mm&worth=27,2")
    assert "Thin post" in page.main
    assert "Thick post" not in page.main
    page = browser.open(f"/parts?category=seatpost&build={on}")
    assert page.main.index("Thin post") < page.main.index("Conflicts") < page.main.index("Thick post")
    assert "Measure:" in page.main
    levers = browser.open(f"/parts?category=brake-lever&build={on}")
    assert "Choose the place" in levers.main
    refused = browser.open("/parts?category=seatpost&field=diameter_mm&worth=thin", status=400)
    assert "a number" in refused.main


def test_a_choice_that_another_kind_of_part_stands_against_is_refused_on_the_page(
    browser: Browser, client: httpx.Client
) -> None:
    on = build(client)
    plan(client, on, part(client, "brake-lever", "Plain lever", specs=specs(works_brake="front")), "left")
    both = part(client, "combined-lever", "Double lever", specs=specs(works_brake="front", works_gear="front"))
    plan(client, on, both, "left", chosen=False)
    path = f"/builds/{on}/plan"
    page = browser.send(browser.open(path).form(path, part=both), {"do": "choose"}, status=409)
    assert "Two parts would be chosen for one place" in page.main


def test_a_part_is_planned_as_a_candidate_only(browser: Browser, client: httpx.Client) -> None:
    on = build(client)
    plan(client, on, part(client, "saddle", "First saddle"))
    other = part(client, "saddle", "Second saddle")
    page = browser.open(f"/builds/{on}/fit?slot=saddle&part={other}")
    seen = browser.send(page.form(f"/builds/{on}/fit"), {"part": other, "do": "candidate"})
    assert "First saddle chosen Second saddle candidate" in plain(seen)
    assert {row["part"]: row["chosen"] for row in got(client, f"/builds/{on}/plan")["items"]}[other] is False
