"""The whole job over HTTP, as the story goes: parts, plan, the stand, rides, what is due, a swap, a service."""

from typing import Any

import httpx

from tests.api.words import (
    API,
    NOON,
    build,
    days,
    fit,
    got,
    km_of,
    made,
    ok,
    part,
    plan,
    refused,
    ride,
    specs,
    start,
    step_of,
    tick,
)
from tests.conftest import Served

HANG = "cable-disc-caliper.hang@front"
TIGHTEN = "cable-disc-caliper.tighten@front"


def ten_parts(client: httpx.Client) -> dict[str, str]:
    """A frame and nine parts with facts, half of them second-hand."""
    frame = specs(brake_mount="post", spacing_mm=135, material="steel", bb_shell="threaded_english")
    caliper = specs(mount="post", moving_pads="one", pull_family="long")
    shell = specs(**{"shell": "threaded_english"})
    return {
        "frame": part(client, "frame", "Grey frame", specs=frame),
        "fork": part(client, "fork", specs=specs(brake_mount="post", steerer_kind="threadless")),
        "bottom-bracket": part(client, "bottom-bracket", specs=shell | specs(spindle="tube_24")),
        "crankset": part(client, "crankset", specs=specs(spindle="tube_24", rings_count=1)),
        "cassette": part(client, "cassette", origin="second-hand", specs=specs(sprockets_count=11)),
        "chain": part(client, "chain", specs=specs(sprockets_for_count=11, links_count=114)),
        "tyre": part(client, "tyre", specs=specs(bsd_mm=622, width_marked_mm=40)),
        "caliper": part(client, "cable-disc-caliper", origin="second-hand", specs=caliper, state="ordered"),
        "lever": part(client, "brake-lever", specs=specs(works_brake="front", clamp_mm=22.2)),
        "stem": part(client, "stem", specs=specs(steerer_clamp_mm=28.6, bar_clamp_mm=31.8)),
    }


def assembling(client: httpx.Client) -> tuple[str, dict[str, str], dict[str, Any]]:
    """A build with its frame fitted, the rest planned, and the job of assembling started."""
    on, parts = build(client), ten_parts(client)
    fit(client, on, parts["frame"])
    places = {"cassette": "rear", "tyre": "front", "caliper": "front", "lever": "right"}
    for name, part_id in parts.items():
        if name != "frame":
            plan(client, on, part_id, places.get(name, ""))
    return on, parts, start(client, on)


def test_an_assembly_is_followed_from_plan_to_ticks(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    on, parts, checklist = assembling(client)
    job = checklist["id"]
    assert got(client, f"/builds/{on}")["state"] == "assembling"
    assert [each["tool"] for each in checklist["tools"] if each["tool"] == "torque-wrench"] == ["torque-wrench"]
    hang = step_of(checklist, HANG)
    assert hang["fits"] == [parts["caliper"]]
    assert [each["part"] for each in hang["blocked_by"] if each["kind"] == "part"] == [parts["caliper"]]
    refused(tick(client, job, hang), 409, "ordered", "in hand")

    tag = client.get(f"{API}/parts/{parts['caliper']}").headers["etag"]
    ok(client.patch(f"{API}/parts/{parts['caliper']}", json={"state": "in hand"}, headers={"If-Match": tag}))
    planned = next(row for row in got(client, f"/builds/{on}/plan")["items"] if row["part"] == parts["caliper"])
    paper = f"whole-bicycle.lay-out:{parts['caliper']}"
    ok(tick(client, job, step_of(got(client, f"/checklists/{job}"), paper)))
    ticked = ok(tick(client, job, hang))
    # fitted by the tick, under the id of the row of the plan, and both ticks stay
    assert got(client, f"/parts/{parts['caliper']}")["on"]["fitting"] == planned["id"]
    assert step_of(ticked, HANG)["state"] == "done"
    assert step_of(ticked, HANG)["fits"] == []
    assert step_of(got(client, f"/checklists/{job}"), paper)["state"] == "done"
    assert parts["caliper"] not in [row["part"] for row in got(client, f"/builds/{on}/plan")["items"]]


def test_a_part_taken_off_and_put_back_opens_its_step_again(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    on, parts, checklist = assembling(client)
    join = step_of(checklist, "chain.join")
    assert step_of(ok(tick(client, checklist["id"], join)), "chain.join")["state"] == "done"
    fitting = got(client, f"/parts/{parts['chain']}")["on"]["fitting"]
    service.now = NOON + days(1)
    ok(client.patch(f"{API}/fittings/{fitting}", json={"end_at": service.now.isoformat()}))
    service.now = NOON + days(2)
    fit(client, on, parts["chain"])
    again = step_of(got(client, f"/checklists/{checklist['id']}"), "chain.join")
    assert again["state"] == "open"
    assert again["reopened"]


def test_a_torque_says_its_basis_and_the_makers_figure_governs_once_entered(
    client: httpx.Client, service: Served
) -> None:
    service.now = NOON
    _, parts, checklist = assembling(client)
    [general] = step_of(checklist, TIGHTEN)["torques"]
    assert (general["low_nm"], general["high_nm"]) == (general["general"]["low_nm"], general["general"]["high_nm"])
    assert general["general"]["basis"]
    assert "general range" in general["governs"]
    figure = {"low_nm": 5.5, "high_nm": 6.5, "as_printed": "5.5-6.5 N·m"}
    ok(client.put(f"{API}/parts/{parts['caliper']}/torque-figures/mount-bolt", json=figure))
    [own] = step_of(got(client, f"/checklists/{checklist['id']}"), TIGHTEN)["torques"]
    assert (own["low_nm"], own["high_nm"]) == (5.5, 6.5)
    assert own["general"] == general["general"]
    used = {"fastening": "cable-disc-caliper.mount-bolt", "nm": 6.0}
    ok(tick(client, checklist["id"], step_of(got(client, f"/checklists/{checklist['id']}"), TIGHTEN), torques=[used]))


def test_what_is_due_follows_rides_and_a_swapped_chain_leaves_the_cassette_its_distance(
    client: httpx.Client, service: Served
) -> None:
    service.now = NOON
    on, parts = build(client, state="in service"), ten_parts(client)
    parts["rear-derailleur"] = part(client, "rear-derailleur")
    for name, place in {"frame": "", "chain": "", "cassette": "rear", "rear-derailleur": "rear"}.items():
        fit(client, on, parts[name], place, at=NOON.isoformat())
    service.now = NOON + days(40)
    before = due_of(client, on, "chain.lubricate")
    assert (before["state"], before["km_left"]["middle"] > 0) == ("fine", True)
    for number in range(6):
        ride(client, on, 60, NOON + days(1 + number), conditions="wet")
    after = due_of(client, on, "chain.lubricate")
    assert after["km_left"]["middle"] < before["km_left"]["middle"] - 360  # a wet kilometre counts as more than one
    assert after["state"] in ("due", "overdue")
    assert km_of(client, parts["cassette"]) == 360.0

    at = (NOON + days(30)).isoformat()
    swapped = made(client, f"/builds/{on}/swaps", off=parts["chain"], same_again=True, at=at, why_removed="worn")
    ride(client, on, 100, NOON + days(31))
    assert (km_of(client, parts["chain"]), km_of(client, swapped["part"])) == (360.0, 100.0)
    assert km_of(client, parts["cassette"]) == 460.0
    assert got(client, f"/parts/{swapped['part']}")["specs"]["links_count"]["number"] == 114
    assert got(client, f"/parts/{parts['chain']}")["on"] is None
    # a new chain on old sprockets may skip; the pulleys are looked at with every second chain
    assert due_of(client, on, "cassette.skip-test")["state"] == "due"
    assert "1 of 2 chains used" in due_of(client, on, "rear-derailleur.jockey-wheels")["why"]


def due_items(client: httpx.Client, on: str) -> list[dict[str, Any]]:
    """What is due on a build."""
    [found] = got(client, "/due", build=on)["items"]
    return list(found["items"])


def due_of(client: httpx.Client, on: str, task: str) -> dict[str, Any]:
    """Where one task stands."""
    [found] = [due for due in due_items(client, on) if due["task"] == task]
    return found


def test_a_finished_service_logs_its_event_and_readings_at_once(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    on, parts = build(client, state="in service"), ten_parts(client)
    fit(client, on, parts["chain"])
    service.now = NOON + days(20)
    ride(client, on, 400, NOON + days(10))
    job = start(client, on, "service", about_part=parts["chain"], task="chain.measure")
    for step in job["steps"]:
        records = {each["key"]: 0.3 for each in step["records"] if each["into"].startswith("wear:elongation")}
        ok(tick(client, job["id"], step, records=records))
    assert got(client, "/maintenance-events", part=parts["chain"])["items"] == []
    finished = ok(client.patch(f"{API}/checklists/{job['id']}", json={"finished": True}))
    assert finished["finished_at"]
    [event] = got(client, "/maintenance-events", part=parts["chain"])["items"]
    assert (event["tasks"], event["checklist"]) == (["chain.measure"], job["id"])
    readings = got(client, "/wear-measurements", part=parts["chain"])["items"]
    assert [(each["dimension"], each["low"]) for each in readings] == [("elongation_percent", 0.3)]
    again = ok(client.patch(f"{API}/checklists/{job['id']}", json={"finished": True}))
    assert again["finished_at"] == finished["finished_at"]
    assert len(got(client, "/maintenance-events", part=parts["chain"])["items"]) == 1
    assert due_of(client, on, "chain.measure")["last"] == "2026-05-24"
