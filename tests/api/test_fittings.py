"""Parts on builds over HTTP: fitting, taking off, correcting, swapping, planning; no part is in two places."""

from datetime import datetime

import httpx

from service.ids import new_id
from tests.api.words import API, NOON, build, days, fit, got, km_of, made, ok, part, plan, refused, ride, specs
from tests.conftest import Served


def off(client: httpx.Client, fitting: str, at: datetime) -> httpx.Response:
    """Takes a part off."""
    return client.patch(f"{API}/fittings/{fitting}", json={"end_at": at.isoformat()})


def tried(client: httpx.Client, on: str, part_id: str, place: str = "", **sent: object) -> httpx.Response:
    """A fitting that may be refused."""
    return client.post(f"{API}/builds/{on}/fittings", json={"part": part_id, "place": place, **sent})


def test_a_frame_is_not_fitted_twice(client: httpx.Client) -> None:
    one, other, frame = build(client, "Grey"), build(client, "Green"), part(client, "frame", "Steel frame")
    fit(client, one, frame)
    refused(
        tried(client, other, frame), 409, "Steel frame is fitted already", "on Grey", "Take it off", pointer="/part"
    )
    refused(tried(client, one, frame), 409, "on Grey", pointer="/part")
    refused(tried(client, one, part(client, "frame")), 409, "taken by Steel frame", "Swap", pointer="/place")
    assert len(got(client, f"/builds/{one}/fittings")["items"]) == 1


def test_a_part_goes_neither_into_itself_nor_into_what_it_carries(client: httpx.Client) -> None:
    on, tyre, wheel = build(client), part(client, "tyre"), part(client, "wheel")
    fit(client, on, tyre, into_part=wheel)
    refused(tried(client, on, tyre, into_part=tyre), 409, "into itself", pointer="/into_part")
    refused(tried(client, on, wheel, "front", into_part=tyre), 409, "what it carries", pointer="/into_part")


def test_a_part_goes_into_what_its_category_names(client: httpx.Client) -> None:
    on, frame = build(client), part(client, "frame")
    answer = tried(client, on, part(client, "chainring"), "outer", into_part=frame)
    refused(answer, 400, "goes into crankset", pointer="/into_part")
    refused(tried(client, on, part(client, "chainring"), "outer"), 400, "crankset", pointer="/into_part")
    elsewhere, crank = build(client), part(client, "crankset")
    fit(client, elsewhere, crank)
    answer = tried(client, on, part(client, "chainring"), "outer", into_part=crank)
    refused(answer, 409, "another build", pointer="/into_part")


def test_an_unknown_place_is_refused_with_those_there_are(client: httpx.Client) -> None:
    on = build(client)
    refused(tried(client, on, part(client, "wheel"), "middle"), 400, "front, rear", pointer="/place")
    refused(tried(client, on, part(client, "frame"), "front"), 400, "empty", pointer="/place")
    refused(tried(client, on, part(client, "tyre"), ""), 400, "front or rear", pointer="/place")
    refused(tried(client, on, part(client, "spokes"), "front.top"), 400, "left, right", pointer="/place")
    refused(tried(client, on, part(client, "wheel"), "Front Wheel"), 422, pointer="/place")


def test_fittings_of_one_part_do_not_overlap_whenever_they_are_entered(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    one, other, chain = build(client, "Grey"), build(client, "Green"), part(client, "chain")
    service.now = NOON + days(20)
    fitting = fit(client, one, chain, at=(NOON + days(5)).isoformat())["id"]
    ok(off(client, fitting, NOON + days(10)))
    refused(tried(client, other, chain, at=(NOON + days(7)).isoformat()), 409, "on Grey", "2026-05-09", pointer="/part")
    later = fit(client, other, chain, at=(NOON + days(10)).isoformat())["id"]  # half open: off and on in one instant
    refused(off(client, fitting, NOON + days(11)), 409, "on Green")
    moved = client.patch(f"{API}/fittings/{later}", json={"at": (NOON + days(8)).isoformat()})
    refused(moved, 409, "on Grey", pointer="/part")
    back = client.patch(f"{API}/fittings/{fitting}", json={"end_at": None})
    refused(back, 409, "on Green")
    assert [each["to"] is None for each in got(client, f"/builds/{other}/fittings")["items"]] == [True]


def test_a_removal_comes_after_the_fitting(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    on = build(client)
    fitting = fit(client, on, part(client, "chain"), at=NOON.isoformat())["id"]
    refused(off(client, fitting, NOON - days(1)), 400, "2026-05-04", "should be after", pointer="/end_at")
    refused(off(client, fitting, NOON), 400, "should be after", pointer="/end_at")
    assert got(client, f"/builds/{on}/fittings")["items"][0]["to"] is None


def test_what_is_still_to_come_is_planned_not_fitted(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    answer = tried(client, build(client), part(client, "chain"), at=(NOON + days(30)).isoformat())
    refused(answer, 400, "has not come yet", "plan", pointer="/at")


def test_two_parts_in_one_role_at_one_place_are_refused(client: httpx.Client) -> None:
    on, lever = build(client), part(client, "brake-lever", "Old lever", specs=specs(works_brake="front"))
    fit(client, on, lever, "left")
    combined = part(client, "combined-lever", specs=specs(works_brake="front", works_gear="front"))
    refused(tried(client, on, combined, "left"), 409, "taken by Old lever", "brake-lever", pointer="/place")
    fit(client, on, combined, "right")
    shifter = part(client, "shifter", specs=specs(works_gear="rear"))
    refused(tried(client, on, shifter, "right"), 409, "shifter", pointer="/place")
    assert fit(client, on, shifter, "left")["slot"] == "shifter"  # a lever that works no gear leaves room


def test_a_tyre_brings_the_wheel_it_needs_and_the_next_one_finds_it(client: httpx.Client) -> None:
    on = build(client)
    first = fit(client, on, part(client, "tyre"), "front")
    assert first["also"] == ["There was no front wheel: one was made and fitted."]
    assert (first["place"], first["build"]) == ("", None)
    second = fit(client, on, part(client, "rim-tape"), "front")
    assert (second["into_part"], second["also"]) == (first["into_part"], [])
    [wheel] = got(client, f"/builds/{on}")["parts"]
    assert (wheel["slot"], wheel["place"], wheel["part"]) == ("wheel", "front", first["into_part"])
    assert {each["whole_place"] for each in wheel["into"]} == {"front"}


def test_a_wheel_moves_with_its_tyre_and_both_keep_their_distance(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    one, other, tyre = build(client, "Grey"), build(client, "Green"), part(client, "tyre")
    made_with = fit(client, one, tyre, "rear", at=NOON.isoformat())
    wheel = made_with["into_part"]
    service.now = NOON + days(20)
    ride(client, one, 100, NOON + days(1))
    ok(off(client, got(client, f"/parts/{wheel}")["on"]["fitting"], NOON + days(2)))
    ride(client, one, 10, NOON + days(3))
    assert (km_of(client, wheel), km_of(client, tyre)) == (100, 100)
    fit(client, other, wheel, "rear", at=(NOON + days(4)).isoformat())
    ride(client, other, 30, NOON + days(5))
    assert (km_of(client, wheel), km_of(client, tyre)) == (130, 130)
    assert got(client, f"/parts/{tyre}")["on"]["build"] == other
    assert (got(client, f"/builds/{one}")["km"], got(client, f"/builds/{other}")["km"]) == (110, 30)


def test_before_or_after_the_rides_of_a_day_decides_whose_they_are(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    on, old, new = build(client), part(client, "chain", "Old"), part(client, "chain", "New")
    fit(client, on, old, at=(NOON - days(9)).isoformat())
    ride(client, on, 50, "2026-05-01")
    swap = {"off": old, "on": new, "day": "2026-05-01"}
    after = made(client, f"/builds/{on}/swaps", **swap)
    assert (km_of(client, old), km_of(client, new)) == (50, 0)  # ridden on that day: after, where nobody says
    ok(client.patch(f"{API}/fittings/{after['id']}", json={"day": "2026-05-02", "rides": "before"}))
    refused(tried(client, on, part(client, "stem"), rides="before"), 422, "give the day", pointer="/day")
    refused(tried(client, on, part(client, "stem"), day="2026-05-01", at=NOON.isoformat()), 422, "either at, or day")


def test_a_fitting_entered_by_mistake_is_undone(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    on, chain = build(client), part(client, "chain")
    fitting = fit(client, on, chain, id=str(new_id()))["id"]
    service.now = NOON + days(2)
    ride(client, on, 70, NOON + days(1))
    assert km_of(client, chain) == 70
    ok(client.delete(f"{API}/fittings/{fitting}"), 204)
    assert (km_of(client, chain), got(client, f"/parts/{chain}")["on"]) == (0, None)
    refused(tried(client, on, chain, id=fitting), 410, "removed since", "new id")
    refused(client.delete(f"{API}/fittings/{fitting}"), 404)


def test_a_swap_takes_off_and_puts_on_in_one_instant(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    on, old, new = build(client), part(client, "chain", "Old"), part(client, "chain", "New", state="ordered")
    refused(
        client.post(f"{API}/builds/{on}/swaps", json={"off": old, "on": new}), 409, "fitted nowhere", pointer="/off"
    )
    fit(client, on, old)
    refused(client.post(f"{API}/builds/{build(client)}/swaps", json={"off": old, "on": new}), 409, "not on this build")
    wrong = {"off": old, "on": part(client, "stem")}
    service.now = NOON + days(1)
    refused(client.post(f"{API}/builds/{on}/swaps", json=wrong), 400, "should be a chain", pointer="/on")
    refused(client.post(f"{API}/builds/{on}/swaps", json={"off": old}), 422, "exactly one of on, new, same_again")
    sent = {"id": str(new_id()), "off": old, "on": new, "at": service.now.isoformat()}
    done = made(client, f"/builds/{on}/swaps", **sent)
    assert set(done["also"]) == {"Old is in the parts bin now.", "New is in hand now."}
    assert ok(client.post(f"{API}/builds/{on}/swaps", json=sent))["id"] == done["id"]  # twice is once
    other = {**sent, "off": new, "on": old}
    refused(client.post(f"{API}/builds/{on}/swaps", json=other), 409, "other content", pointer="/id")
    newest, oldest = got(client, f"/builds/{on}/fittings")["items"]
    assert (oldest["to"], newest["from"]) == (newest["from"], newest["from"])
    early = {"off": new, "same_again": True, "at": NOON.isoformat()}
    refused(client.post(f"{API}/builds/{on}/swaps", json=early), 400, "must come after", pointer="/at")


def test_choosing_one_candidate_lets_go_of_the_other(client: httpx.Client) -> None:
    on, one, other = build(client), part(client, "stem", "Long"), part(client, "stem", "Short")
    plan(client, on, one)
    chosen = plan(client, on, other, note="shorter")
    rows = {row["part"]: row["chosen"] for row in got(client, f"/builds/{on}/plan")["items"]}
    assert rows == {one: False, other: True}
    again = plan(client, on, other)
    assert (again["id"], again["note"]) == (chosen["id"], "")
    assert [each["part"] for each in got(client, f"/builds/{on}")["parts"]] == [other]
    ok(client.delete(f"{API}/builds/{on}/plan/{one}"), 204)
    refused(client.delete(f"{API}/builds/{on}/plan/{one}"), 404)


def test_the_fitting_made_from_the_plan_takes_its_id_and_other_plans_lose_it(client: httpx.Client) -> None:
    one, other, stem = build(client, "Grey"), build(client, "Green"), part(client, "stem")
    row = plan(client, one, stem)
    plan(client, other, stem)
    refused(tried(client, one, stem, id=str(new_id())), 409, row["id"], pointer="/id")
    fitting = fit(client, one, stem)
    assert fitting["id"] == row["id"]
    assert sorted(fitting["also"]) == [
        "It was planned on Green; that row of the plan is gone.",
        "It was planned on Grey; that row of the plan is gone.",
    ]
    assert got(client, f"/builds/{other}/plan")["items"] == []
    refused(client.put(f"{API}/builds/{other}/plan/{stem}", json={}), 409, "is fitted", pointer="/part")


def test_a_planned_tyre_plans_its_wheel_and_sits_in_it(client: httpx.Client) -> None:
    on, tyre = build(client), part(client, "tyre")
    row = plan(client, on, tyre, "rear")
    [wheel] = got(client, f"/builds/{on}")["parts"]
    assert (wheel["slot"], wheel["place"], wheel["planned"]) == ("wheel", "rear", True)
    assert (row["into_part"], [each["part"] for each in wheel["into"]]) == (wheel["part"], [tyre])
    # on the bench: into the planned wheel, which is on no build yet
    done = fit(client, on, tyre, "rear")
    assert (done["id"], done["into_part"]) == (row["id"], wheel["part"])
