"""Every screen in a real browser, on phone and desk, light and dark: no errors, nothing cut off, large targets."""

import os
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest

from tests.api.words import NOON, build, days, fit, got, part, plan, ride, specs, start
from tests.conftest import Served
from tests.web.browser import Browser

pytestmark = [pytest.mark.slow, pytest.mark.parametrize("database", ["sqlite"], indirect=True)]
LEAST_TARGET = 44
"""CSS px, WCAG 2.2, 2.5.5 (target size, enhanced); links within a sentence are free of it."""
TARGETS = "button, a.button, a.row, .pick, summary, header.top a, .turn a, input:not([type=hidden]), select, textarea"


@pytest.fixture(scope="module")
def chromium() -> Iterator[Any]:
    """A headless browser; in CI a missing one fails, elsewhere its tests are skipped."""
    from playwright.sync_api import Error, sync_playwright

    with sync_playwright() as started:
        try:
            found = started.chromium.launch(executable_path=shutil.which("chromium"), args=["--no-sandbox"])
        except Error as wrong:
            if os.environ.get("CI") == "true":
                raise
            pytest.skip(f"There is no Chromium here: {wrong}")
        yield found
        found.close()


def furnished(client: httpx.Client) -> dict[str, str]:
    """The screens of a workshop in which something has happened, by name."""
    on = build(client, "Grey all-road")
    frame = specs(brake_mount="post", material="steel", bb_shell="threaded_english")
    fit(client, on, part(client, "frame", "Grey frame", specs=frame, origin="second-hand", tag="A1"))
    chain = part(client, "chain", "Chain, 11 sprockets", specs=specs(links_count=114))
    fit(client, on, chain, at=NOON.isoformat())
    fit(client, on, part(client, "tyre", "Tyre 40-622"), "front", at=NOON.isoformat())
    caliper = specs(mount="post", moving_pads="one", pull_family="long")
    plan(client, on, part(client, "cable-disc-caliper", "Front calliper", specs=caliper), "front")
    plan(client, on, part(client, "brake-lever", specs=specs(works_brake="front", pull_family="short")), "left")
    other = part(client, "cable-disc-caliper", "Another calliper", specs=specs(mount="flat"))
    plan(client, on, other, "front", chosen=False)
    ridden = ride(client, on, 40, NOON, conditions="wet")["id"]
    job = start(client, on)["id"]
    step = next(each for each in got(client, f"/checklists/{job}")["steps"] if each["torques"] and each["cautions"])
    screens = {"builds": "/", "due": "/due", "bench": "/bench", "sources": "/sources", "api": "/api", "bin": "/parts"}
    screens |= {"calendar": "/calendar", "trouble": "/trouble"}
    screens |= {
        name: f"/builds/{on}/{name}"
        for name in ("fit", "ride", "ride-files", "log", "jobs", "change", "plan", "shopping", "compare")
    }
    screens |= {name: f"/builds/{on}/{name}" for name in ("gears", "room", "worth", "position")}
    screens |= {"build": f"/builds/{on}", "fit-slot": f"/builds/{on}/fit?slot=tyre", "build-due": f"/builds/{on}/due"}
    screens |= {"symptom": f"/builds/{on}/trouble/brake-drags"}
    screens |= {"log-part": f"/builds/{on}/log?part={chain}", "part": f"/parts/{chain}", "swap": f"/parts/{chain}/swap"}
    screens |= {"side-by-side": f"/builds/{on}/compare?other={other}", "what-if": f"/builds/{on}/what-if?category=stem"}
    screens |= {"would-fit": f"/parts?category=tyre&build={on}&place=front"}
    screens |= {"after-ride": f"/builds/{on}?said=ride&ride={ridden}", "ride-change": f"/builds/{on}/rides/{ridden}"}
    screens |= {"rule": f"/builds/{on}/rule?part=whole&task=whole-bicycle.monthly", "off": f"/parts/{chain}/take-off"}
    screens |= {"put-off": f"/builds/{on}/put-off?part={chain}&task=chain.clean"}
    screens |= {"facts": f"/parts/{chain}/facts", "new": "/parts/new?category=fork"}
    return screens | {"list": f"/checklists/{job}/list", "stand": f"/checklists/{job}?step={step['id']}"}


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [390, 1280])
def test_every_screen_is_whole(
    chromium: Any, browser: Browser, client: httpx.Client, service: Served, tmp_path: Path, width: int, scheme: str
) -> None:
    service.now = NOON + days(1)
    screens = furnished(client)
    opened = chromium.new_context(viewport={"width": width, "height": 844}, color_scheme=scheme)
    opened.add_cookies([{"name": "locknut", "value": browser.client.cookies["locknut"], "url": service.address}])
    page, wrong = opened.new_page(), list[str]()
    page.on("console", lambda said: wrong.append(f"{page.url}: {said.text}"))
    page.on("pageerror", lambda error: wrong.append(f"{page.url}: {error}"))
    page.on("request", lambda sent: None if sent.url.startswith(service.address) else wrong.append(sent.url))
    for name, path in screens.items():
        assert page.goto(service.address + path).status == 200, path
        page.screenshot(path=tmp_path / f"{name}-{width}-{scheme}.png", full_page=width == 390)
        beyond = page.evaluate("document.documentElement.scrollWidth - window.innerWidth")
        assert beyond <= 0, f"{name} is {beyond} px too wide at {width}"
        if width == 390:
            assert small_targets(page) == [], name
    opened.close()
    assert wrong == []
    assert len(list(tmp_path.glob("*.png"))) == len(screens)


def small_targets(page: Any) -> list[str]:
    """What is shown and lower than a finger needs; a box or circle counts with the label around it."""
    script = """([targets, least]) => [...document.querySelectorAll(targets)]
        .filter((each) => each.checkVisibility() && !each.closest(".pick > *"))
        .filter((each) => Math.round(each.getBoundingClientRect().height) < least)
        .map((each) => each.outerHTML.slice(0, 120))"""
    return list(page.evaluate(script, [TARGETS, LEAST_TARGET]))


def test_arrow_keys_turn_the_page_at_the_stand_and_typing_does_not(
    chromium: Any, browser: Browser, client: httpx.Client, service: Served
) -> None:
    service.now = NOON + days(1)
    stand = furnished(client)["stand"]
    opened = chromium.new_context(viewport={"width": 390, "height": 844})
    opened.add_cookies([{"name": "locknut", "value": browser.client.cookies["locknut"], "url": service.address}])
    page = opened.new_page()
    page.goto(service.address + stand)
    first = page.inner_text("h1")
    page.keyboard.press("ArrowRight")
    page.wait_for_function("(was) => document.querySelector('h1').innerText !== was", arg=first)
    page.keyboard.press("ArrowLeft")
    page.wait_for_function("(was) => document.querySelector('h1').innerText === was", arg=first)
    page.get_by_text("A remark, or a problem").click()
    page.locator("#note").fill("grease")
    page.keyboard.press("ArrowRight")
    assert page.inner_text("h1") == first
    opened.close()
