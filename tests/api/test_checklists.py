"""Jobs over HTTP: started, ticked for exactly these parts, finished; what is refused with what would be right."""

from typing import Any

import httpx

from tests.api.words import API, NOON, build, days, fit, got, made, ok, part, plan, refused, specs, start, step_of, tick
from tests.conftest import Served

TIGHTEN = "cable-disc-caliper.tighten@front"


def braking(client: httpx.Client) -> tuple[str, dict[str, str], dict[str, Any]]:
    """A build with frame, fork and front calliper fitted, and its job of assembling."""
    on = build(client)
    parts = {
        "frame": part(client, "frame"),
        "fork": part(client, "fork", "Fork", specs=specs(brake_mount="post")),
        "caliper": part(client, "cable-disc-caliper", specs=specs(mount="post", moving_pads="one")),
    }
    for name, place in {"frame": "", "fork": "", "caliper": "front"}.items():
        fit(client, on, parts[name], place)
    return on, parts, start(client, on)


def test_one_job_of_assembling_at_a_time(client: httpx.Client) -> None:
    on, _, _ = braking(client)
    refused(client.post(f"{API}/builds/{on}/checklists", json={}), 409, "being assembled already", pointer="/job")
    assert [each["job"] for each in got(client, f"/builds/{on}/checklists")["items"]] == ["assemble"]


def test_a_job_names_a_part_and_a_task_that_are_there(client: httpx.Client) -> None:
    on, parts, _ = braking(client)
    path = f"{API}/builds/{on}/checklists"
    refused(client.post(path, json={"job": "service"}), 400, "name it", pointer="/task")
    task = {"job": "service", "task": "cable-disc-caliper.polish", "about_part": parts["caliper"]}
    refused(client.post(path, json=task), 400, "polish", "take-up-pads", pointer="/task")
    task |= {"task": "cable-disc-caliper.take-up-pads"}
    refused(client.post(path, json={**task, "about_part": part(client, "stem")}), 400, "part", pointer="/about_part")
    refused(client.post(path, json={"job": "service", "task": task["task"]}), 400, "name it", pointer="/about_part")
    refused(client.post(path, json={"job": "replace"}), 400, "names the part", pointer="/about_part")
    refused(client.post(path, json={"job": "paint"}), 422, "assemble", pointer="/job")
    assert start(client, on, **task)["task"] == "cable-disc-caliper.take-up-pads"


def test_each_alternative_says_what_it_hangs_on_until_the_fact_is_measured(client: httpx.Client) -> None:
    on, cups = build(client), part(client, "bottom-bracket", specs=specs(kind="cartridge"))
    fit(client, on, part(client, "frame"))
    fit(client, on, cups)
    job = start(client, on)

    def drive_side() -> list[tuple[bool, str | None]]:
        steps = got(client, f"/checklists/{job['id']}")["steps"]
        [step] = [each for each in steps if each["id"] == "bottom-bracket.fit-cartridge"]
        return [(t["left_hand"], t["only_if"]) for t in step["torques"] if t["fastening"].endswith("cartridge-body")]

    left, right = drive_side()
    assert left == (
        True,
        'only if "Shell it fits" is threaded english or threaded english 26 or threaded swiss or threaded m47 '
        "(not known yet: measure)",
    )
    assert right == (False, 'only if "Shell it fits" is threaded italian or threaded french (not known yet: measure)')
    ok(client.put(f"{API}/parts/{cups}/specs/shell", json={"words": "threaded_english"}))
    assert drive_side() == [(True, None)]


def test_a_marked_step_that_does_not_exist_is_refused(client: httpx.Client) -> None:
    _, _, job = braking(client)
    ghost = {"id": "cable-disc-caliper.polish@front", "fingerprint": ""}
    refused(tick(client, job["id"], ghost), 404, "cable-disc-caliper.polish@front")
    refused(client.delete(f"{API}/checklists/{job['id']}/marks/{ghost['id']}"), 404, "polish")


def test_a_tick_with_a_stale_fingerprint_is_refused_and_says_what_changed(
    client: httpx.Client, service: Served
) -> None:
    service.now = NOON
    on, parts, job = braking(client)
    shown = step_of(job, TIGHTEN)
    ok(tick(client, job["id"], shown))
    service.now = NOON + days(1)
    made(client, f"/builds/{on}/swaps", off=parts["fork"], same_again=True)
    now = step_of(got(client, f"/checklists/{job['id']}"), TIGHTEN)
    assert (now["state"], "fork" in now["reopened"].lower()) == ("open", True)
    stale = refused(tick(client, job["id"], shown), 409, now["fingerprint"], pointer="/fingerprint")
    assert stale["type"] == "/problems/parts-changed"
    assert stale["current"] == {"state": "open", "fingerprint": now["fingerprint"]}
    ok(tick(client, job["id"], now))


def test_only_what_touches_a_swapped_part_opens_again(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    on, parts, job = braking(client)
    frame = step_of(job, "frame.inspect")
    ok(tick(client, job["id"], frame))
    ok(tick(client, job["id"], step_of(got(client, f"/checklists/{job['id']}"), TIGHTEN)))
    service.now = NOON + days(1)
    made(client, f"/builds/{on}/swaps", off=parts["fork"], same_again=True)
    after = got(client, f"/checklists/{job['id']}")
    assert (step_of(after, "frame.inspect")["state"], step_of(after, TIGHTEN)["state"]) == ("done", "open")


def test_of_two_marks_the_later_one_counts(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    _, _, job = braking(client)
    step = step_of(job, "frame.inspect")
    ok(tick(client, job["id"], step, at=(NOON - days(1)).isoformat(), note="second"))
    late = tick(client, job["id"], step, at=(NOON - days(2)).isoformat(), state="skipped", note="first")
    shown = step_of(ok(late), "frame.inspect")
    assert (shown["state"], shown["note"]) == ("done", "second")
    # a phone's clock is believed within the past 30 days, never ahead
    ahead = ok(tick(client, job["id"], step, at=(NOON + days(9)).isoformat()))
    assert step_of(ahead, "frame.inspect")["marked_at"] == "2026-05-04T12:00:00Z"


def test_a_safety_step_is_skipped_with_a_reason_only_and_then_a_mechanic_is_named(client: httpx.Client) -> None:
    _, _, job = braking(client)
    step = step_of(job, TIGHTEN)
    assert step["safety"]
    assert step["cautions"]
    refused(tick(client, job["id"], step, state="skipped"), 400, "say why", pointer="/note")
    skipped = ok(tick(client, job["id"], step, state="skipped", note="no wrench here"))
    assert "qualified mechanic" in skipped["needs_mechanic"]


def test_what_is_written_down_is_what_the_step_asks_for(client: httpx.Client) -> None:
    _, _, job = braking(client)
    step = step_of(job, TIGHTEN)
    refused(tick(client, job["id"], step, records={"mood": 5}), 400, "lever_travel_percent", pointer="/records/mood")
    wrong = tick(client, job["id"], step, records={"check:rub": "perhaps"})
    refused(wrong, 400, "free, rubs", pointer="/records/check:rub")
    wrong = tick(client, job["id"], step, records={"check:lever_travel_percent": "half"})
    refused(wrong, 400, "number", pointer="/records/check:lever_travel_percent")
    written = {"check:rub": "free", "check:lever_travel_percent": 45}
    kept = step_of(ok(tick(client, job["id"], step, records=written)), TIGHTEN)
    assert {each["key"]: each["number"] or each["words"] for each in kept["records"]} == written


def test_a_torque_used_belongs_to_a_bolt_of_the_step(client: httpx.Client) -> None:
    _, _, job = braking(client)
    step = step_of(job, TIGHTEN)
    used = {"fastening": "cable-disc-caliper.mount-bolt", "nm": 7, "bolt": 2}

    def with_torque(**sent: object) -> httpx.Response:
        return tick(client, job["id"], step, torques=[used | sent])

    refused(with_torque(fastening="stem.steerer-clamp"), 400, "mount-bolt", pointer="/torques/0/fastening")
    refused(with_torque(bolt=3), 400, "there are 2", pointer="/torques/0/bolt")
    refused(with_torque(nm=0), 422, "more than 0", pointer="/torques/0/nm")
    refused(with_torque(wrench=job["id"]), 404, "wrench")
    wrench = made(client, "/wrenches", title="Small", low_nm=2, high_nm=24)["id"]
    ok(with_torque(wrench=wrench))


def test_what_a_step_measures_goes_to_its_part(client: httpx.Client) -> None:
    _, parts, job = braking(client)
    weigh = step_of(job, f"whole-bicycle.weigh:{parts['fork']}")
    ok(tick(client, job["id"], weigh, records={"mass": 812.5}))
    assert got(client, f"/parts/{parts['fork']}")["mass_weighed_g"] == 812.5


def test_a_tick_is_taken_back(client: httpx.Client) -> None:
    _, _, job = braking(client)
    ok(tick(client, job["id"], step_of(job, "frame.inspect")))
    path = f"{API}/checklists/{job['id']}/marks/frame.inspect"
    assert step_of(ok(client.delete(path)), "frame.inspect")["state"] == "open"
    refused(client.delete(path), 404, "frame.inspect")


def test_an_unmeasured_spec_asks_and_hides_nothing(client: httpx.Client) -> None:
    on = build(client)
    caliper = part(client, "cable-disc-caliper", specs=specs(mount="post"))
    plan(client, on, caliper, "front")
    job = start(client, on)
    both = ["cable-disc-caliper.set-fixed-pad@front", "cable-disc-caliper.centre-pads@front"]
    assert all(step_of(job, step)["undecided"] for step in both)
    assert "moving_pads" in [each["field"] for each in job["measure_first"]]
    ok(client.put(f"{API}/parts/{caliper}/specs/moving_pads", json={"words": "both"}))
    after = got(client, f"/checklists/{job['id']}")
    assert [step["id"] for step in after["steps"] if step["id"] in both] == [both[1]]
    assert not step_of(after, both[1])["undecided"]


def test_a_job_with_open_safety_steps_is_not_finished(client: httpx.Client) -> None:
    on, _, job = braking(client)
    path = f"{API}/checklists/{job['id']}"
    refused(client.patch(path, json={"finished": True}), 409, "Safety steps are open", "skip", pointer="/finished")
    refused(client.patch(path, json={"finished": False}), 422, pointer="/finished")
    for _ in range(2):  # once anything of safety is skipped, a mechanic's look is a step of its own
        for step in got(client, f"/checklists/{job['id']}")["steps"]:
            if step["safety"] and not step["undecided"]:
                ok(tick(client, job["id"], step, state="skipped", note="an exercise"))
    finished = ok(client.patch(path, json={"finished": True}))
    assert "qualified mechanic" in finished["needs_mechanic"]
    assert got(client, f"/builds/{on}")["state"] == "in service"
    refused(tick(client, job["id"], step_of(finished, "frame.inspect")), 409, "finished")
    refused(client.delete(f"{path}/marks/{TIGHTEN}"), 409, "finished")
    assert start(client, on)["id"] != job["id"]  # the second assembly is a job of its own


def test_a_job_about_a_part_that_has_left_says_so(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    on, parts, _ = braking(client)
    job = start(client, on, "replace", about_part=parts["caliper"])
    service.now = NOON + days(1)
    made(client, f"/builds/{on}/swaps", off=parts["caliper"], same_again=True)
    refused(client.get(f"{API}/checklists/{job['id']}"), 409, "no longer on this bicycle")


def test_a_shop_is_visited_when_everything_for_it_is_here(client: httpx.Client) -> None:
    on = build(client)
    fork = part(
        client, "fork", state="ordered", expected_on="2026-06-01", specs=specs(brake_mount="post", mount_painted="yes")
    )
    caliper = part(client, "cable-disc-caliper", specs=specs(mount="post", moving_pads="one"))
    plan(client, on, fork)
    plan(client, on, caliper, "front")
    job = start(client, on)
    face = step_of(job, "cable-disc-caliper.face-mount@front")
    assert face["where"] == "shop"
    [visit] = [each for each in job["shop_visits"] if face["id"] in each["steps"]]
    assert (visit["ready"], fork in visit["bring"]) == (False, True)
    ok(client.put(f"{API}/tools/disc-mount-facer"), 204)
    assert step_of(got(client, f"/checklists/{job['id']}"), face["id"])["where"] == "home"
    ok(client.delete(f"{API}/tools/disc-mount-facer"), 204)
    assert step_of(got(client, f"/checklists/{job['id']}"), face["id"])["where"] == "shop"


def test_a_grade_written_at_the_stand_is_on_its_scale(client: httpx.Client) -> None:
    on = build(client, state="in service")
    headset = part(client, "headset")
    fit(client, on, headset)
    job = made(client, f"/builds/{on}/checklists", job="service", about_part=headset, task="headset.play")
    step = next(each for each in job["steps"] if any(ask["into"] == "wear:notch" for ask in each["records"]))
    wrong = tick(client, job["id"], step, records={"wear:notch": 7})
    refused(wrong, 400, "a whole number from 0 (smooth) to 3 (grinding), not 7", pointer="/records/wear:notch")
    ok(tick(client, job["id"], step, records={"wear:notch": 1}))
