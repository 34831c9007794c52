"""Builds over HTTP: kept, changed, listed; what is missing; when an answer has not changed."""

import httpx
import pytest

from tests.api.words import (
    API,
    NOON,
    ONE_DATABASE,
    build,
    days,
    fit,
    got,
    made,
    ok,
    part,
    plan,
    refused,
    ride,
    specs,
    start,
)
from tests.conftest import Served


def test_a_build_is_kept_as_it_was_sent(client: httpx.Client) -> None:
    sent = {
        "name": "Grey all-road",
        "use": "mixed",
        "rider_mass_g": 78000,
        "front_brake_hand": "right",
        "km_before": 12.5,
    }
    shown = made(client, "/builds", **sent)
    assert {key: shown[key] for key in sent} == sent
    assert (shown["state"], shown["km"], shown["parts"], shown["due"]["state"]) == ("planned", 12.5, [], "fine")
    assert got(client, f"/builds/{shown['id']}") == shown


@ONE_DATABASE
@pytest.mark.parametrize(
    ("field", "sent", "word"),
    [
        ("name", "", "1 characters at least"),
        ("name", "a\x00b", "a text may not hold the character NUL"),
        ("name", None, "text"),
        ("use", "racing", "road race"),
        ("state", "sold", "retired"),
        ("rider_mass_g", -80000, "more than 0"),
        ("rider_mass_g", "heavy", "whole number"),
        ("rider_mass_g", 80.5, "whole number"),
        ("rider_mass_g", None, "leave it out"),
        ("motor", "yes", "true or false"),
        ("km_before", -1, "at least 0"),
        ("id", "17", "UUID"),
        ("colour", "grey", "not a field"),
    ],
)
def test_a_wrong_field_is_pointed_at(client: httpx.Client, field: str, sent: object, word: str) -> None:
    refused(client.post(f"{API}/builds", json={"name": "Grey", field: sent}), 422, word, pointer=f"/{field}")
    assert got(client, "/builds")["items"] == []


def test_a_change_needs_the_version_it_was_made_from(client: httpx.Client) -> None:
    on = build(client)
    path, tag = f"{API}/builds/{on}", client.get(f"{API}/builds/{on}").headers["etag"]
    refused(client.patch(path, json={"note": "a"}), 428, "If-Match")
    shown = ok(client.patch(path, json={"note": "a", "load_g": 9000}, headers={"If-Match": tag}))
    assert (shown["note"], shown["name"], shown["load_g"]) == ("a", "Grey all-road", 9000)
    stale = refused(client.patch(path, json={"note": "b"}, headers={"If-Match": tag}), 412, "Read it again")
    assert stale["current"] == {"version": shown["version"]}
    weak = {"If-Match": f'W/"{shown["version"]}"'}
    refused(client.patch(path, json={"note": "b"}, headers=weak), 412, "weak")  # RFC 9110, 13.1.1: strong comparison
    current = {"If-Match": f'"{shown["version"]}"'}
    assert ok(client.patch(path, json={"load_g": None}, headers=current))["load_g"] is None
    refused(client.delete(path), 428, "If-Match")
    refused(client.delete(path, headers=current), 412, "Read it again")
    ok(client.delete(path, headers={"If-Match": "*"}), 204)
    refused(client.get(path), 404, "There is no build")


def test_a_build_with_a_history_is_retired_not_removed(client: httpx.Client) -> None:
    on = build(client)
    fit(client, on, part(client, "frame"))
    refused(client.delete(f"{API}/builds/{on}", headers={"If-Match": "*"}), 409, "history", "retired")


def test_a_build_names_what_is_missing_and_why(client: httpx.Client) -> None:
    on = build(client)
    fit(client, on, part(client, "frame"))
    missing = {each["slot"]: each["because"] for each in got(client, f"/builds/{on}")["missing"]}
    assert "fork" in missing
    assert all(missing.values())
    plan(client, on, part(client, "fork"))
    assert "fork" not in {each["slot"] for each in got(client, f"/builds/{on}")["missing"]}


def test_a_finding_says_which_facts_it_compared(client: httpx.Client) -> None:
    on = build(client)
    fit(client, on, part(client, "frame", specs=specs(bb_shell="threaded_english")))
    fit(client, on, part(client, "bottom-bracket", specs=specs(**{"shell": "threaded_italian"})))
    found = {each["join"]: each for each in got(client, f"/builds/{on}/findings")["items"]}
    thread = found["bottom-bracket.shell"]
    assert (thread["answer"], thread["acceptable"]) == ("conflicts", False)
    assert {fact["words"] for fact in thread["facts"]} >= {"threaded_english", "threaded_italian"}
    assert got(client, f"/builds/{on}")["findings"]["conflicts"] >= 1


def unchanged(client: httpx.Client, path: str, tag: str) -> bool:
    """Whether a GET answers 304 to this tag, without a body and with the same tag."""
    answer = client.get(API + path, headers={"If-None-Match": tag})
    if answer.status_code == 304:  # RFC 9110, 15.4.5: no content, and the ETag that a 200 would have had
        assert answer.content == b""
        assert answer.headers["etag"] in tag
    return answer.status_code == 304


def test_an_unchanged_answer_is_304_until_something_changes(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    on = build(client)
    chain = part(client, "chain")
    fit(client, on, chain, at=NOON.isoformat())
    job = start(client, on)["id"]
    service.now = NOON + days(2)
    for path in (f"/builds/{on}", f"/checklists/{job}", f"/parts/{chain}"):
        tag = client.get(API + path).headers["etag"]
        assert unchanged(client, path, tag)
        assert unchanged(client, path, f'"1", W/{tag}')  # RFC 9110, 13.1.2: weak comparison, any of a list
        ride(client, on, 10, NOON + days(1))
        assert not unchanged(client, path, tag)
        tag = client.get(API + path).headers["etag"]
        service.now += days(1)
        assert not unchanged(client, path, tag)  # what is due depends on the day


def test_a_ride_of_another_build_counts_for_a_part_that_came_from_it(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    old, new, chain = build(client, "Old"), build(client, "New"), part(client, "chain")
    fitting = fit(client, old, chain, at=NOON.isoformat())["id"]
    service.now = NOON + days(9)
    ok(client.patch(f"{API}/fittings/{fitting}", json={"end_at": (NOON + days(5)).isoformat()}))
    fit(client, new, chain, at=(NOON + days(6)).isoformat())
    tags = {path: client.get(API + path).headers["etag"] for path in (f"/builds/{new}", f"/parts/{chain}")}
    ride(client, old, 80, NOON + days(2))  # written down late, for the build the chain was on then
    assert [path for path, tag in tags.items() if unchanged(client, path, tag)] == []
    [shown] = got(client, f"/builds/{new}")["parts"]
    assert (shown["km"], got(client, f"/builds/{new}")["km"]) == (80, 0)


def test_set_ups_keep_the_riders_position_with_its_history(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    on = build(client)
    made(client, f"/builds/{on}/set-ups", at=(NOON - days(2)).isoformat(), saddle_height_mm=720)
    made(client, f"/builds/{on}/set-ups", saddle_height_mm=725.5, front_kpa=280)
    heights = [each["saddle_height_mm"] for each in got(client, f"/builds/{on}/set-ups")["items"]]
    assert heights == [725.5, 720]
    wrong = client.post(f"{API}/builds/{on}/set-ups", json={"saddle_height_mm": -5})
    refused(wrong, 422, "more than 0", pointer="/saddle_height_mm")


def test_builds_come_by_page_and_state(client: httpx.Client) -> None:
    ids = {build(client, f"Build {number}") for number in range(5)} | {build(client, state="laid up")}
    first = client.get(f"{API}/builds", params={"limit": 2})
    seen, following = ok(first)["items"], first
    while "next" in following.links:
        following = client.get(following.links["next"]["url"])
        seen += ok(following)["items"]
    assert (len(seen), {each["id"] for each in seen}) == (6, ids)
    assert len(got(client, "/builds", state="laid up")["items"]) == 1
    refused(client.get(f"{API}/builds", params={"state": "sold"}), 422, "retired", pointer="/state")


def test_the_bench_knows_its_tools_and_wrenches(client: httpx.Client) -> None:
    wrench = made(client, "/wrenches", title="Small", low_nm=2, high_nm=24, tolerance_percent=4)
    assert got(client, f"/wrenches/{wrench['id']}") == wrench
    wrong = client.post(f"{API}/wrenches", json={"title": "Odd", "low_nm": 24, "high_nm": 2})
    refused(wrong, 400, "lower to a higher", pointer="/high_nm")
    ok(client.put(f"{API}/tools/hex:5"), 204)
    ok(client.put(f"{API}/tools/hex:5"), 204)
    assert [each["tool"] for each in got(client, "/tools")["items"] if each["owned"]] == ["hex:5"]
    refused(client.put(f"{API}/tools/hex"), 400, "hex:", pointer="/tool")
    refused(client.put(f"{API}/tools/wand"), 400, "no tool wand", pointer="/tool")
    ok(client.delete(f"{API}/tools/hex:5"), 204)
    refused(client.delete(f"{API}/tools/hex:5"), 404)
    assert [each["id"] for each in got(client, "/wrenches")["items"]] == [wrench["id"]]
