"""Facts that contradict each other: what may be so in the world is kept and said, what cannot be is asked again."""

from typing import Any

import httpx
import pytest

from tests.api.words import API, NOON, build, fit, got, made, ok, part, plan, refused, specs, start, step_of, tick
from tests.conftest import Served

ASKED = 'send it with "sure": true'


def bicycle(client: httpx.Client, *parts: tuple[str, str, dict[str, float | str]]) -> str:
    """A build of these parts: category, place ("into:CATEGORY" goes into the one above) and facts."""
    on = build(client)
    ids: dict[str, str] = {}
    for category, place, facts in parts:
        host, _, own = place.rpartition(":")
        ids[category] = part(client, category, specs=specs(**facts))
        into = {"into_part": ids[host]} if host else {}
        plan(client, on, ids[category], own, **into)
    return on


def answers(client: httpx.Client, on: str) -> dict[str, str]:
    """The findings of a build by join; everything else about it is answered too."""
    job = start(client, on)["id"]
    for path in (f"/builds/{on}", f"/checklists/{job}", "/due"):
        ok(client.get(API + path))
    for page in (f"/builds/{on}", f"/checklists/{job}", f"/checklists/{job}/list", f"/builds/{on}/due"):
        assert client.get(page).status_code == 200, page
    return {each["join"].partition("@")[0]: each["answer"] for each in got(client, f"/builds/{on}/findings")["items"]}


def test_a_disc_hub_in_a_wheel_with_rim_brake_facts_is_said(client: httpx.Client) -> None:
    on = bicycle(
        client,
        ("fork", "", {"brake_mount": "post"}),
        ("wheel", "front", {}),
        ("hub", "wheel:", {"rotor_fixing": "six_bolt"}),
        ("rim", "wheel:", {"rim_brake_track": "no"}),
        ("linear-pull-brake", "front", {}),
    )
    found = answers(client, on)
    assert found["linear-pull-brake.boss"] == "conflicts"
    assert found["linear-pull-brake.track"] == "conflicts"


def test_a_threaded_steerer_in_a_threadless_headset_is_said(client: httpx.Client) -> None:
    on = bicycle(
        client,
        ("frame", "", {}),
        ("fork", "", {"steerer_kind": "threaded", "steerer_tpi": 24}),
        ("headset", "", {"steerer_kind": "threadless"}),
    )
    assert answers(client, on)["headset.steerer"] == "conflicts"


def test_a_hookless_rim_that_is_not_tubeless_ready_is_said(client: httpx.Client) -> None:
    on = bicycle(
        client,
        ("wheel", "rear", {}),
        ("rim", "wheel:", {"bead": "hookless", "tubeless_ready": "no", "inner_mm": 23}),
        ("tyre", "wheel:", {"bead": "folding", "set_up": "tubeless", "tubeless_ready": "yes", "hookless_ok": "no"}),
    )
    found = answers(client, on)
    assert found["tyre.hookless"] == "conflicts"
    assert found["tyre.tubeless-pair"] == "conflicts"


def test_a_rim_with_other_holes_than_its_hub_is_said(client: httpx.Client) -> None:
    on = bicycle(
        client,
        ("wheel", "rear", {}),
        ("hub", "wheel:", {"holes_count": 36}),
        ("rim", "wheel:", {"holes_count": 32}),
        ("spokes", "wheel:left", {"spokes_count": 14}),
    )
    assert answers(client, on)["rim.spoke-holes"] == "conflicts"


def test_a_combined_lever_that_works_nothing_breaks_nothing(client: httpx.Client) -> None:
    on = bicycle(
        client,
        ("drop-bar", "", {}),
        ("combined-lever", "left", {"works_brake": "none", "works_gear": "none"}),
        ("combined-lever", "right", {"works_brake": "both", "works_gear": "none", "pull_family": "long"}),
        ("cable-disc-caliper", "front", {"pull_family": "short"}),
        ("cable-disc-caliper", "rear", {"pull_family": "short"}),
    )
    assert answers(client, on)["cable-disc-caliper.lever-pull"] == "conflicts"


def test_a_part_may_be_far_worn_under_what_its_maker_allows(client: httpx.Client) -> None:
    """A join says it: where a maker's limit is a matter of wear, it is not the other end of a pair."""
    on = bicycle(client, ("wheel", "front", {}), ("rotor", "wheel:", {"thickness_mm": 1.6, "min_thickness_mm": 1.8}))
    assert answers(client, on)["rotor.least"] == "conflicts"


PAIRS = [
    ("cable-disc-caliper", "rotor_min_mm", 180, "rotor_max_mm", 160),
    ("dual-pivot-brake", "reach_min_mm", 57, "reach_max_mm", 47),
    ("tyre", "pressure_min_kpa", 500, "pressure_max_kpa", 300),
    ("tyre", "rim_inner_min_mm", 25, "rim_inner_max_mm", 19),
    ("tube", "width_min_mm", 50, "width_max_mm", 40),
    ("rim", "inner_mm", 25, "outer_mm", 22),
    ("fork", "native_rotor_mm", 180, "max_rotor_mm", 160),
]


@pytest.mark.parametrize(("category", "least", "low", "most", "high"), PAIRS)
def test_a_least_above_its_most_is_refused_with_both_fields(
    client: httpx.Client, category: str, least: str, low: float, most: str, high: float
) -> None:
    sent = {"category": category, "name": "x", "specs": specs(**{least: low, most: high})}
    problem = refused(client.post(f"{API}/parts", json=sent), 400, "measure both again")
    assert {each["pointer"] for each in problem["errors"]} == {f"/specs/{least}", f"/specs/{most}"}
    assert got(client, "/parts")["items"] == []


def test_one_end_of_a_pair_is_held_against_the_other_that_is_known(client: httpx.Client) -> None:
    brake = part(client, "dual-pivot-brake", specs=specs(reach_min_mm=39, reach_max_mm=49))
    path = f"{API}/parts/{brake}/specs"
    refused(client.put(f"{path}/reach_min_mm", json={"number": 57}), 400, pointer="/specs/reach_min_mm")
    assert got(client, f"/parts/{brake}")["specs"]["reach_min_mm"]["number"] == 39
    ok(client.put(f"{path}/reach_max_mm", json={"number": 57}))
    ok(client.put(f"{path}/reach_min_mm", json={"number": 57}))  # they may be equal
    ok(client.delete(f"{path}/reach_max_mm"), 204)
    ok(client.put(f"{path}/reach_min_mm", json={"number": 60}))


def test_both_ends_are_moved_in_one_form(client: httpx.Client) -> None:
    brake = part(client, "dual-pivot-brake", specs=specs(reach_min_mm=39, reach_max_mm=49))
    form = {
        "name": "Brake",
        "origin": "new",
        "state": "in hand",
        "version": got(client, f"/parts/{brake}")["version"],
        "specs.reach_min_mm": "57",
        "specs.reach_max_mm": "47",
        "specs.reach_min_mm.known_by": "measured",
        "specs.reach_max_mm.known_by": "measured",
    }
    shown = client.post(f"/parts/{brake}/facts", data=form)
    assert shown.status_code == 400
    assert "above" in shown.text
    assert "measure both again" in shown.text
    assert client.post(f"/parts/{brake}/facts", data=form | {"specs.reach_max_mm": "67"}).status_code == 303
    held = got(client, f"/parts/{brake}")["specs"]
    assert (held["reach_min_mm"]["number"], held["reach_max_mm"]["number"]) == (57, 67)


@pytest.mark.parametrize(
    ("category", "facts"),
    [
        ("hub", {"holes_count": 3600}),
        ("rim", {"inner_mm": 0}),
        ("fork", {"steerer_length_mm": -5}),
        ("tyre", {"pressure_max_kpa": 9000}),
    ],
)
def test_a_number_that_cannot_be_is_asked_again(client: httpx.Client, category: str, facts: dict[str, Any]) -> None:
    sent = {"category": category, "name": "x", "specs": specs(**facts)}
    refused(client.post(f"{API}/parts", json=sent), 409, ASKED)
    sent["specs"] = {key: spec | {"sure": True} for key, spec in specs(**facts).items()}
    made(client, "/parts", **sent)


@pytest.mark.parametrize("facts", [{"holes_count": "many"}, {"rotor_fixing": 6}, {"rotor_fixing": "glued"}])
def test_a_fact_of_another_kind_is_refused(client: httpx.Client, facts: dict[str, Any]) -> None:
    [key] = facts
    sent = {"category": "hub", "name": "x", "specs": specs(**facts)}
    refused(client.post(f"{API}/parts", json=sent), 400, pointer=f"/specs/{key}")


def test_a_day_that_has_not_come_is_refused(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    sent = {"category": "chain", "name": "x", "made_on": "2027-05-04"}
    refused(client.post(f"{API}/parts", json=sent), 400, "has not come yet", pointer="/made_on")
    chain = part(client, "chain", made_on="2026-05-04", expected_on="2027-05-04")
    read = got(client, f"/parts/{chain}")
    version = {"If-Match": f'"{read["version"]}"'}
    changed = client.patch(f"{API}/parts/{chain}", json={"state": "gone", "gone_on": "2027-05-04"}, headers=version)
    refused(changed, 400, "has not come yet", pointer="/gone_on")
    ok(client.patch(f"{API}/parts/{chain}", json={"state": "gone", "gone_on": "2026-05-01"}, headers=version))


def test_an_impossible_place_beside_contradicting_roles_is_refused(client: httpx.Client) -> None:
    on = build(client)
    lever = part(client, "combined-lever", specs=specs(works_brake="none", works_gear="none"))
    refused(client.post(f"{API}/builds/{on}/fittings", json={"part": lever, "place": "front"}), 400)
    fit(client, on, lever, "left")


def test_a_fact_found_out_at_a_step_is_held_against_what_is_known(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    on = build(client)
    wheel = part(client, "factory-wheel", specs=specs(outer_mm=24))
    plan(client, on, wheel, "rear")
    job = start(client, on)
    asked = step_of(job, "factory-wheel.check-bought@rear")
    [key] = [record["key"] for record in asked["records"] if record["into"] == "spec:inner_mm"]
    refused(tick(client, job["id"], asked, records={key: 30}), 400, "measure both again", pointer=f"/records/{key}")
    assert got(client, f"/checklists/{job['id']}")["progress"]["done"] == 0
    ok(tick(client, job["id"], asked, records={key: 19}))
    assert got(client, f"/parts/{wheel}")["specs"]["inner_mm"]["number"] == 19
