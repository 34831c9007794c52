"""Rides and odometer readings over HTTP: what counts, what is asked, what is refused."""

import httpx
import pytest

from tests.api.words import API, NOON, ONE_DATABASE, build, days, fit, got, km_of, made, ok, part, refused, ride
from tests.conftest import Served

ROUND_THE_EARTH_KM = 40_075  # the equator: 2 pi x 6378.137 km (WGS 84; from memory)


def logged(client: httpx.Client, on: str, **sent: object) -> httpx.Response:
    """A ride that may be refused."""
    return client.post(f"{API}/rides", json={"build": on, "day": "2026-05-01", "km": 20, **sent})


def test_a_ride_counts_for_the_build_and_what_is_on_it(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    on, chain = build(client, km_before=500), part(client, "chain")
    fit(client, on, chain, day="2026-04-30")
    shown = ok(logged(client, on, km=42.195, conditions="wet", moving_s=7200, climb_m=480), 201)
    assert (shown["km"], shown["day"], shown["started_at"]) == (42.195, "2026-05-01", "2026-05-01T10:00:00Z")
    assert got(client, f"/builds/{on}")["km"] == 542.195
    assert km_of(client, chain) == 42.195


def test_the_day_of_a_ride_is_the_one_where_it_happened(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    on = build(client)
    # an offset of the client's own says which day it was there; Z says nothing of it (RFC 9557, 2.2)
    there = made(client, "/rides", build=on, started_at="2026-05-02T05:30:00+09:00", km=5)
    assert (there["day"], there["started_at"]) == ("2026-05-02", "2026-05-01T20:30:00Z")
    assert made(client, "/rides", build=on, started_at="2026-05-01T22:30:00Z", km=5)["day"] == "2026-05-02"  # Berlin
    wrong = client.post(
        f"{API}/rides", json={"build": on, "started_at": NOON.isoformat(), "day": "2026-01-01", "km": 5}
    )
    refused(wrong, 422, "not a day of started_at", pointer="/day")


@ONE_DATABASE
@pytest.mark.parametrize("km", [-5, 0, ROUND_THE_EARTH_KM + 1, "twenty", "20", None, True, [20]])
def test_a_distance_that_is_none_is_refused(client: httpx.Client, service: Served, km: object) -> None:
    service.now = NOON
    on = build(client)
    refused(logged(client, on, km=km), 422, pointer="/km")
    assert got(client, "/rides")["items"] == []


@ONE_DATABASE
@pytest.mark.parametrize("km", ["NaN", "Infinity", "-Infinity"])
def test_what_is_no_number_is_refused(client: httpx.Client, km: str) -> None:
    body = f'{{"build": "{build(client)}", "day": "2026-05-01", "km": {km}}}'
    answer = client.post(f"{API}/rides", content=body, headers={"Content-Type": "application/json"})
    refused(answer, 422, "not infinite", pointer="/km")


def test_more_than_two_thousand_km_in_a_day_are_asked_for_again(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    on = build(client)
    ok(logged(client, on, km=1500), 201)
    asked = refused(logged(client, on, km=501), 409, "2,001 km on 2026-05-01", "sure", pointer="/km")
    assert asked["confirm"] == "sure"
    assert len(got(client, "/rides")["items"]) == 1
    ok(logged(client, on, km=501, sure=True), 201)
    assert got(client, f"/builds/{on}")["km"] == 2001


def test_a_ride_that_has_not_come_yet_is_refused(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    on = build(client)
    refused(logged(client, on, day="2026-06-01"), 400, "2026-06-01 has not come yet", "2026-05-05", pointer="/day")
    ahead = {"build": on, "km": 5, "started_at": (NOON + days(400)).isoformat()}
    refused(client.post(f"{API}/rides", json=ahead), 400, "has not come yet", pointer="/started_at")
    for day in ("9999-12-31", "0001-01-01", "2026-02-30", "yesterday", 20260501):
        refused(logged(client, on, day=day), 422, pointer="/day")
    for at in ("2026-05-01T10:00:00", "0001-01-01T00:00:00+14:00", 1777629600):
        refused(client.post(f"{API}/rides", json=ahead | {"started_at": at}), 422, pointer="/started_at")


def test_a_ride_of_no_build_is_refused(client: httpx.Client) -> None:
    refused(logged(client, "0199f2a1-7c00-7000-8000-00000000000a"), 404, "There is no build")
    refused(client.post(f"{API}/rides", json={"build": build(client), "km": 5}), 422, "give started_at, or the day")


def test_a_corrected_ride_moves_its_distance(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    on, chain = build(client), part(client, "chain")
    fit(client, on, chain, at=(NOON - days(2)).isoformat())
    logged_one = ride(client, on, 30, NOON - days(1))
    headers = {"If-Match": f'"{logged_one["version"]}"'}
    path = f"{API}/rides/{logged_one['id']}"
    changed = ok(client.patch(path, json={"km": 33, "note": "by the river"}, headers=headers))
    assert (changed["km"], changed["started_at"], changed["version"]) == (33, logged_one["started_at"], 2)
    assert km_of(client, chain) == 33
    refused(client.patch(path, json={"km": 34}, headers=headers), 412, "version 1", "2")
    ok(client.patch(path, json={"day": "2026-05-01"}, headers={"If-Match": '"2"'}))
    assert km_of(client, chain) == 0  # ridden before the chain went on
    refused(client.patch(path, json={"km": 2500}, headers={"If-Match": '"3"'}), 409, "sure", pointer="/km")
    ok(client.delete(path, headers={"If-Match": '"3"'}), 204)
    refused(client.get(path), 404)
    assert got(client, f"/builds/{on}")["km"] == 0


def read(client: httpx.Client, on: str, km: float, day: str, **sent: object) -> httpx.Response:
    """An odometer reading that may be refused."""
    return client.post(f"{API}/odometer-readings", json={"build": on, "km": km, "day": day, **sent})


def test_readings_fill_what_was_not_logged_and_never_add(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    on, chain = build(client), part(client, "chain")
    fit(client, on, chain, day="2026-04-01", rides="before")
    ok(read(client, on, 1000, "2026-03-31"), 201)
    ok(logged(client, on, day="2026-04-10", km=60), 201)
    assert km_of(client, chain) == 60
    ok(read(client, on, 1200, "2026-04-20"), 201)
    assert got(client, f"/builds/{on}")["km"] == 200
    ok(logged(client, on, day="2026-04-12", km=40), 201)  # written down late: it changes no total
    assert got(client, f"/builds/{on}")["km"] == 200


def test_a_reading_in_the_evening_knows_the_ride_of_its_day(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    on = build(client)
    ok(read(client, on, 100, "2026-04-01"), 201)
    ok(logged(client, on, day="2026-04-02", km=50), 201)
    ok(read(client, on, 150, "2026-04-02"), 201)
    assert got(client, f"/builds/{on}")["km"] == 50


def test_an_odometer_that_goes_back_is_asked_about(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    on = build(client)
    ok(read(client, on, 1000, "2026-04-01"), 201)
    refused(read(client, on, 900, "2026-04-10"), 400, "1000 km", "reset or exchanged", "restarts", pointer="/km")
    refused(read(client, on, 1100, "2026-04-01"), 400, "already", pointer="/at")
    shown = ok(read(client, on, 5, "2026-04-10", restarts=True), 201)
    path, tag = f"{API}/odometer-readings/{shown['id']}", {"If-Match": '"1"'}
    refused(client.patch(path, json={"restarts": False}, headers=tag), 400, "reset or exchanged")
    assert ok(client.patch(path, json={"km": 7}, headers=tag))["km"] == 7
    ok(client.delete(path, headers={"If-Match": '"2"'}), 204)
    assert [each["km"] for each in got(client, "/odometer-readings", build=on)["items"]] == [1000]


def test_rides_that_exceed_the_odometer_are_a_doubt(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    on = build(client)
    ok(read(client, on, 100, "2026-04-01"), 201)
    ok(logged(client, on, day="2026-04-05", km=80), 201)
    ok(read(client, on, 150, "2026-04-10"), 201)
    [doubt] = got(client, f"/builds/{on}")["doubts"]
    assert "80 km" in doubt["say"]
    assert "50 km" in doubt["say"]


def test_rides_come_by_page_newest_first_and_by_window(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    on, other = build(client), build(client)
    for day in range(1, 6):
        ok(logged(client, on, day=f"2026-04-0{day}"), 201)
    ok(logged(client, other, day="2026-04-03"), 201)
    first = client.get(f"{API}/rides", params={"build": on, "limit": 2})
    assert [each["day"] for each in ok(first)["items"]] == ["2026-04-05", "2026-04-04"]
    # RFC 8288, 3: a link is a URI reference in angle brackets with its relation
    assert first.links["next"]["url"].startswith("/api/v1/rides?")
    seen = first.json()["items"]
    following = first
    while "next" in following.links:
        following = client.get(following.links["next"]["url"])
        seen += ok(following)["items"]
    assert [each["day"] for each in seen] == [f"2026-04-0{day}" for day in (5, 4, 3, 2, 1)]
    assert following.json()["next"] is None
    window = got(client, "/rides", **{"build": on, "from": "2026-04-02", "to": "2026-04-03"})["items"]
    assert [each["day"] for each in window] == ["2026-04-03", "2026-04-02"]
    for cursor in ("nonsense", "W10=", "WzFd", "WyJhIiwgImIiXQ=="):
        refused(client.get(f"{API}/rides", params={"cursor": cursor}), 422, "cursor", pointer="/cursor")
    refused(client.get(f"{API}/rides", params={"limit": 201}), 422, "200", pointer="/limit")
    refused(client.get(f"{API}/rides", params={"part": on}), 422, "leave part out", pointer="/part")
