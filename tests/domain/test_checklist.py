"""The checklist on a small library: which steps there are, in what words, and what opens them again."""

from dataclasses import replace
from uuid import UUID

from service.domain.bicycle import Acceptance, Bench, Wrench
from service.domain.checklist import draw_up
from service.domain.joins import findings
from tests.domain.bicycles import NOW, TODAY, Workshop, by_id, open_ids, record
from tests.domain.small_bicycle import LIBRARY, Bike, at
from tests.domain.small_library import ALL, POST_JOIN, SEATPOST, library


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
    audited = replace(torque, title=f"Cable disc calliper (front): {torque.title}")
    assert by_id(bike.shop.checklist())["whole-bicycle.audit"].torques == (audited,)


def test_why_names_the_fact_and_the_milestone_it_waits_for() -> None:
    step = by_id(Bike().shop.checklist())["cable-disc-caliper.set-fixed@front"]
    assert step.because == ("moving_pads is one (measured)", "waits until cable-in is reached")


def test_a_change_of_wording_since_the_tick_is_said() -> None:
    bike = Bike()
    job = bike.shop.tick_all()
    old = replace(job, marks=tuple(replace(mark, step_hash="0" * 12) for mark in job.marks))
    assert not any(step.wording_changed for step in bike.shop.checklist(job).steps)
    assert all(step.wording_changed for step in bike.shop.checklist(old).steps)


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


def test_two_alike_parts_at_one_place_have_steps_of_their_own() -> None:
    bike = Bike()
    other = bike.add("tyre", into=bike.wheel)
    bike.shop.plan[-1] = replace(bike.shop.plan[-1], place="second")
    placed = bike.shop.bicycle().placed
    same = tuple(replace(p, place="front") if p.part.id == other else p for p in placed)
    checklist = draw_up(replace(bike.shop.bicycle(), placed=same), LIBRARY, bike.shop.job(), now=NOW, today=TODAY)
    assert {"tyre.fit@front", f"tyre.fit@front:{other}"} <= set(by_id(checklist))
    assert len(by_id(checklist)) == len(checklist.steps)


def _seats(bike: Bike) -> list[tuple[UUID, str, UUID | None]]:
    return [(row.part_id, row.place, row.into_part_id) for row in list(bike.shop.plan)]


def test_a_step_of_ones_own_folder_says_so_with_its_records() -> None:
    name = "cable-disc-caliper.tighten@front"
    plain = by_id(Bike().shop.checklist())[name]
    own = replace(LIBRARY, own_figures=frozenset({"cable-disc-caliper.steps.tighten"}))
    bike = Bike()
    bike.shop.library = own
    mine = by_id(bike.shop.checklist())
    assert plain.basis != "your own figure"
    assert mine[name].basis == "your own figure"
    assert [record.basis for record in mine[name].records] == ["your own figure"]
    assert [step.id for step in mine.values() if step.basis == "your own figure"] == [name]
