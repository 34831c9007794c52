"""Twice is once: what a phone sends again is stored once, and what was removed since stays away."""

from collections.abc import Callable
from typing import Any

import httpx
import pytest

from service.ids import new_id
from tests.api.words import API, NOON, build, fit, got, ok, part, refused, specs, start
from tests.conftest import Served

Made = tuple[str, dict[str, Any], dict[str, Any], str | None]
"""A path, what is sent to it, what differs in the other content, and the path of the row (None: it is not removed)."""


def a_build(client: httpx.Client) -> Made:
    return "/builds", {"name": "Grey", "km_before": 10}, {"km_before": 11}, "/builds/{id}"


def a_part(client: httpx.Client) -> Made:
    sent = {"category": "chain", "name": "Chain", "specs": specs(links_count=114)}
    return "/parts", sent, {"specs": specs(links_count=112)}, "/parts/{id}"


def a_fitting(client: httpx.Client) -> Made:
    chain, on = part(client, "chain"), build(client)
    return f"/builds/{on}/fittings", {"part": chain}, {"part": part(client, "stem")}, "/fittings/{id}"


def a_swap(client: httpx.Client) -> Made:
    chain, on = part(client, "chain"), build(client)
    fit(client, on, chain, at="2026-05-01T10:00:00Z")
    sent = {"off": chain, "on": part(client, "chain"), "at": "2026-05-02T10:00:00Z"}
    return f"/builds/{on}/swaps", sent, {"on": part(client, "chain")}, None


def a_set_up(client: httpx.Client) -> Made:
    return f"/builds/{build(client)}/set-ups", {"saddle_height_mm": 720}, {"saddle_height_mm": 721}, None


def a_ride(client: httpx.Client) -> Made:
    return "/rides", {"build": build(client), "day": "2026-05-01", "km": 20}, {"km": 21}, "/rides/{id}"


def a_reading(client: httpx.Client) -> Made:
    return "/odometer-readings", {"build": build(client), "km": 20}, {"km": 21}, "/odometer-readings/{id}"


def an_event(client: httpx.Client) -> Made:
    sent = {"part": part(client, "chain"), "kind": "cleaned", "tasks": ["chain.clean"]}
    return "/maintenance-events", sent, {"tasks": ["chain.lubricate"]}, "/maintenance-events/{id}"


def a_measurement(client: httpx.Client) -> Made:
    sent = {"part": part(client, "chain"), "dimension": "elongation_percent", "reading": 0.3}
    return "/wear-measurements", sent, {"reading": 0.4}, "/wear-measurements/{id}"


def a_job(client: httpx.Client) -> Made:
    on = build(client)
    fit(client, on, part(client, "frame"))
    return f"/builds/{on}/checklists", {"job": "assemble"}, {"job": "check"}, None


def a_wrench(client: httpx.Client) -> Made:
    return "/wrenches", {"title": "Small", "low_nm": 2, "high_nm": 24}, {"high_nm": 25}, None


EVERY: tuple[Callable[[httpx.Client], Made], ...] = (
    *(a_build, a_part, a_fitting, a_swap, a_set_up, a_ride, a_reading, an_event, a_measurement, a_job, a_wrench),
)


@pytest.mark.parametrize("make", EVERY, ids=lambda make: make.__name__)
def test_the_same_sent_twice_is_stored_once(
    make: Callable[[httpx.Client], Made], client: httpx.Client, service: Served
) -> None:
    service.now = NOON
    path, sent, other, row = make(client)
    sent = {"id": str(new_id()), **sent}
    first = ok(client.post(API + path, json=sent), 201)
    assert first["id"] == sent["id"]
    again = client.post(API + path, json=sent)
    assert (again.status_code, again.json()["id"]) == (200, sent["id"])
    refused(client.post(API + path, json=sent | other), 409, "other")
    if row is None:
        return
    path_of_it = API + row.format(id=sent["id"])
    ok(client.delete(path_of_it, headers={"If-Match": "*"}), 204)
    refused(client.post(API + path, json=sent), 410, "removed since", "new id")


def test_an_edit_does_not_spoil_a_retry(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    sent = {"id": str(new_id()), "build": build(client), "day": "2026-05-01", "km": 20}
    ok(client.post(f"{API}/rides", json=sent), 201)
    ok(client.patch(f"{API}/rides/{sent['id']}", json={"km": 25}, headers={"If-Match": "*"}))
    assert ok(client.post(f"{API}/rides", json=sent))["km"] == 25


def test_a_retry_without_a_time_takes_the_time_of_the_first(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    sent = {"id": str(new_id()), "part": part(client, "chain"), "kind": "cleaned", "tasks": []}
    first = ok(client.post(f"{API}/maintenance-events", json=sent), 201)
    service.now = NOON.replace(day=6)
    assert ok(client.post(f"{API}/maintenance-events", json=sent)) == first


def test_an_id_of_another_kind_of_row_is_free(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    on = build(client)
    ok(client.post(f"{API}/rides", json={"id": on, "build": on, "day": "2026-05-01", "km": 20}), 201)
    assert got(client, f"/rides/{on}")["build"] == on


def test_marks_and_plans_are_the_same_twice(client: httpx.Client) -> None:
    on, stem = build(client), part(client, "stem")
    fit(client, on, part(client, "frame"))
    path = f"{API}/builds/{on}/plan/{stem}"
    first = ok(client.put(path, json={"note": "short"}))
    assert ok(client.put(path, json={"note": "short"})) == first
    job = start(client, on)
    step = next(step for step in job["steps"] if step["id"] == "frame.inspect")
    mark = f"{API}/checklists/{job['id']}/marks/{step['id']}"
    ok(client.put(mark, json={"fingerprint": step["fingerprint"]}))
    twice = ok(client.put(mark, json={"fingerprint": step["fingerprint"]}))
    assert twice["progress"]["done"] == 1
