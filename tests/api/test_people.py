"""Who asks, the workshop, devices, over HTTP."""

import httpx

from tests.conftest import Served


def test_me_names_person_workshop_and_what_they_may(client: httpx.Client, service: Served) -> None:
    me = client.get("/api/v1/me")
    assert me.status_code == 200
    assert me.json()["person"] == {"id": str(service.who.person_id), "name": "Owner"}
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
