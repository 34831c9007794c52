"""The pages of what is computed: gears, tyre room, cost and mass, position; each chart has its words and its table."""

import re
from typing import Any

import httpx
import pytest

from tests.api.words import NOON, build, fit, got, made, part, plan, specs
from tests.conftest import Served
from tests.web.browser import Browser, Page

pytestmark = pytest.mark.parametrize("database", ["sqlite"], indirect=True)
PAGES = ("gears", "room", "worth", "position")


def euros(minor: int) -> dict[str, Any]:
    """An amount as it is sent."""
    return {"minor": minor, "currency": "EUR"}


def furnished(client: httpx.Client) -> str:
    """A build with its drive, frame, bar, saddle and a front tyre."""
    on = build(client, "Grey all-road")
    frame = specs(
        chainstay_mm=430, stack_mm=580, reach_mm=380, head_angle_deg=72, seat_angle_deg=73, seat_tube_length_mm=500,
        head_tube_length_mm=150, gap_tyre_width_mm=38, gap_side_mm=9, gap_crown_mm=12,
    )  # fmt: skip
    fit(client, on, part(client, "frame", "Grey frame", specs=frame, mass_weighed_g=2010.0, price=euros(12000)))
    fork = specs(gap_tyre_width_mm=38, gap_side_mm=4, gap_crown_mm=6, steerer_material="steel")
    fit(client, on, part(client, "fork", specs=fork, mass_claimed_g=850.0))
    fit(client, on, part(client, "headset", specs=specs(stack_upper_mm=15, stack_lower_mm=12)))
    fit(client, on, part(client, "spacers", specs=specs(height_mm=20)))
    fit(client, on, part(client, "stem", specs=specs(length_mm=90, angle_deg=-6, clamp_height_mm=40)))
    fit(client, on, part(client, "handlebar", specs=specs(rise_mm=20)))
    fit(client, on, part(client, "seatpost", specs=specs(exposed_mm=150, setback_mm=20)))
    fit(client, on, part(client, "saddle", specs=specs(height_mm=45)))
    crankset = part(client, "crankset", specs=specs(arm_length_mm=170, rings_count=2))
    fit(client, on, crankset)
    for place, teeth in (("inner", 34), ("outer", 50)):
        ring = part(client, "chainring", f"Ring {teeth}", specs=specs(ring_teeth=teeth))
        fit(client, on, ring, place, into_part=crankset)
    tyre = specs(bsd_mm=622, width_marked_mm=40, pressure_max_kpa=400, pressure_planned_kpa=390)
    for place in ("front", "rear"):
        fit(client, on, part(client, "tyre", f"Tyre 40-622 {place}", specs=tyre), place)
    tree = got(client, f"/builds/{on}")["parts"]
    wheel = next(each["part"] for each in tree if each["slot"] == "wheel" and each["place"] == "rear")
    pile = [11.0, 12.0, 13.0, 15.0, 17.0, 19.0, 22.0, 25.0, 28.0, 34.0]
    cassette = specs(sprockets_teeth=pile, smallest_teeth=11, largest_teeth=34, sprockets_count=10)
    fit(client, on, part(client, "cassette", specs=cassette, mass_weighed_g=350.0), into_part=wheel)
    fit(client, on, part(client, "rear-derailleur", specs=specs(capacity_teeth=33, largest_max_teeth=34)), "rear")
    plan(client, on, part(client, "chain", state="planned", specs=specs(links_count=104), price=euros(2500)))
    return on


def page_of(browser: Browser, on: str, name: str, **query: str) -> Page:
    return browser.open(f"/builds/{on}/{name}?{httpx.QueryParams(query)}")


def test_the_build_tells_each_in_a_line_and_leads_to_it(browser: Browser, client: httpx.Client) -> None:
    on = furnished(client)
    shown = browser.open(f"/builds/{on}")
    assert [f"/builds/{on}/{name}" for name in PAGES if f"/builds/{on}/{name}" not in shown.links()] == []
    assert "20 gears, 2.21 to 10.02 m a turn; a derailleur takes less than that" in shown.main
    assert "front narrow, up to 34 mm; rear enough, up to 44 mm" in shown.main
    assert "kg without" in shown.main


def test_gears_are_a_chart_with_every_figure_in_a_table_beside_it(browser: Browser, client: httpx.Client) -> None:
    on = furnished(client)
    shown = page_of(browser, on, "gears", cadence="60")
    [picture] = shown.all("svg")
    assert picture.attributes["role"] == "img"
    named = picture.attributes["aria-labelledby"].split()
    assert [
        each.attributes["id"] for tag in ("title", "desc") for each in shown.all(tag, id=named[tag == "desc"])
    ] == named
    rows = [" ".join(each.text.split()) for each in shown.all("tr")]
    assert any(row.startswith("50 × 34 crossed") for row in rows)
    assert any(row.startswith("34 × 34") and "2.21" in row for row in rows)
    assert "not enough" in shown.main  # 39 teeth to take up, 33 taken
    assert "2 too few" in shown.main or "too few" in shown.main
    assert "a chain that is too short" in shown.main.lower()


@pytest.mark.parametrize(
    ("query", "words"), [({"cadence": "0"}, "from 1 to 300"), ({"circumference": "wide"}, "number")]
)
def test_a_cadence_that_cannot_be_is_refused_beside_its_field(
    browser: Browser, client: httpx.Client, query: dict[str, str], words: str
) -> None:
    shown = browser.open(f"/builds/{furnished(client)}/gears?{httpx.QueryParams(query)}", 422)
    assert words in shown.main
    assert any("mistake" in each.attributes.get("class", "") for each in shown.all("p"))


def test_tyre_room_says_what_is_narrow_and_what_is_not_known(browser: Browser, client: httpx.Client) -> None:
    shown = page_of(browser, furnished(client), "room")
    assert "narrow" in shown.main
    assert "34 mm on this rim" in shown.main
    assert len(shown.all("svg")) == 2
    assert "close under the limit" in shown.main
    assert "Enter it" in shown.main


def test_cost_and_mass_name_what_they_leave_out(browser: Browser, client: httpx.Client, service: Served) -> None:
    service.now = NOON
    on = furnished(client)
    shown = page_of(browser, on, "worth")
    assert "145.00" in shown.main
    told = [" ".join(each.text.split()) for each in shown.all("summary")]
    assert any(words.startswith("Not in the sum: ") and words.endswith("parts without a price") for words in told)
    assert any(words.startswith("Not in the sum: ") and words.endswith("parts without a mass") for words in told)
    assert "Ring 50" in shown.main
    kept = browser.send(shown.form(f"/builds/{on}/expenses"), {"kind": "shop", "amount": "30,50", "note": "Facing."})
    assert "Facing." in kept.main
    assert "175.50" in kept.main
    compared = browser.send(kept.form(f"/builds/{on}/compare-price"), {"compare_price": "900"})
    assert "724.50" in compared.main
    assert "dearer" in compared.main
    assert got(client, f"/builds/{on}/cost")["compare_minor"] == 90000


def test_a_sum_that_rests_on_nothing_is_not_shown(browser: Browser, client: httpx.Client) -> None:
    on = build(client, "Bare")
    fit(client, on, part(client, "frame"))
    shown = page_of(browser, on, "worth")
    assert "no part has a price yet" in shown.main
    assert "no part has a mass yet" in shown.main
    assert shown.all("svg") == []
    for page in (shown.main, browser.open(f"/builds/{on}").main, browser.open(f"/builds/{on}/plan").main):
        assert "EUR" not in page.replace("How much EUR", "").replace("none EUR", "")
        assert re.search(r"\b0\skg", page) is None
    assert "cost not known: no part has a price yet; mass not known" in browser.open(f"/builds/{on}").main
    cost, mass = got(client, f"/builds/{on}/cost"), got(client, f"/builds/{on}/mass")
    assert (cost["total_minor"], cost["paid_minor"], cost["as_new_minor"]) == (None, None, None)
    assert (mass["sum_g"], mass["weighed_g"], mass["claimed_g"]) == (None, None, None)
    assert [each["field"] for each in (*cost["not_known"], *mass["not_known"])] == ["price", "mass_weighed_g"]


def test_an_amount_that_is_none_is_refused_and_stays_in_its_field(browser: Browser, client: httpx.Client) -> None:
    on = furnished(client)
    form = page_of(browser, on, "worth").form(f"/builds/{on}/expenses")
    refused = browser.send(form, {"kind": "shop", "amount": "thirty"}, status=422)
    assert "should be an amount such as 12.50" in refused.main
    assert refused.form(f"/builds/{on}/expenses").fields["amount"] == ["thirty"]
    assert got(client, f"/builds/{on}/expenses")["items"] == []


def test_the_position_is_drawn_reached_written_down_and_compared(browser: Browser, client: httpx.Client) -> None:
    on = furnished(client)
    shown = page_of(browser, on, "position", forward_mm="450", up_mm="640", inseam_mm="820")
    assert "steerer length wanted" in shown.main  # before anything is cut
    assert "bar " in shown.text_of("desc")
    assert "724 mm" in shown.main
    assert "Stems that come nearest" in shown.main
    form = shown.form(f"/builds/{on}/set-ups")
    browser.send(form, {"saddle_height_mm": "720", "note": "First"})
    made(client, f"/builds/{on}/set-ups", saddle_height_mm=728, at="2027-01-01T10:00:00Z")
    first, second = (each["id"] for each in reversed(got(client, f"/builds/{on}/set-ups")["items"]))
    compared = page_of(browser, on, "position", first=first, second=second)
    assert "+8" in compared.main
    empty = browser.send(compared.form(f"/builds/{on}/set-ups"), status=422)
    assert "one figure" in empty.main


def test_half_a_target_is_refused(browser: Browser, client: httpx.Client) -> None:
    shown = browser.open(f"/builds/{build(client)}/position?forward_mm=450", 422)
    assert "Is needed too" in shown.main


@pytest.mark.parametrize("name", PAGES)
def test_an_empty_build_has_each_page_and_says_what_is_wanted(
    browser: Browser, client: httpx.Client, name: str
) -> None:
    shown = page_of(browser, build(client), name)
    assert shown.status == 200
    assert "not known" in shown.main.lower() or name == "worth"
