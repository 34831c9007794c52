"""Wear readings over HTTP that cannot be, or are unlikely: refused, or asked for again and stored when right."""

import httpx

from tests.api.test_care import in_service
from tests.api.words import API, NOON, days, got, made, ok, refused
from tests.conftest import Served

READINGS = f"{API}/wear-measurements"


def test_a_wrong_unit_is_asked_for_again_with_the_range_and_stored_when_sure(client: httpx.Client) -> None:
    _, [chain] = in_service(client, "chain")
    sent = {"part": chain, "dimension": "elongation_percent", "reading": 75}
    answer = client.post(READINGS, json=sent)
    problem = refused(answer, 409, "Growth", "75 %", "would be right", pointer="/reading")
    assert problem["confirm"] == "sure"
    assert got(client, "/wear-measurements", part=chain)["items"] == []
    assert made(client, "/wear-measurements", **sent, sure=True)["low"] == 75


def test_the_same_reading_sent_again_is_once_though_it_was_confirmed(client: httpx.Client) -> None:
    _, [chain] = in_service(client, "chain")
    sent = {"id": "0190c000-0000-7000-8000-000000000001", "part": chain, "dimension": "gauge_step", "low": 60}
    refused(client.post(READINGS, json=sent), 409, "far past", pointer="/low")
    first = made(client, "/wear-measurements", **sent, sure=True)
    assert ok(client.post(READINGS, json=sent), 200) == first


def test_a_grade_or_a_count_that_the_scale_does_not_have_is_refused(client: httpx.Client) -> None:
    _, [headset] = in_service(client, "headset")
    sent = {"part": headset, "dimension": "notch", "reading": 2.5, "sure": True}
    refused(client.post(READINGS, json=sent), 400, "whole number from 0", pointer="/reading")
    assert made(client, "/wear-measurements", **(sent | {"reading": 2}))["low"] == 2


def test_a_reading_that_improves_is_asked_for_again_unless_it_was_renewed_between(
    client: httpx.Client, service: Served
) -> None:
    service.now = NOON
    _, [cassette] = in_service(client, "cassette")
    service.now = NOON + days(30)
    sent = {"part": cassette, "dimension": "chains_used"}
    made(client, "/wear-measurements", **sent, reading=3, at=(NOON + days(10)).isoformat())
    later = sent | {"reading": 1, "at": (NOON + days(20)).isoformat()}
    refused(client.post(READINGS, json=later), 409, "better than 3", "new part", pointer="/reading")
    earlier = made(client, "/wear-measurements", **sent, reading=2, at=(NOON + days(5)).isoformat())
    assert earlier["low"] == 2  # an older one may be less worn
    made(client, "/maintenance-events", part=cassette, kind="overhauled", at=(NOON + days(15)).isoformat())
    assert made(client, "/wear-measurements", **later)["low"] == 1


def test_a_correction_is_held_against_the_same_and_a_remark_is_not(client: httpx.Client) -> None:
    _, [chain] = in_service(client, "chain")
    row = made(client, "/wear-measurements", part=chain, dimension="elongation_percent", reading=0.3)
    path, tag = f"{READINGS}/{row['id']}", {"If-Match": f'"{row["version"]}"'}
    refused(client.patch(path, json={"low": 30}, headers=tag), 409, "far past", pointer="/low")
    kept = ok(client.patch(path, json={"low": 30, "sure": True}, headers=tag))
    assert (kept["low"], kept["high"]) == (30, 30)
    tag = {"If-Match": f'"{kept["version"]}"'}
    assert ok(client.patch(path, json={"note": "Odd."}, headers=tag))["note"] == "Odd."
