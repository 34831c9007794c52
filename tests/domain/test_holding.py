"""What holds steps up, what can be done today, at which visit, and how long it all takes."""

from dataclasses import replace
from datetime import timedelta

from service.domain.bicycle import Bench
from service.domain.checklist import draw_up
from tests.domain.bicycles import NOW, TODAY, by_id
from tests.domain.small_bicycle import LIBRARY, Bike, at


def test_a_part_on_order_holds_up_only_the_steps_that_work_on_it() -> None:
    bike = Bike()
    bike.shop.parts[bike.rotor] = replace(
        bike.shop.parts[bike.rotor], state="ordered", expected_on=TODAY + timedelta(days=5)
    )
    held = {
        step.id: block.say for step in bike.shop.checklist().steps for block in step.blocked_by if block.kind == "part"
    }
    assert set(held) == {
        "rotor.fit@front",
        "rotor.true-up@front",
        f"whole-bicycle.lay-out:{bike.rotor}",
        f"whole-bicycle.weigh:{bike.rotor}",
    }
    assert held["rotor.fit@front"] == "Rotor (front): ordered, expected on 9 May."


def test_a_part_that_is_not_there_holds_nothing_up() -> None:
    bike = Bike()
    bike.shop.plan = [row for row in bike.shop.plan if row.part_id not in (bike.rotor, bike.tyre)]
    steps = by_id(bike.shop.checklist())
    assert not at(set(steps), "rotor.fit")
    own_bench = {f"whole-bicycle.{key}:{bike.wheel}" for key in ("lay-out", "weigh")}
    assert set(steps["wheel.in@front"].after) == {"wheel.true@front", *own_bench}


def test_a_part_that_arrives_late_is_weighed_before_the_step_that_fits_it() -> None:
    steps = by_id(Bike().shop.checklist())
    for step in steps.values():
        for fitted in step.fits:
            assert f"whole-bicycle.weigh:{fitted}" in step.after
    assert sum(len(step.fits) for step in steps.values()) > 10


def test_a_bench_row_holds_up_only_the_steps_of_its_own_part() -> None:
    bike = Bike()
    bike.shop.parts[bike.tyre] = replace(bike.shop.parts[bike.tyre], state="ordered")
    steps = by_id(bike.shop.checklist())
    laid_out = f"whole-bicycle.lay-out:{bike.tyre}"
    assert laid_out not in steps["frame.pass"].after
    assert f"whole-bicycle.lay-out:{bike.frame}" in steps["frame.pass"].after
    weighed = {each for each in steps["whole-bicycle.position"].after if each.startswith("whole-bicycle.weigh")}
    assert f"whole-bicycle.weigh:{bike.tyre}" not in weighed
    assert f"whole-bicycle.weigh:{bike.rim}" in weighed


def test_what_waits_holds_up_its_followers_until_it_has_rested() -> None:
    bike = Bike()
    steps = by_id(bike.shop.checklist())
    bike.shop.now = NOW - timedelta(hours=2)
    job = bike.shop.job(marks=(bike.shop.mark(steps["rotor.fit@front"]), bike.shop.mark(steps["wheel.in@front"])))
    (block,) = by_id(bike.shop.checklist(job))["rotor.true-up@front"].blocked_by
    assert (block.kind, block.until) == ("wait", NOW + timedelta(hours=22))
    later = draw_up(bike.shop.bicycle(), LIBRARY, job, now=NOW + timedelta(hours=23), today=TODAY)
    assert "rotor.true-up@front" in later.today


def test_today_is_what_nothing_holds_up() -> None:
    bike = Bike()
    today = bike.shop.checklist().today
    assert "whole-bicycle.bench" in today
    assert not at(set(today), "whole-bicycle.lay-out")
    steps = by_id(bike.shop.checklist())
    job = bike.shop.job(marks=(bike.shop.mark(steps["whole-bicycle.bench"]),))
    today = bike.shop.checklist(job).today
    assert {f"whole-bicycle.lay-out:{row.part_id}" for row in bike.shop.plan} <= set(today)
    assert not at(set(today), "frame.pass")
    assert not at(set(today), "headset.press")


def test_a_skipped_step_counts_as_done_for_the_order() -> None:
    bike = Bike()
    steps = by_id(bike.shop.checklist())
    job = bike.shop.job(marks=(bike.shop.mark(steps["whole-bicycle.bench"], "skipped"),))
    assert by_id(bike.shop.checklist(job))[f"whole-bicycle.lay-out:{bike.rim}"].blocked_by == ()


def test_ticks_may_come_in_any_order_and_an_open_step_before_is_said() -> None:
    bike = Bike()
    steps = by_id(bike.shop.checklist())
    job = bike.shop.job(marks=(bike.shop.mark(steps["whole-bicycle.audit"]),))
    after = by_id(bike.shop.checklist(job))
    assert after["whole-bicycle.audit"].state == "done"
    assert {"step"} == {block.kind for block in after["cable-disc-caliper.tighten@front"].blocked_by}


def test_a_shop_step_comes_home_to_who_owns_its_tools() -> None:
    bike = Bike()
    assert by_id(bike.shop.checklist())["fork.cut"].where == "shop"
    bike.shop.bench = Bench(tools=frozenset({"hacksaw", "hex:5"}))
    steps = by_id(bike.shop.checklist())
    assert steps["fork.cut"].where == "home"
    assert steps["headset.press"].where == "shop"
    assert [(t.tool, t.size, t.owned) for t in steps["cable-disc-caliper.hang@front"].tools] == [("hex", "5", True)]


def test_a_tool_that_is_not_owned_holds_a_home_step_up_once_there_is_a_list() -> None:
    bike = Bike()
    hang = "cable-disc-caliper.hang@front"
    assert "tool" not in {block.kind for block in by_id(bike.shop.checklist())[hang].blocked_by}
    bike.shop.bench = Bench(tools=frozenset({"hex:4"}))
    assert "tool" in {block.kind for block in by_id(bike.shop.checklist())[hang].blocked_by}
    bike.shop.bench = Bench(tools=frozenset({"hex"}))
    assert "tool" not in {block.kind for block in by_id(bike.shop.checklist())[hang].blocked_by}


def test_visits_gather_shop_steps_and_list_what_to_bring() -> None:
    bike = Bike()
    visits = bike.shop.checklist().shop_visits
    assert [visit.steps for visit in visits] == [("bottom-bracket.chase", "headset.press"), ("fork.cut",)]
    assert set(visits[0].bring) == {bike.frame, bike.headset}
    assert not visits[0].ready
    assert "Before it: Weigh: Frame." in visits[0].waits_for


def test_a_visit_is_ready_when_all_is_in_hand_and_nothing_comes_before() -> None:
    bike = Bike()
    bench = {f"whole-bicycle.{key}:{bike.frame}" for key in ("lay-out", "weigh")}
    early = {"whole-bicycle.bench", *bench, "frame.pass"}
    steps = bike.shop.checklist().steps
    job = bike.shop.job(marks=tuple(bike.shop.mark(step) for step in steps if step.id in early))
    assert bike.shop.checklist(job).shop_visits[0].ready
    bike.shop.parts[bike.headset] = replace(bike.shop.parts[bike.headset], state="ordered")
    visit = bike.shop.checklist(job).shop_visits[0]
    assert (visit.ready, visit.waits_for) == (False, ("Headset: ordered, no day named.",))


def test_the_longest_chain_counts_waits_and_arrivals() -> None:
    bike = Bike()
    checklist = bike.shop.checklist()
    assert checklist.minutes_left == sum(step.minutes for step in checklist.steps)
    assert checklist.longest_chain.minutes > 1440  # the rotor's day of waiting is on it
    assert "rotor.fit@front" in checklist.longest_chain.steps
    day = TODAY + timedelta(days=30)
    bike.shop.parts[bike.headset] = replace(bike.shop.parts[bike.headset], state="ordered", expected_on=day)
    late = bike.shop.checklist().longest_chain
    assert late.minutes >= 30 * 1440
    assert "headset" in late.steps[0] or late.steps[0].startswith("whole-bicycle.lay-out")


def test_tools_consumables_and_small_parts_add_up() -> None:
    bike = Bike()
    checklist = bike.shop.checklist()
    assert {(t.tool, t.size) for t in checklist.tools} >= {("hex", "5"), ("hacksaw", None)}
    assert [(c.what, c.amount) for c in checklist.consumables] == [("grease", 1)]
    assert [(s.what, s.amount, s.part_id) for s in checklist.small_parts] == [("caliper-bolt", 2, bike.calliper)]
