"""What to do before a tour over HTTP: the answer's groups, what is refused and where."""

import httpx
import pytest

from tests.api.words import API, NOON, build, fit, got, ok, part, refused, ride
from tests.conftest import Served

TOUR: dict[str, str | int] = {"km": 1200, "days": 21, "leaving": "2026-05-25"}


def ridden(client: httpx.Client, service: Served) -> str:
    service.now = NOON
    on = build(client, state="in service")
    fit(client, on, part(client, "chain"), day="2026-04-01")
    ride(client, on, 40, "2026-04-20")
    return on


def test_every_item_is_in_one_group_most_pressing_first(client: httpx.Client, service: Served) -> None:
    on = ridden(client, service)
    tour = got(client, f"/builds/{on}/tour", **TOUR)
    groups = [each["group"] for each in tour["items"]]
    order = ["do before", "look before", "on the way", "cannot be said", "fine"]
    assert groups == sorted(groups, key=order.index)
    due = got(client, "/due", build=on)["items"][0]["items"]
    assert sorted((each["task"], each["place"]) for each in due) == sorted(
        (each["task"], each["place"]) for each in tour["items"]
    )
    assert (tour["km"], tour["days"], tour["done_by"]) == (1200, 21, "2026-05-11")
    oil = next(each for each in tour["items"] if each["task"] == "chain.lubricate")
    assert oil["counts_km"] == pytest.approx(1560)  # loaded: 1.3 for a chain
    assert "The 1 200 km of the tour count as" in oil["why"]


@pytest.mark.parametrize(
    ("wrong", "pointer"),
    [
        ({"km": 0}, "/km"),
        ({"km": 50001}, "/km"),
        ({"days": 0}, "/days"),
        ({"leaving": "2026-05-03"}, "/leaving"),
        ({"leaving": "2029-01-01"}, "/leaving"),
    ],
)
def test_what_no_tour_is_is_refused_at_its_field(
    wrong: dict[str, str | int], pointer: str, client: httpx.Client, service: Served
) -> None:
    on = ridden(client, service)
    refused(client.get(f"{API}/builds/{on}/tour", params=TOUR | wrong), 400, pointer=pointer)


def test_a_retired_bicycle_goes_on_no_tour_and_one_laid_up_is_woken_first(
    client: httpx.Client, service: Served
) -> None:
    on = ridden(client, service)
    laid = ok(client.patch(f"{API}/builds/{on}", json={"state": "laid up"}, headers={"If-Match": "*"}))
    assert "Wake it before the tour" in got(client, f"/builds/{laid['id']}/tour", **TOUR)["notes"][0]
    ok(client.patch(f"{API}/builds/{on}", json={"state": "retired"}, headers={"If-Match": "*"}))
    refused(client.get(f"{API}/builds/{on}/tour", params=TOUR), 400, "retired")
