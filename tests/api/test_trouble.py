"""Trouble over HTTP: where a cause sits on a bicycle, what is started there."""

import httpx

from tests.api.words import API, NOON, build, fit, got, ok, part, refused
from tests.conftest import Served


def with_two_tyres(client: httpx.Client) -> tuple[str, list[str]]:
    """A build in service with a tyre at each end."""
    on = build(client, state="in service")
    tyres = [part(client, "tyre"), part(client, "tyre")]
    for place, tyre in zip(("front", "rear"), tyres, strict=True):
        fit(client, on, tyre, place, at=NOON.isoformat())
    return on, tyres


def test_a_cause_names_each_part_it_may_sit_in_and_the_job_starts_there(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    on, tyres = with_two_tyres(client)
    found = {each["id"]: each for each in got(client, "/trouble", build=on)["items"]}
    bump = found["bump-each-turn"]
    assert bump["ride"] == "do not ride"
    start = next(each["start"] for each in bump["causes"] if each["start"]["id"] == "tyre.look")
    assert [(each["part"], each["place"]) for each in start["on"]] == [(tyres[0], "front"), (tyres[1], "rear")]
    assert all(each["starts_job"] for each in start["on"])
    sent = {"job": "service", "task": start["id"], "about_part": start["on"][1]["part"]}
    ok(client.post(f"{API}/builds/{on}/checklists", json=sent), 201)


def test_a_part_a_category_and_a_stage_narrow_the_list(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    on, tyres = with_two_tyres(client)
    of_part = [each["id"] for each in got(client, "/trouble", build=on, part=tyres[0])["items"]]
    assert of_part == [each["id"] for each in got(client, "/trouble", category="tyre")["items"]]
    assert "bump-each-turn" in of_part
    assert "chain-skips" not in of_part
    assert all("riding" in each["stages"] for each in got(client, "/trouble", stage="riding")["items"])


def test_a_stage_or_category_that_does_not_exist_is_refused_by_name(client: httpx.Client) -> None:
    for field in ("stage", "category"):
        refused(client.get(f"{API}/trouble", params={field: "nowhere"}), 400, "nowhere", pointer=f"/{field}")
