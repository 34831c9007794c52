"""The whole job through forms alone: a build, ten parts, the stand, a ride, the log, what is due."""

import re
from datetime import timedelta

import httpx

from tests.api.words import NOON, got, ride
from tests.conftest import Served
from tests.web.browser import Browser, Page

TEN_PARTS: dict[str, dict[str, str]] = {
    "frame": {"specs.material": "steel", "specs.bb_shell": "threaded_english", "specs.spacing_mm": "135,0"},
    "fork": {"specs.steerer_kind": "threadless", "specs.steerer_mm": "28,6"},
    "bottom-bracket": {"specs.shell": "threaded_english"},
    "crankset": {"specs.rings_count": "1"},
    "cassette": {"origin": "second-hand", "specs.sprockets_count": "11"},
    "chain": {"specs.sprockets_for_count": "11", "specs.links_count": "114"},
    "tyre": {"specs.bsd_mm": "622", "specs.width_marked_mm": "40"},
    "brake-lever": {"specs.works_brake": "front"},
    "stem": {"specs.steerer_clamp_mm": "28.6", "specs.bar_clamp_mm": "31.8"},
    "saddle": {"origin": "second-hand", "km_before": "1 500"},
}
AT = {"cassette": "rear", "tyre": "front", "brake-lever": "right"}
JOIN = "chain.join"


def add_build(browser: Browser, name: str = "Grey all-road") -> str:
    """A build's id, added on the first page."""
    page = browser.send(browser.open("/").form("/builds"), {"name": name})
    return page.path.rpartition("/")[2]


def plan_part(browser: Browser, build: str, category: str, facts: dict[str, str]) -> Page:
    """A new part, added from the build's page and planned there; the page of the build."""
    fit = browser.open(f"/builds/{build}/fit?slot={category}&at={AT.get(category, '')}")
    [add] = [link for link in fit.links() if link.startswith("/parts/new")]
    chosen = browser.send(browser.open(add).form("/parts/new"), {"name": f"My {category}", **facts})
    assert chosen.path.startswith(f"/builds/{build}/fit")
    return browser.send(chosen.form(f"/builds/{build}/fit"), {"do": "plan"})


def planned(browser: Browser) -> str:
    """A build with ten parts planned."""
    build = add_build(browser)
    for category, facts in TEN_PARTS.items():
        page = plan_part(browser, build, category, facts)
        assert f"My {category}" in page.main
    return build


def start_assembling(browser: Browser, build: str) -> str:
    """The id of the job."""
    page = browser.send(browser.open(f"/builds/{build}").form(f"/builds/{build}/jobs", job="assemble"))
    assert page.text_of("h1") == "Assemble"
    return page.path.split("/")[2]


def test_ten_parts_are_planned_through_forms_with_decimal_commas(browser: Browser, client: httpx.Client) -> None:
    build = planned(browser)
    page = browser.open(f"/builds/{build}")
    assert page.main.count("planned") >= len(TEN_PARTS)
    parts = {each["category"]: each["id"] for each in got(client, "/parts")["items"]}
    assert set(TEN_PARTS) <= set(parts)
    fork = got(client, f"/parts/{parts['fork']}")
    assert fork["specs"]["steerer_mm"] == {
        **{"number": 28.6, "words": None, "numbers": None, "choices": None}, "known_by": "measured", "note": ""
    }  # fmt: skip
    assert got(client, f"/parts/{parts['saddle']}")["km_before"] == 1500


def test_ticking_at_the_stand_fits_what_was_planned(browser: Browser, client: httpx.Client, service: Served) -> None:
    service.now = NOON
    build = planned(browser)
    job = start_assembling(browser, build)
    chain = next(each["id"] for each in got(client, "/parts", category="chain")["items"])
    assert got(client, f"/parts/{chain}")["on"] is None
    stand = browser.open(f"/checklists/{job}?step={JOIN}")
    form = stand.form(f"/checklists/{job}/mark")
    after = browser.send(form, {"state": "done"})
    assert f"done={JOIN}" in after.path
    assert "Done: " in after.main
    assert got(client, f"/parts/{chain}")["on"]["build"] == build
    assert "done" in browser.open(f"/checklists/{job}?step={JOIN}").main
    # the same form once more, as a phone with a bad connection sends it: nothing is done twice
    browser.send(form, {"state": "done"})
    fitted = [each for each in got(client, f"/builds/{build}/fittings")["items"] if each["part"] == chain]
    assert len(fitted) == 1
    back = browser.send(after.form(f"/checklists/{job}/unmark"))
    assert back.text_of("span", class_="state") == "not decided yet"  # open again; how it is joined nobody said


def test_skipping_a_safety_step_asks_why_and_finishing_names_the_open_ones(browser: Browser, service: Served) -> None:
    service.now = NOON
    job = start_assembling(browser, planned(browser))
    listed = browser.open(f"/checklists/{job}/list")
    safety = next(
        link for link, row in zip(listed.links(), listed.all("a"), strict=False)
        if "step=" in link and "safety" in row.text and row.attributes.get("class") == "row"
    )  # fmt: skip
    stand = browser.open(safety)
    refused = browser.send(stand.form(f"/checklists/{job}/mark"), {"state": "skipped"}, status=400)
    assert "say why" in refused.text_of("div", role="alert")
    assert refused.text_of("h1") == stand.text_of("h1")
    skipped = browser.send(refused.form(f"/checklists/{job}/mark"), {"state": "skipped", "note": "A shop looks at it"})
    assert "Skipped: " in skipped.main
    unfinished = browser.send(browser.open(f"/checklists/{job}/list").form(f"/checklists/{job}/finish"), status=409)
    assert "Safety steps are open" in unfinished.text_of("div", role="alert")
    assert "mechanic" in unfinished.text_of("div", class_="caution")


def fitted_chain(browser: Browser) -> tuple[str, str]:
    """A build that has a chain on, and the chain."""
    build = add_build(browser)
    for category in ("frame", "chain"):
        fit = browser.open(f"/builds/{build}/fit?slot={category}")
        [add] = [link for link in fit.links() if link.startswith("/parts/new")]
        chosen = browser.send(browser.open(add).form("/parts/new"), {"name": f"My {category}"})
        page = browser.send(chosen.form(f"/builds/{build}/fit"), {"do": "fit"})
    found = re.search(rf"/builds/{build}/log\?part=([0-9a-f-]+)", page.source[page.source.index("My chain") :])
    assert found
    return build, found[1]


def test_a_ride_is_logged_in_three_taps_and_counts_once(
    browser: Browser, client: httpx.Client, service: Served
) -> None:
    service.now = NOON
    build, chain = fitted_chain(browser)
    service.now = NOON + timedelta(days=1)
    form = browser.open(f"/builds/{build}/ride").form(f"/builds/{build}/ride")
    page = browser.send(form, {"km": "42,5", "conditions": "wet"})
    assert "The ride is logged." in page.main
    browser.send(form, {"km": "42,5", "conditions": "wet"})  # sent twice is once
    [logged] = got(client, "/rides", build=build)["items"]
    assert (logged["km"], logged["conditions"], logged["day"]) == (42.5, "wet", "2026-05-05")
    assert got(client, f"/parts/{chain}")["km"]["least"] == 42.5
    last = browser.open(f"/builds/{build}/ride")
    assert "42.5" in last.main
    [correct] = [link for link in last.links() if link.startswith(f"/builds/{build}/rides/")]
    browser.send(browser.open(correct).form(correct), {"do": "remove"})
    assert got(client, "/rides", build=build)["items"] == []


def test_of_several_tasks_the_log_asks_which_and_keeps_the_reading(
    browser: Browser, client: httpx.Client, service: Served
) -> None:
    service.now = NOON
    build, chain = fitted_chain(browser)
    service.now = NOON + timedelta(days=1)
    page = browser.open(f"/builds/{build}/log?part={chain}")
    form = page.form(f"/builds/{build}/log")
    page = browser.send(form, {"wear.elongation_percent": "0,3", "note": "dry"})
    [reading] = got(client, "/wear-measurements", part=chain)["items"]
    assert (reading["dimension"], reading["low"]) == ("elongation_percent", 0.3)
    assert got(client, "/maintenance-events", part=chain)["items"] == []
    form = browser.open(f"/builds/{build}/log?part={chain}").form(f"/builds/{build}/log")
    browser.send(form, {"kind": "lubricated"})
    [event] = got(client, "/maintenance-events", part=chain)["items"]
    assert event["tasks"] == ["chain.lubricate"]
    life = browser.open(f"/parts/{chain}").main
    assert "Elongation percent: 0.3" in life
    assert "Lubricated" in life


def test_several_tasks_of_a_kind_are_asked_for(browser: Browser, client: httpx.Client, service: Served) -> None:
    service.now = NOON
    build = add_build(browser)
    form = browser.open(f"/builds/{build}/log?part=whole").form(f"/builds/{build}/log")
    asked = browser.send(form, {"kind": "inspected", "note": "in the yard"}, status=422)
    assert got(client, "/maintenance-events", build=build)["items"] == []
    assert asked.form(f"/builds/{build}/log").fields["note"] == ["in the yard"]
    offered = [e.attributes["value"] for e in asked.all("input", name="task")]
    assert len(offered) > 1
    browser.send(asked.form(f"/builds/{build}/log"), {"task": offered[0]})
    [event] = got(client, "/maintenance-events", build=build)["items"]
    assert event["tasks"] == [offered[0]]


def test_what_is_due_leads_to_its_job_to_the_log_and_can_be_put_off(
    browser: Browser, client: httpx.Client, service: Served
) -> None:
    service.now = NOON
    build, chain = fitted_chain(browser)
    service.now = NOON + timedelta(days=80)
    for number in range(4):
        ride(client, build, 100, NOON + timedelta(days=1 + number), conditions="wet")
    due = browser.open(f"/builds/{build}/due")
    oil = next(link for link in due.links() if "put-off" in link and "chain.lubricate" in link)
    listed = browser.send(
        browser.open(oil).form(f"/builds/{build}/put-off"), {"until_on": "2026-12-01", "reason": "Waits for oil"}
    )
    assert "Waits for oil" in listed.main
    job = browser.send(due.form(f"/builds/{build}/jobs", task="chain.lubricate"))
    assert job.text_of("h1").startswith("Service: ")
    log = next(link for link in due.links() if "/log?" in link and "chain.lubricate" in link)
    browser.send(browser.open(log).form(f"/builds/{build}/log"))
    [event] = got(client, "/maintenance-events", part=chain)["items"]
    assert (event["kind"], event["tasks"]) == ("lubricated", ["chain.lubricate"])
    over_all = browser.open("/due")
    assert over_all.text_of("h1") == "Due"


def test_a_swap_keeps_the_old_parts_distance_and_offers_the_job(
    browser: Browser, client: httpx.Client, service: Served
) -> None:
    service.now = NOON
    build, chain = fitted_chain(browser)
    service.now = NOON + timedelta(days=1)
    browser.send(browser.open(f"/builds/{build}/ride").form(f"/builds/{build}/ride"), {"km": "100"})
    service.now = NOON + timedelta(days=2)
    jobs = browser.send(browser.open(f"/parts/{chain}/swap").form(f"/parts/{chain}/swap"), {"why_removed": "worn"})
    assert "Swapped." in jobs.main
    replacing = browser.send(jobs.form(f"/builds/{build}/jobs", job="replace"))
    assert replacing.text_of("h1").startswith("Replace: ")
    assert got(client, f"/parts/{chain}")["on"] is None
    assert got(client, f"/parts/{chain}")["km"]["least"] == 100
    assert "worn" in browser.open(f"/parts/{chain}").main


def test_a_part_is_taken_off_on_an_earlier_day(browser: Browser, client: httpx.Client, service: Served) -> None:
    service.now = NOON
    _, chain = fitted_chain(browser)
    service.now = NOON + timedelta(days=5)
    form = browser.open(f"/parts/{chain}/take-off").form(f"/parts/{chain}/take-off")
    page = browser.send(form, {"day": "2026-05-06", "rides": "before", "why_removed": "Too short"})
    assert "in the parts bin" in page.main
    assert "6 May 2026, 00:00" in page.main
    assert got(client, f"/parts/{chain}")["on"] is None


def test_the_bench_decides_what_is_owned(browser: Browser, client: httpx.Client) -> None:
    page = browser.open("/bench")
    browser.send(page.form("/bench/tools"), {"tool": ["hex:5", "chain-whip"]})
    owned = {each["tool"] for each in got(client, "/tools")["items"] if each["owned"]}
    assert owned == {"hex:5", "chain-whip"}
    browser.send(browser.open("/bench").form("/bench/tools"), {"tool": ["hex:5"]})
    assert {each["tool"] for each in got(client, "/tools")["items"] if each["owned"]} == {"hex:5"}
    wrench = {"title": "Small wrench", "low_nm": "2", "high_nm": "24", "tolerance_percent": "4"}
    assert "2 to 24 N·m" in browser.send(browser.open("/bench").form("/bench/wrenches"), wrench).main


def test_the_makers_figure_is_entered_and_taken_back(browser: Browser, client: httpx.Client, service: Served) -> None:
    service.now = NOON
    build = planned(browser)
    stem = next(each["id"] for each in got(client, "/parts", category="stem")["items"])
    form = browser.open(f"/parts/{stem}").form(f"/parts/{stem}/torque")
    key = form.fields["fastening"][0]
    page = browser.send(form, {"low_nm": "4,5", "high_nm": "5,5", "as_printed": "4.5-5.5 N·m"})
    assert "4.5 to 5.5 N·m" in page.main
    browser.send(page.form(f"/parts/{stem}/torque", fastening=key), {"do": "remove"})
    assert got(client, f"/parts/{stem}")["torque_figures"] == {}
    assert build


def test_a_bench_step_is_ticked_for_every_part_at_once(browser: Browser, client: httpx.Client) -> None:
    build = planned(browser)
    job = start_assembling(browser, build)
    steps = got(client, f"/checklists/{job}")["steps"]
    browser.send(
        browser.open(f"/checklists/{job}?step=whole-bicycle.set-up-bench").form(f"/checklists/{job}/mark"),
        {"state": "done"},
    )
    papers = [step for step in steps if step["id"].startswith("whole-bicycle.lay-out:")]
    laid_out = [step["id"] for step in papers if not step["undecided"]]  # a wheel may turn out to be laced at home
    page = browser.open(f"/checklists/{job}?step={laid_out[0]}")
    assert f"Done for all {len(laid_out)} parts" in page.main
    browser.send(page.form(f"/checklists/{job}/mark-alike"), {})
    states = {step["id"]: step["state"] for step in got(client, f"/checklists/{job}")["steps"]}
    assert {states[each] for each in laid_out} == {"done"}


def test_a_safety_step_is_never_ticked_for_several_parts_at_once(browser: Browser, client: httpx.Client) -> None:
    job = start_assembling(browser, planned(browser))
    safety = [step["id"] for step in got(client, f"/checklists/{job}")["steps"] if step["safety"]]
    assert safety
    assert not [each for each in safety if "parts on the bench" in browser.open(f"/checklists/{job}?step={each}").main]
