"""Who asks, the workshop, devices, over HTTP."""

import httpx

from tests.api.words import NOON, build, fit, got, part
from tests.conftest import Served


def test_me_names_person_workshop_and_what_they_may(client: httpx.Client, service: Served) -> None:
    me = client.get("/api/v1/me")
    assert me.status_code == 200
    assert me.json()["person"] == {"id": str(service.who.person_id), "name": "Owner", "weekly_km": None}
    assert me.json()["workshop"]["currency"] == "EUR"
    assert me.json()["may"] == "own"


def test_nobody_signed_in_is_401_with_the_scheme(visitor: httpx.Client) -> None:
    answer = visitor.get("/api/v1/me")
    assert answer.status_code == 401
    assert answer.headers["www-authenticate"].startswith("Bearer")  # RFC 9110, 11.6.1: a 401 names a challenge
    assert "locknut person token" in answer.json()["detail"]


def test_the_workshop_is_changed_with_its_tag_only(client: httpx.Client) -> None:
    tag = client.get("/api/v1/workshop").headers["etag"]
    changed = client.patch("/api/v1/workshop", json={"name": "Shed"}, headers={"If-Match": tag})
    assert (changed.status_code, changed.json()["name"], changed.json()["time_zone"]) == (200, "Shed", "Europe/Berlin")
    again = client.patch("/api/v1/workshop", json={"name": "Barn"}, headers={"If-Match": tag})
    assert (again.status_code, again.json()["current"]) == (412, {"version": 2})
    assert client.patch("/api/v1/workshop", json={"name": "Barn"}).status_code == 428
    assert client.get("/api/v1/workshop").json()["name"] == "Shed"


def test_a_device_that_was_revoked_opens_nothing(client: httpx.Client, service: Served) -> None:
    [device] = client.get("/api/v1/devices").json()["items"]
    assert (device["title"], device["kind"]) == ("tests", "token")
    assert client.delete(f"/api/v1/devices/{device['id']}").status_code == 204
    assert client.get("/api/v1/me").status_code == 401


def test_what_i_say_i_ride_gives_days_until_my_rides_tell_them(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    bike = build(client, state="in service")
    fit(client, bike, part(client, "chain"), day="2026-05-01")
    [said] = [each for each in got(client, f"/due?build={bike}")["items"][0]["items"] if each["task"] == "chain.clean"]
    assert (said["km_left"]["middle"], said["on"]["early"] == said["on"]["late"]) == (500, True)  # the sixty days
    assert client.patch("/api/v1/me", json={"weekly_km": 140}).json()["person"]["weekly_km"] == 140
    [told] = [each for each in got(client, f"/due?build={bike}")["items"][0]["items"] if each["task"] == "chain.clean"]
    assert told["on"]["early"] < told["on"]["middle"] == "2026-05-29"  # 500 km at 20 km a day
    assert client.patch("/api/v1/me", json={"weekly_km": None}).json()["person"]["weekly_km"] is None
    refused = client.patch("/api/v1/me", json={"weekly_km": 0})
    assert (refused.status_code, refused.json()["errors"][0]["pointer"]) == (422, "/weekly_km")
