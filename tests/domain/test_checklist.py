"""The checklist on a small library: which steps, what reopens them, what holds them up, what it adds up to."""

from dataclasses import replace
from datetime import timedelta
from typing import Any
from uuid import UUID

import pytest

from service.domain.bicycle import Acceptance, Bench, Wrench
from service.domain.checklist import draw_up
from service.domain.joins import findings
from service.errors import Refusal
from tests.domain.bicycles import NOW, TODAY, Workshop, by_id, open_ids, record
from tests.domain.small_library import ALL, POST_JOIN, SEATPOST, library

LIBRARY = library()


class Bike:
    """Two wheels, a front brake, fork and frame: enough to assemble. `planned` ones lie in the bin."""

    def __init__(self, *, planned: bool = True) -> None:
        self.shop = Workshop(LIBRARY)
        self.put = self.shop.choose if planned else self.shop.fit
        self.frame = self.add("frame", brake_mount="flat", painted=True)
        self.fork = self.add("fork", brake_mount="post", steerer_mm=250)
        self.headset = self.add("headset", pressed=False)
        self.bottom = self.add("bottom-bracket")
        self.lever = self.add("brake-lever", "left", works_brake="front")
        self.calliper = self.add("cable-disc-caliper", "front", mount="post", moving_pads="one")
        self.pads = self.add("brake-pads", into=self.calliper)
        self.cable = self.add("brake-cable", "front")
        self.wheel = self.add("wheel", "front", built_by="home")
        self.hub, self.rim = self.add("hub", into=self.wheel), self.add("rim", into=self.wheel)
        self.tyre, self.rotor = self.add("tyre", into=self.wheel), self.add("rotor", into=self.wheel)

    def add(self, category: str, place: str = "", into: UUID | None = None, **specs: Any) -> UUID:
        part = self.shop.part(category, **specs)
        self.put(part, place, into)
        return part


def at(ids: set[str], name: str) -> bool:
    return any(each == name or each.startswith((name + "@", name + ":")) for each in ids)


def test_steps_stand_at_their_place_and_those_of_each_part_name_the_part() -> None:
    bike = Bike()
    ids = set(by_id(bike.shop.checklist()))
    assert {"cable-disc-caliper.tighten@front", "headset.trial", f"whole-bicycle.weigh:{bike.rim}"} <= ids


def test_a_title_names_the_part_or_the_place_where_it_would_not_tell_them_apart() -> None:
    bike = Bike()
    steps = by_id(bike.shop.checklist())
    assert steps[f"whole-bicycle.weigh:{bike.rim}"].title == "Weigh: Rim (front)"
    assert steps["cable-disc-caliper.hang@front"].title == "Hang the front calliper"
    assert steps["brake-cable.draw@front"].title == "Draw (front)"


def test_what_does_not_apply_is_left_out_and_the_default_order_passes_over_it() -> None:
    steps = by_id(Bike().shop.checklist())
    assert "cable-disc-caliper.centre@front" not in steps
    assert "cable-disc-caliper.set-fixed@front" in steps["cable-disc-caliper.tighten@front"].after


def test_a_spec_nobody_measured_shows_the_step_as_undecided_and_asks_for_it() -> None:
    bike = Bike()
    loose = bike.shop.part("cable-disc-caliper", mount="post")
    bike.shop.choose(loose, "rear")
    checklist = bike.shop.checklist()
    steps = by_id(checklist)
    for name in ("set-fixed", "centre"):
        (fact,) = steps[f"cable-disc-caliper.{name}@rear"].undecided
        assert (fact.part_id, fact.field, fact.how) == (loose, "moving_pads", "Look at moving_pads.")
    first = next(each for each in checklist.measure_first if each.fact.field == "moving_pads")
    assert first.decides == 2


def test_what_the_position_decides_is_never_asked_for_beforehand() -> None:
    fork = replace(
        next(c for c in ALL if c.category == "fork"),
        steps=tuple(replace(s, when={"wanted_mm": {"under": 200}}) for s in LIBRARY.categories["fork"].steps),
    )
    shop = Workshop(library(tuple(fork if c.category == "fork" else c for c in ALL)))
    shop.choose(shop.part("fork"))
    checklist = shop.checklist()
    assert by_id(checklist)["fork.cut"].undecided
    assert not [each for each in checklist.measure_first if each.fact.field == "wanted_mm"]


def test_the_rider_is_measured_before_anything_is_cut() -> None:
    ids = [step.id for step in Bike().shop.checklist().steps]
    cuts = [step.id for step in Bike().shop.checklist().steps if step.cuts]
    assert cuts
    assert all(ids.index("whole-bicycle.position") < ids.index(cut) for cut in cuts)


def test_a_tick_before_mounting_stays_when_the_part_is_mounted() -> None:
    bike = Bike()
    job = bike.shop.tick_all()
    assert not open_ids(bike.shop.checklist(job))
    for part, place, into in _seats(bike):
        bike.shop.fit(part, place, into)
    assert not open_ids(bike.shop.checklist(job))


def _seats(bike: Bike) -> list[tuple[UUID, str, UUID | None]]:
    return [(row.part_id, row.place, row.into_part_id) for row in list(bike.shop.plan)]


def test_a_part_taken_off_and_put_back_opens_its_steps_and_says_so() -> None:
    bike = Bike(planned=False)
    job = bike.shop.tick_all()
    bike.shop.off_and_on(bike.calliper)
    steps = by_id(bike.shop.checklist(job))
    assert steps["cable-disc-caliper.tighten@front"].reopened == (
        "The cable disc calliper was taken off and put back on 24 January."
    )
    assert steps["headset.build"].state == "done"


def test_a_wheel_out_and_in_opens_nothing_of_its_bench_work() -> None:
    bike = Bike(planned=False)
    job = bike.shop.tick_all()
    bike.shop.off_and_on(bike.wheel)
    met = open_ids(bike.shop.checklist(job))
    assert "wheel.in@front" in met
    for bench in ("wheel.lace", "wheel.true", "tyre.fit", "rotor.fit", "whole-bicycle.weigh", "whole-bicycle.lay-out"):
        assert not at(met, bench), bench


def test_a_new_rim_opens_the_lacing_and_the_tyre_but_not_the_brake() -> None:
    bike = Bike(planned=False)
    job = bike.shop.tick_all()
    bike.shop.swap(bike.rim, bike.shop.part("rim"))
    met = open_ids(bike.shop.checklist(job))
    assert {"wheel.lace@front", "wheel.true@front", "tyre.fit@front"} <= met
    assert not at(met, "cable-disc-caliper.hang")
    assert not at(met, "rotor.fit")


def test_a_part_that_disturbs_a_milestone_opens_what_gives_it() -> None:
    bike = Bike(planned=False)
    job = bike.shop.tick_all()
    bike.shop.swap(bike.pads, bike.shop.part("brake-pads"))
    steps = by_id(bike.shop.checklist(job))
    assert steps["cable-disc-caliper.tighten@front"].reopened == "The brake pads were replaced on 24 January."
    assert steps["cable-disc-caliper.hang@front"].state == "done"


def test_a_first_fitting_disturbs_nothing() -> None:
    bike = Bike(planned=False)
    late = bike.shop.part("brake-pads")
    bike.shop.take_off(bike.pads)
    bike.shop.fittings = [f for f in bike.shop.fittings if f.part_id != bike.pads]
    job = bike.shop.tick_all()
    bike.shop.fit(late, "", bike.calliper)
    assert "cable-disc-caliper.tighten@front" not in open_ids(bike.shop.checklist(job))


def test_a_marked_step_stays_whatever_its_condition_says_now() -> None:
    bike = Bike()
    job = bike.shop.tick_all()
    part = bike.shop.parts[bike.calliper]
    bike.shop.parts[bike.calliper] = replace(part, specs={**part.specs, "moving_pads": ()})
    assert by_id(bike.shop.checklist(job))["cable-disc-caliper.set-fixed@front"].state == "done"


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
    assert set(steps["wheel.in@front"].after) == {"wheel.true@front"}


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


def test_looks_come_before_what_fits_or_touches_the_part_and_only_where_it_is_used() -> None:
    bike = Bike()
    assert "cable-disc-caliper.look-over@front" not in by_id(bike.shop.checklist())
    bike.shop.parts[bike.calliper] = replace(bike.shop.parts[bike.calliper], origin="second-hand")
    steps = by_id(bike.shop.checklist())
    look = "cable-disc-caliper.look-over@front"
    assert steps[look].reject == "A crack."
    assert look in steps["cable-disc-caliper.hang@front"].after
    assert look in steps["brake-cable.draw@front"].after


def test_a_combined_lever_shows_the_steps_it_takes_and_none_other_of_its_roles() -> None:
    shop = Workshop(LIBRARY)
    shop.choose(shop.part("combined-lever", works_brake="rear", works_gear="rear"), "right")
    ids = set(by_id(shop.checklist()))
    assert {"combined-lever.slide@right", "combined-lever.tie@right"} <= ids
    assert not at(ids, "brake-lever.fit")


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
    assert "Before it: Pass." in visits[0].waits_for


def test_a_visit_is_ready_when_all_is_in_hand_and_nothing_comes_before() -> None:
    bike = Bike()
    early = {"whole-bicycle.bench", f"whole-bicycle.lay-out:{bike.frame}", "frame.pass"}
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


def test_a_skipped_safety_step_asks_for_a_mechanic_and_adds_the_second_look() -> None:
    bike = Bike()
    assert bike.shop.checklist().needs_mechanic is None
    step = by_id(bike.shop.checklist())["whole-bicycle.position"]
    job = bike.shop.job(marks=(bike.shop.mark(step, "skipped"),))
    checklist = bike.shop.checklist(job)
    assert checklist.needs_mechanic is not None
    assert "skipped: Position" in checklist.needs_mechanic
    assert "whole-bicycle.second-look" in by_id(checklist)


def test_a_safety_step_left_open_when_the_job_is_finished_asks_for_a_mechanic() -> None:
    bike = Bike()
    job = replace(bike.shop.tick_all(leave=["cable-disc-caliper.tighten@front"]), finished_at=NOW)
    assert "not done: Tighten" in (bike.shop.checklist(job).needs_mechanic or "")


def test_an_accepted_finding_asks_for_a_mechanic_and_adds_its_step() -> None:
    post = replace(
        SEATPOST,
        joins=(replace(POST_JOIN, accepting_adds="watch"),),
        steps=(*SEATPOST.steps, replace(SEATPOST.steps[0], key="watch", fits=False)),
    )
    shop = Workshop(library(tuple(post if c.category == "seatpost" else c for c in ALL)))
    shop.choose(shop.part("frame", post_mm=27.2))
    shop.choose(shop.part("seatpost", diameter_mm=27.0))
    assert "seatpost.watch" not in by_id(shop.checklist())
    (found,) = (f for f in findings(shop.bicycle(), shop.library) if f.answer == "conflicts")
    shop.accepted.append(Acceptance(found.join, found.fingerprint, "conflicts", "shimmed with care", NOW))
    checklist = shop.checklist()
    assert "seatpost.watch" in by_id(checklist)
    assert "accepted with a reason: Post and bore" in (checklist.needs_mechanic or "")
    shop.accepted[0] = replace(shop.accepted[0], fingerprint="other")
    assert shop.checklist().needs_mechanic is None


def test_torques_and_words_are_filled_in() -> None:
    bike = Bike()
    bike.shop.bench = Bench(wrenches=(Wrench(UUID(int=5), "small", 2, 24, 4, None),))
    step = by_id(bike.shop.checklist())["cable-disc-caliper.tighten@front"]
    (torque,) = step.torques
    assert (torque.fastening, torque.bolts, torque.low_nm, torque.high_nm) == ("cable-disc-caliper.bolt", 2, 6, 8)
    assert step.cautions == ("The front rotor burns.",)
    assert by_id(bike.shop.checklist())["whole-bicycle.audit"].torques == (torque,)


def test_why_names_the_fact_and_the_milestone_it_waits_for() -> None:
    step = by_id(Bike().shop.checklist())["cable-disc-caliper.set-fixed@front"]
    assert step.because == ("moving_pads is one (measured)", "waits until cable-in is reached")


def test_a_change_of_wording_since_the_tick_is_said() -> None:
    bike = Bike()
    job = bike.shop.tick_all()
    old = replace(job, marks=tuple(replace(mark, step_hash="0" * 12) for mark in job.marks))
    assert not any(step.wording_changed for step in bike.shop.checklist(job).steps)
    assert all(step.wording_changed for step in bike.shop.checklist(old).steps)


def test_replacing_a_part_shows_its_steps_and_what_touches_or_is_disturbed() -> None:
    bike = Bike(planned=False)
    ids = set(by_id(bike.shop.checklist(bike.shop.job("replace", about=bike.pads))))
    assert {"brake-pads.put-in@front", "cable-disc-caliper.tighten@front", "whole-bicycle.audit"} <= ids
    assert not at(ids, "headset.build")
    assert not at(ids, "cable-disc-caliper.hang")
    assert (
        bike.shop.checklist(bike.shop.job("replace", about=bike.pads)).notes[0].startswith("Brake pads: take the old")
    )


def test_replacing_shows_the_steps_of_others_whether_or_not_they_were_ticked_before() -> None:
    bike = Bike(planned=False)
    ids = by_id(bike.shop.checklist(bike.shop.job("replace", about=bike.headset)))
    assert ids["whole-bicycle.position"].state == "open"
    assert "headset.trial" in ids


def test_a_service_is_the_steps_of_its_task_that_apply() -> None:
    bike = Bike(planned=False)
    job = bike.shop.job("service", about=bike.calliper, task="cable-disc-caliper.take-up")
    assert [step.id for step in bike.shop.checklist(job).steps] == [
        "cable-disc-caliper.set-fixed@front",
        "cable-disc-caliper.tighten@front",
    ]


def test_a_check_is_the_look_of_a_part_or_the_steps_of_a_task() -> None:
    bike = Bike(planned=False)
    look = bike.shop.checklist(bike.shop.job("check", about=bike.calliper))
    assert [step.id for step in look.steps] == ["cable-disc-caliper.look-over@front"]
    monthly = bike.shop.checklist(bike.shop.job("check", task="whole-bicycle.monthly"))
    assert [step.id for step in monthly.steps] == ["whole-bicycle.audit"]


@pytest.mark.parametrize("task", ["cable-disc-caliper.nothing", "nothing", "nothing.at-all"])
def test_a_task_that_does_not_exist_is_refused_with_what_would_be_right(task: str) -> None:
    bike = Bike()
    with pytest.raises(Refusal, match="There is no task") as met:
        bike.shop.checklist(bike.shop.job("service", task=task))
    assert met.value.errors[0].pointer == "/task"


def test_a_job_about_a_part_that_is_not_on_the_bicycle_is_refused() -> None:
    bike = Bike()
    with pytest.raises(Refusal, match="neither on the bicycle"):
        bike.shop.checklist(bike.shop.job("replace", about=UUID(int=99)))
    with pytest.raises(Refusal, match="names the part"):
        bike.shop.checklist(bike.shop.job("replace"))


def test_records_of_wear_are_asked_part_by_part_and_answers_come_back() -> None:
    bike = Bike()
    steps = by_id(bike.shop.checklist())
    assert [r.key for r in steps["brake-pads.put-in@front"].records] == ["wear:lining_mm@inner", "wear:lining_mm@outer"]
    baseline = {r.key: r.part_id for r in steps["whole-bicycle.baseline"].records}
    assert baseline == {
        "wear:rim.wall_mm@front": bike.rim,
        "wear:brake-pads.lining_mm@front.inner": bike.pads,
        "wear:brake-pads.lining_mm@front.outer": bike.pads,
    }
    answer = record(steps["brake-pads.put-in@front"], "wear:lining_mm@inner", 2.5)
    job = bike.shop.job(records=(answer,))
    assert by_id(bike.shop.checklist(job))["brake-pads.put-in@front"].records[0].number == 2.5


def test_the_same_values_give_the_same_checklist() -> None:
    bike = Bike()
    assert bike.shop.checklist() == bike.shop.checklist()
