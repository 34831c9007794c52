"""What resets a task and what never does, unknown pasts, the owner's own limits. Common practice, no source."""

import pytest

from service.domain.bicycle import PutOff
from tests.domain.due_shelf import SHOP, one, rides
from tests.domain.garage import Garage, at

# The five rules of resetting


def test_an_event_completes_the_task_it_names_and_nothing_else() -> None:
    garage, chain = one("chain")
    rides(garage, 600)
    garage.event("lubricated", at(2), "chain.lubricate", part=chain)
    found = garage.due(3)
    assert found["chain.lubricate"].state == "fine"
    assert found["chain.clean"].state == "overdue"


def test_a_task_starts_those_afresh_that_it_restarts() -> None:
    garage, chain = one("chain")
    rides(garage, 600)
    garage.event("cleaned", at(2), "chain.clean", part=chain)
    found = garage.due(3)
    assert found["chain.lubricate"].state == "fine"
    assert found["chain.lubricate"].metres_left == 300_000


def test_a_task_of_the_whole_bicycle_starts_those_of_its_parts_afresh() -> None:
    garage, _ = one("chain")
    rides(garage, 600)
    garage.event("inspected", at(2), "whole-bicycle.monthly")
    found = garage.due(3)
    assert found["chain.clean"].state == "fine"
    assert found["chain.lubricate"].state == "overdue"


def test_a_look_says_which_bundle_does_it_while_that_is_due_no_later() -> None:
    garage, _ = one("chain")
    rides(garage, 600)
    found = garage.due(3)
    assert found["whole-bicycle.monthly"].state == found["chain.clean"].state
    assert found["chain.clean"].within == "whole-bicycle.monthly"
    assert (found["whole-bicycle.monthly"].within, found["chain.lubricate"].within) == (None, None)
    garage.event("inspected", at(2), "whole-bicycle.monthly")
    rides(garage, 100, day=4)
    assert garage.due(5)["chain.clean"].within is None


def test_an_event_that_names_no_task_resets_none() -> None:
    garage, chain = one("chain")
    rides(garage, 600)
    garage.event("inspected", at(2), part=chain)
    assert garage.due(3)["chain.clean"].state == "overdue"


def test_a_new_chain_adds_one_to_the_cassette_and_leaves_its_distance_and_clocks() -> None:
    garage, chain = one("chain")
    wheel, cassette = garage.part("wheel"), garage.part("cassette")
    garage.fit(wheel, at(0), "rear")
    garage.fit(cassette, at(0), "", wheel)
    rides(garage, 1500)
    for day in (2, 3, 4):
        fresh = garage.part("chain")
        garage.swap(chain, fresh, at(day))
        chain = fresh
        found = garage.due(5)
        assert found["cassette.look@rear"].share == pytest.approx((day - 1) / 3)
        assert found["cassette.clean@rear"].metres_left == 500_000
    assert garage.due(5)["cassette.look@rear"].state == "due"
    assert garage.due(5)["chain.clean"].metres_left == 500_000
    assert garage.due(5)["cassette.skip-test@rear"].state == "due"


def test_two_chains_in_rotation_are_not_counted_as_worn_out_each_time() -> None:
    garage, first = one("chain")
    wheel, cassette = garage.part("wheel"), garage.part("cassette")
    garage.fit(wheel, at(0), "rear")
    garage.fit(cassette, at(0), "", wheel)
    second = garage.part("chain")
    for day in range(1, 7):
        old, new = (first, second) if day % 2 else (second, first)
        garage.swap(old, new, at(day))
    assert garage.due(8)["cassette.look@rear"].share == pytest.approx(1 / 3)


def test_adjusting_the_calliper_leaves_the_pads_alone_and_new_pads_start_its_take_up() -> None:
    garage = Garage(SHOP)
    calliper, pads = garage.part("calliper"), garage.part("pads")
    garage.fit(calliper, at(0), "front")
    garage.fit(pads, at(0), "", calliper)
    rides(garage, 900)
    garage.event("adjusted", at(2), "calliper.take-up", part=calliper)
    found = garage.due(3)
    assert found["calliper.take-up@front"].metres_left == 400_000
    assert found["pads.look@front"].metres_left == 100_000
    rides(garage, 60, day=3)
    garage.event("inspected", at(3, 20), "pads.look", part=pads)
    assert garage.due(3)["calliper.take-up@front"].metres_left == 340_000
    garage.swap(pads, garage.part("pads"), at(4))
    found = garage.due(5)
    assert found["calliper.take-up@front"].metres_left == 100_000
    assert found["pads.look@front"].metres_left == 1_000_000


def test_new_pads_at_one_end_start_nothing_at_the_other() -> None:
    garage = Garage(SHOP)
    pads = {}
    for end in ("front", "rear"):
        calliper, pads[end] = garage.part("calliper"), garage.part("pads")
        garage.fit(calliper, at(0), end)
        garage.fit(pads[end], at(0), "", calliper)
        garage.event("adjusted", at(1), "calliper.take-up", part=calliper)
    rides(garage, 300, day=2)
    garage.swap(pads["front"], garage.part("pads"), at(3))
    found = garage.due(4)
    assert found["calliper.take-up@front"].cycle != found["calliper.take-up@rear"].cycle
    assert found["calliper.take-up@front"].metres_left == 100_000
    assert found["calliper.take-up@rear"].metres_left == 100_000
    assert "New pads fitted" in found["calliper.take-up@front"].why
    assert "Last done" in found["calliper.take-up@rear"].why


def test_moving_a_part_resets_nothing_but_fitting_it_starts_the_settling_check() -> None:
    garage, stem = one("stem")
    garage.event("tightened", at(1), "stem.torque", part=stem)
    garage.event("lubricated", at(1), "stem.regrease", part=stem)
    garage.take_off(stem, at(100))
    garage.fit(stem, at(100))
    found = garage.due(130)
    assert found["stem.torque"].state == "overdue"
    assert "Fitted on" in found["stem.torque"].why
    assert found["stem.regrease"].day == at(366).date()


def test_a_wheel_swap_starts_no_settling_check_of_what_sits_in_it() -> None:
    garage = Garage(SHOP)
    wheel, cassette = garage.part("wheel"), garage.part("cassette")
    garage.fit(wheel, at(0), "rear")
    garage.fit(cassette, at(0), "", wheel)
    before = garage.due(9)["cassette.clean@rear"].cycle
    garage.take_off(wheel, at(10))
    garage.fit(wheel, at(10, 1), "rear")
    found = garage.due(11)
    assert found["cassette.clean@rear"].cycle == before
    assert found["wheel.retention@rear"].state == "due"


def test_days_in_the_bin_count_only_where_a_part_ages_there() -> None:
    for name, key, left in (("sealant", "sealant.top-up", 10), ("post", "post.grease", 165)):
        garage, part = one(name)
        garage.take_off(part, at(5))
        garage.fit(part, at(100))
        assert garage.due(110)[key].days_left == left


def test_greasing_the_post_asks_for_the_clamp_again() -> None:
    garage, clamp = one("clamp")
    post = garage.part("post")
    garage.fit(post, at(0))
    garage.event("tightened", at(1), "clamp.torque", part=clamp)
    garage.event("lubricated", at(10), "post.grease", part=post)
    rides(garage, 50, day=11)
    assert garage.due(12)["clamp.torque"].state == "due"


def test_kilometres_on_a_trainer_do_not_count_for_tyres_and_grit_counts_double() -> None:
    garage = Garage(SHOP)
    wheel, tyre = garage.part("wheel"), garage.part("tyre")
    garage.fit(wheel, at(0), "rear")
    garage.fit(tyre, at(0), "", wheel)
    rides(garage, 800, conditions="indoor")
    assert garage.due(2)["tyre.tread@rear"].metres_left == 1_000_000
    rides(garage, 100, conditions="gritty")
    assert garage.due(2)["tyre.tread@rear"].metres_left == 800_000


# Unknown pasts, conditions, rules, rest


@pytest.mark.parametrize("origin", ["second-hand", "owned", "came fitted"])
def test_a_part_of_unknown_past_is_looked_at_once_then_it_counts(origin: str) -> None:
    garage, chain = one("chain", origin=origin, metres_before=None)
    rides(garage, 10)
    assert garage.due(2)["chain.lubricate"].state == "look once"
    garage.event("lubricated", at(3), "chain.lubricate", part=chain)
    found = garage.due(4)["chain.lubricate"]
    assert found.state == "fine"
    assert found.last == at(3).date()


def test_a_known_past_counts_for_distance() -> None:
    garage, _ = one("chain", origin="second-hand", metres_before=450_000)
    rides(garage, 60)
    assert garage.due(2)["chain.clean"].state == "due"


def test_the_settling_check_of_a_used_part_runs_from_its_fitting() -> None:
    garage, _ = one("stem", origin="second-hand", metres_before=None)
    found = garage.due(2)
    assert found["stem.torque"].state == "fine"
    assert found["stem.regrease"].state == "look once"


def test_an_unmeasured_spec_never_hides_a_task() -> None:
    garage, _ = one("hub")
    assert "bearing" in garage.due(2)["hub.regrease"].why
    sealed, _ = one("hub", bearing="sealed")
    assert "hub.regrease" not in sealed.due(2)


def test_the_owners_limits_stand_for_the_librarys_the_parts_own_first() -> None:
    garage, chain = one("chain")
    rides(garage, 400)
    garage.rule("chain.lubricate", metres=450_000)
    assert garage.due(2)["chain.lubricate"].metres_left == 50_000
    garage.rule("chain.lubricate", chain, metres=800_000, reason="wax")
    found = garage.due(2)["chain.lubricate"]
    assert found.metres_left == 400_000
    assert "your own, wax" in found.why


def test_a_task_switched_off_says_by_what_reason() -> None:
    garage, _ = one("chain")
    rides(garage, 900)
    garage.rule("chain.lubricate", off=True, reason="a belt soon")
    found = garage.due(2)["chain.lubricate"]
    assert found.state == "switched off"
    assert "a belt soon" in found.why


def test_a_bicycle_laid_up_rests_but_for_what_ages() -> None:
    garage, _ = one("chain")
    sealant = garage.part("sealant")
    garage.fit(sealant, at(0))
    rides(garage, 900)
    garage.state = "laid up"
    found = garage.due(130)
    assert found["chain.lubricate"].state == "resting"
    assert found["sealant.top-up"].state == "due"


def test_days_put_away_do_not_age_what_only_use_ages() -> None:
    garage, _ = one("post")
    garage.event("put away", at(10))
    garage.event("woken", at(110))
    assert garage.due(115)["post.grease"].days_left == 180 - 15


def test_a_put_off_stands_beside_the_state() -> None:
    garage, chain = one("chain")
    rides(garage, 900)
    garage.put_offs.append(PutOff(None, chain, "chain.lubricate", at(10).date(), None, "no oil"))
    found = garage.due(2)["chain.lubricate"]
    assert (found.state, found.put_off) == ("overdue", "until 11 January: no oil")
    assert garage.due(10)["chain.lubricate"].put_off is None
