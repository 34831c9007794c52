"""Events, wear, what is due, the owner's limits and put-offs over HTTP."""

import httpx

from tests.api.words import API, NOON, build, days, fit, got, made, ok, part, refused, ride, specs
from tests.conftest import Served


def in_service(client: httpx.Client, *categories: str) -> tuple[str, list[str]]:
    """A build in service with parts of these categories fitted on 4 May."""
    on = build(client, state="in service")
    ids = [part(client, category) for category in categories]
    for category, part_id in zip(categories, ids, strict=True):
        place = {"cassette": "rear", "tyre": "front", "rear-derailleur": "rear", "gear-cable": "rear"}.get(category, "")
        fit(client, on, part_id, place, at=NOON.isoformat())
    return on, ids


def due(client: httpx.Client, on: str, task: str) -> dict[str, object]:
    """Where one task stands."""
    [found] = [each for each in got(client, "/due", build=on)["items"][0]["items"] if each["task"] == task]
    return dict(found)


def test_an_event_completes_the_only_task_of_its_kind(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    on, [chain] = in_service(client, "chain")
    service.now = NOON + days(30)
    ride(client, on, 400, NOON + days(20))
    assert due(client, on, "chain.lubricate")["state"] == "overdue"
    event = made(client, "/maintenance-events", part=chain, kind="lubricated", found="fine")
    assert (event["tasks"], event["may_complete"], event["day"]) == (["chain.lubricate"], [], "2026-06-03")
    after = due(client, on, "chain.lubricate")
    assert (after["state"], after["last"]) == ("fine", "2026-06-03")


def test_of_two_tasks_of_one_kind_none_is_completed_and_both_are_offered(client: httpx.Client) -> None:
    _, [chain] = in_service(client, "chain")
    event = made(client, "/maintenance-events", part=chain, kind="cleaned")
    assert (event["tasks"], set(event["may_complete"])) == ([], {"chain.lubricate", "chain.clean"})
    path, tag = f"{API}/maintenance-events/{event['id']}", {"If-Match": '"1"'}
    named = ok(client.patch(path, json={"tasks": ["chain.clean"]}, headers=tag))
    assert (named["tasks"], named["may_complete"]) == (["chain.clean"], [])
    assert got(client, f"/maintenance-events/{event['id']}") == named


def test_an_event_removed_resets_nothing(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    on, [chain] = in_service(client, "chain")
    service.now = NOON + days(30)
    ride(client, on, 400, NOON + days(20))
    event = made(client, "/maintenance-events", part=chain, kind="lubricated")
    path = f"{API}/maintenance-events/{event['id']}"
    ok(client.delete(path, headers={"If-Match": f'"{event["version"]}"'}), 204)
    assert due(client, on, "chain.lubricate")["state"] == "overdue"


def test_only_a_bicycle_crashes_and_then_it_is_not_ridden(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    on, [frame] = in_service(client, "frame")
    sent = {"part": frame, "kind": "crashed"}
    refused(client.post(f"{API}/maintenance-events", json=sent), 400, "whole bicycle", "build", pointer="/kind")
    made(client, "/maintenance-events", build=on, kind="crashed")
    assert due(client, on, "whole-bicycle.after-crash")["state"] == "do not ride"
    [line] = got(client, "/builds")["items"]
    assert line["due"]["state"] == "do not ride"


def test_an_unknown_task_is_refused_with_those_there_are(client: httpx.Client) -> None:
    _, [chain] = in_service(client, "chain")
    sent = {"part": chain, "kind": "cleaned", "tasks": ["chain.polish"]}
    refused(client.post(f"{API}/maintenance-events", json=sent), 400, "chain.polish", "chain.clean", pointer="/tasks")
    refused(client.post(f"{API}/maintenance-events", json={"kind": "cleaned"}), 422, "exactly one of part and build")
    late = {"part": chain, "kind": "cleaned", "day": "2199-01-01"}
    refused(client.post(f"{API}/maintenance-events", json=late), 400, "has not come yet", pointer="/day")
    refused(client.post(f"{API}/maintenance-events", json=sent | {"kind": "replaced"}), 422, pointer="/kind")
    assert got(client, "/maintenance-events")["items"] == []


def test_a_reading_at_its_limit_makes_the_part_due(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    on, [chain, _] = in_service(client, "chain", "cassette")
    made(client, "/wear-measurements", part=chain, dimension="elongation_percent", reading=0.1)
    assert due(client, on, "chain.elongation_percent")["state"] == "fine"
    service.now = NOON + days(1)
    made(client, "/wear-measurements", part=chain, dimension="elongation_percent", reading=1.2)
    worn = due(client, on, "chain.elongation_percent")
    assert worn["by_wear"] is True
    assert worn["state"] in ("due", "overdue", "do not ride")


def test_a_gauge_gives_two_marks_and_the_last_one_none(client: httpx.Client) -> None:
    _, [chain] = in_service(client, "chain")
    between = made(client, "/wear-measurements", part=chain, dimension="elongation_percent", low=0.5, high=0.75)
    assert (between["low"], between["high"]) == (0.5, 0.75)
    beyond = made(client, "/wear-measurements", part=chain, dimension="elongation_percent", low=1.0)
    assert beyond["high"] is None
    path, tag = f"{API}/wear-measurements/{between['id']}", {"If-Match": '"1"'}
    refused(client.patch(path, json={"low": 0.8}, headers=tag), 400, "low is above high", pointer="/low")
    assert ok(client.patch(path, json={"low": 0.6}, headers=tag))["high"] == 0.75


def test_a_reading_is_of_a_dimension_and_place_that_wear(client: httpx.Client) -> None:
    on, [chain] = in_service(client, "chain")
    path = f"{API}/wear-measurements"
    sent = {"part": chain, "dimension": "length_mm", "reading": 1}
    refused(client.post(path, json=sent), 400, "length_mm", "elongation_percent", pointer="/dimension")
    sent = {"part": chain, "dimension": "elongation_percent", "place": "inner", "reading": 1}
    refused(client.post(path, json=sent), 400, "empty", pointer="/place")
    caliper = part(client, "cable-disc-caliper")
    fit(client, on, caliper, "front")
    pads = part(client, "brake-pads")
    fit(client, on, pads, into_part=caliper)
    sent = {"part": pads, "dimension": "lining_mm", "place": "upper", "reading": 1}
    refused(client.post(path, json=sent), 400, "inner, outer", pointer="/place")
    assert made(client, "/wear-measurements", **(sent | {"place": "inner"}))["place"] == "inner"
    sent = {"part": chain, "dimension": "elongation_percent", "low": 0.75, "high": 0.5}
    refused(client.post(path, json=sent), 422, "low: is above high", pointer="/low")
    refused(client.post(path, json=sent | {"reading": 0.5}), 422, "either reading, or low")


def test_a_put_off_moves_the_line_never_the_state(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    on, [chain, frame] = in_service(client, "chain", "frame")
    service.now = NOON + days(30)
    ride(client, on, 400, NOON + days(20))
    path = f"{API}/parts/{chain}/tasks/chain.lubricate/put-off"
    assert ok(client.put(path, json={"until_on": "2026-06-20", "reason": "no oil"}))["until_on"] == "2026-06-20"
    put_off = due(client, on, "chain.lubricate")
    assert (put_off["state"], "no oil" in str(put_off["put_off"])) == ("overdue", True)
    ok(client.delete(path), 204)
    assert due(client, on, "chain.lubricate")["put_off"] is None
    refused(client.delete(path), 404)
    refused(client.put(path, json={}), 422, "until_on or until_km")

    safety = f"{API}/parts/{frame}/tasks/frame.cracks/put-off"
    refused(client.put(safety, json={"until_on": "2026-06-20"}), 400, "say why", pointer="/reason")
    late = {"until_on": "2026-07-20", "reason": "away"}
    refused(client.put(safety, json=late), 400, "at most 30 days", "2026-07-03", pointer="/until_on")
    refused(client.put(safety, json={"until_km": 900, "reason": "away"}), 400, "until_on", pointer="/until_on")
    ok(client.put(safety, json={"until_on": "2026-07-03", "reason": "away"}))
    ok(client.put(f"{API}/builds/{on}/tasks/whole-bicycle.yearly/put-off", json={"until_km": 9000}))
    refused(client.put(f"{API}/builds/{on}/tasks/whole-bicycle.polish/put-off", json={"until_km": 1}), 400, "yearly")


def test_the_owners_limit_governs_until_it_is_dropped(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    on, [chain] = in_service(client, "chain")
    service.now = NOON + days(3)
    ride(client, on, 60, NOON + days(1))
    before = due(client, on, "chain.lubricate")
    path = f"{API}/parts/{chain}/tasks/chain.lubricate/rule"
    assert ok(client.put(path, json={"km": 50, "reason": "winter"}))["km"] == 50
    ruled = due(client, on, "chain.lubricate")
    assert (ruled["state"], "your own" in str(ruled["why"])) == ("overdue", True)
    ok(client.put(path, json={"off": True, "reason": "waxed by somebody"}))
    assert due(client, on, "chain.lubricate")["state"] == "switched off"
    refused(client.put(path, json={"off": True}), 422, "needs a reason", pointer="/reason")
    refused(client.put(path, json={"off": True, "km": 50, "reason": "both"}), 422, "either off")
    ok(client.delete(path), 204)
    assert due(client, on, "chain.lubricate") == before
    refused(client.delete(path), 404)


def test_the_most_pressing_build_comes_first_with_its_items(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    calm, _ = in_service(client, "frame")
    pressing, _ = in_service(client, "chain")
    retired = build(client, state="retired")
    service.now = NOON + days(5)
    ride(client, pressing, 900, NOON + days(1))
    page = got(client, "/due")
    assert [each["build"] for each in page["items"]] == [pressing, calm]
    states = [each["state"] for each in page["items"][0]["items"]]
    assert states[0] in ("overdue", "due")
    assert [each["build"] for each in got(client, "/due", limit=1)["items"]] == [pressing]
    following = got(client, "/due", limit=1, cursor=got(client, "/due", limit=1)["next"])
    assert [each["build"] for each in following["items"]] == [calm]
    order = [each["id"] for each in got(client, "/builds")["items"]]
    assert (order[0], set(order)) == (pressing, {pressing, calm, retired})


def test_what_falls_due_by_the_day_alone_moves_its_build_up_the_next_morning(
    client: httpx.Client, service: Served
) -> None:
    service.now = NOON
    on, _ = in_service(client, "frame")
    retired = build(client, state="retired")
    service.now = NOON + days(1)
    [state] = [each["due"]["state"] for each in got(client, "/builds")["items"] if each["id"] == on]
    assert state not in ("due", "overdue")
    service.now = NOON + days(400)  # nothing was ridden or written down
    lines = got(client, "/builds")["items"]
    assert [each["id"] for each in lines] == [on, retired]
    assert lines[0]["due"]["state"] == "overdue"


def test_events_of_a_build_are_its_own_and_its_parts(client: httpx.Client) -> None:
    on, [chain] = in_service(client, "chain")
    loose = part(client, "chain", specs=specs(links_count=110))
    made(client, "/maintenance-events", part=chain, kind="cleaned", tasks=[])
    made(client, "/maintenance-events", part=loose, kind="cleaned", tasks=[])
    made(client, "/maintenance-events", build=on, kind="travelled")
    assert len(got(client, "/maintenance-events", build=on)["items"]) == 2
    assert len(got(client, "/maintenance-events", part=loose)["items"]) == 1
    assert len(got(client, "/maintenance-events")["items"]) == 3


def test_until_a_day_only_what_is_pressing_or_falls_due_by_then(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    on, _ = in_service(client, "chain", "tyre")
    [all_of_it] = got(client, "/due", build=on)["items"]
    [soon] = got(client, "/due", build=on, until="2026-06-20")["items"]
    tasks = {each["task"] for each in soon["items"]}
    assert "whole-bicycle.yearly" not in tasks
    assert "chain.lubricate" not in tasks  # by distance, and nothing is ridden: no day
    quiet = ("fine", "resting", "switched off")
    assert tasks == {
        each["task"]
        for each in all_of_it["items"]
        if each["state"] not in quiet or (each["on"] is not None and each["on"]["early"] <= "2026-06-20")
    }
