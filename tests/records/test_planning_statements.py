"""Planning asks the database as often for a large bicycle, plan or bin as for a small one."""

from collections.abc import Callable
from typing import Any

import httpx
import pytest

from service.domain.procedure import Library
from tests.api.words import API, ONE_DATABASE, build, fit, ok, part, plan, start
from tests.conftest import Served
from tests.planned_bicycle import Planned
from tests.records.test_statements import MOST, counted
from tests.web.browser import Browser
from tests.web.conftest import browser as browser

pytestmark = ONE_DATABASE


class Small:
    """A frame, a post that is chosen and one that is a candidate."""

    def __init__(self, client: httpx.Client) -> None:
        self.build, self.post, self.other = build(client), part(client, "seatpost"), part(client, "seatpost")
        self.wheel = part(client, "wheel")
        fit(client, self.build, self.wheel, "rear")
        fit(client, self.build, part(client, "tyre"), "", into_part=self.wheel)
        plan(client, self.build, self.post)
        plan(client, self.build, self.other, chosen=False)


def many_more(client: httpx.Client, on: Small) -> None:
    """Twenty more candidates, parts in the bin, parts in the wheel and open jobs."""
    for number in range(20):
        plan(client, on.build, part(client, "seatpost", f"Post {number}"), chosen=False)
        part(client, "saddle")
    for category in ("hub", "rim", "rotor", "cassette", "rim-tape"):
        fit(client, on.build, part(client, category), "", into_part=on.wheel)
    for _ in range(5):
        start(client, on.build, "check")


ASKED: tuple[tuple[str, Callable[[Small], tuple[str, str, Any]]], ...] = (
    ("shopping", lambda on: ("GET", f"/builds/{on.build}/shopping", None)),
    ("what if", lambda on: ("POST", f"/builds/{on.build}/what-if", {"chosen": [{"part": on.other}]})),
    ("fits", lambda on: ("GET", f"/parts?fits={on.build}:seatpost:", None)),
)


@pytest.mark.parametrize("asked", [asked for _, asked in ASKED], ids=[name for name, _ in ASKED])
def test_a_question_takes_as_many_statements_for_much_as_for_little(
    asked: Callable[[Small], tuple[str, str, Any]], client: httpx.Client, service: Served
) -> None:
    on = Small(client)
    start(client, on.build, "check")
    method, path, body = asked(on)
    ok(client.request(method, API + path, json=body))  # the first request of a day also notes that the device was seen
    with counted(service.database) as before:
        ok(client.request(method, API + path, json=body))
    many_more(client, on)
    with counted(service.database) as after:
        ok(client.request(method, API + path, json=body))
    assert len(before) == len(after)
    assert len(after) <= MOST


def test_two_builds_take_no_more_than_twice_as_many(client: httpx.Client, service: Served) -> None:
    one, other = Small(client), Small(client)
    sides = [{"build": one.build, "chosen": [{"part": one.other}]}, {"build": other.build}]
    ok(client.post(f"{API}/builds/compare", json={"sides": sides}))
    with counted(service.database) as seen:
        ok(client.post(f"{API}/builds/compare", json={"sides": sides}))
    assert len(seen) <= 2 * MOST


def test_the_plan_of_a_whole_bicycle_is_one_page_of_few_statements(
    client: httpx.Client, service: Served, library: Library, browser: Browser
) -> None:
    planned = Planned(client, library)
    path = f"/builds/{planned.build}/plan"
    browser.open(path)
    with counted(service.database) as seen:
        browser.open(path)
    assert len(seen) <= MOST
