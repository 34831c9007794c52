"""What is due: each state at its boundary, each rule of resetting. Rules: common practice, no source, unless said."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.bicycle import PutOff
from service.domain.due import RANKS, STATES, Due, offers, state_of, summary
from service.domain.procedure import Factors, Span
from tests.domain.garage import BUILD, Garage, at, category, choice, library, task

EVERY = Span(km=1000, days=200)
SELDOM = Span(km=2000, days=180)
SHOP = library(
    category("whole-bicycle", tasks=(
        task("monthly", every=Span(km=500, days=30, wet_days=14), weight="safety"),
        task("after-crash", after=("crash",), weight="safety", done_by=("inspected",)),
        task("after-wet", after=("wet",)),
        task("after-storage", after=("stored",), weight="safety"),
        task("after-travel", after=("travelled",), weight="safety"),
    )),
    category("frame"),
    category("wheel", places=("front", "rear"), tasks=(task("retention", after=("refitted",), weight="safety"),)),
    category("tyre", into=("wheel",), tasks=(task("tread", every=Span(km=1000), factors="tyre"),)),
    category("chain", tasks=(
        task("lubricate", every=Span(km=300), done_by=("lubricated",)),
        task("clean", every=Span(km=500), restarts=("chain.lubricate",), done_by=("cleaned",)),
    )),
    category("cassette", into=("wheel",), tasks=(
        task("look", every=Span(parts=3, parts_of="chain")),
        task("skip-test", after=("swapped:chain",), weight="safety"),
        task("clean", every=Span(km=2000)),
    )),
    category("calliper", places=("front", "rear"), tasks=(
        task("take-up", first=Span(km=100), every=Span(km=400), weight="safety", done_by=("adjusted",)),
    )),
    category("pads", into=("calliper",), tasks=(
        task("bed-in", first=Span(km=20), restarts=("calliper.take-up",)),
        task("look", every=EVERY, done_by=("inspected",)),
    )),
    category("stem", tasks=(
        task("torque", first=Span(km=50, overdue_km=200, overdue_days=30), every=SELDOM, weight="safety"),
        task("regrease", every=Span(days=365), done_by=("lubricated",)),
    )),
    category("clamp", tasks=(
        task("torque", first=Span(km=50), every=Span(km=2000), after=("done:post.grease",), weight="safety"),
    )),
    category("post", tasks=(task("grease", first=Span(days=180), every=Span(days=180), done_by=("lubricated",)),)),
    category("fork", tasks=(task("lowers", every=Span(hours=50), needs_shop=True),)),
    category("sealant", tasks=(task("top-up", every=Span(days=120), in_bin=True),)),
    category("hub", specs=(choice("bearing", "loose", "sealed"),), tasks=(
        task("regrease", every=Span(days=365), when={"bearing": "loose"}, in_bin=True),
    )),
    factors={"tyre": Factors(indoor=0.0, wet=1.0, gritty=2.0, basis="from memory")},
)  # fmt: skip


def one(name: str, **more: object) -> tuple[Garage, object]:
    """A bicycle with one part, fitted on the first day."""
    garage = Garage(SHOP)
    part = garage.part(name, **more)  # type: ignore[arg-type]
    garage.fit(part, at(0))
    return garage, part


def rides(garage: Garage, km: float, day: int = 1, conditions: str = "dry") -> None:
    """A distance ridden on one day, in rides of at most 200 km."""
    while km > 0:
        garage.ride(at(day, 10), min(km, 200), conditions)
        km -= 200


# Warning, due, overdue: 85 %, 100 %, 120 % of the interval


@pytest.mark.parametrize(
    ("km", "state"),
    [(840, "fine"), (850, "plan it"), (999.9, "plan it"), (1000, "due"), (1199.9, "due"), (1200, "overdue")],
)
def test_an_interval_by_distance_has_its_states_at_their_boundaries(km: float, state: str) -> None:
    garage, _ = one("pads")
    rides(garage, km)
    found = garage.due(2)["pads.look"]
    assert found.state == state
    assert found.km_left == pytest.approx(1000 - km)


@pytest.mark.parametrize(
    ("day", "state"), [(185, "fine"), (186, "plan it"), (199, "plan it"), (200, "due"), (239, "due"), (240, "overdue")]
)
def test_an_interval_by_days_warns_two_weeks_before(day: int, state: str) -> None:
    garage, _ = one("pads")
    found = garage.due(day)["pads.look"]
    assert found.state == state
    assert found.on == at(200).date()
    assert found.days_left == 200 - day


@pytest.mark.parametrize(("km", "state"), [(299, "fine"), (500, "overdue")])
def test_a_short_interval_is_not_announced(km: float, state: str) -> None:
    garage, _ = one("chain")
    rides(garage, km)
    short = replace(SHOP.categories["chain"].tasks[0], every=Span(km=299.5))
    garage.library = library(category("chain", tasks=(short,)))
    assert garage.due(2)["chain.lubricate"].state == state


@pytest.mark.parametrize(
    ("km", "day", "state"),
    [(49, 2, "fine"), (50, 2, "due"), (199, 2, "due"), (200, 2, "overdue"), (0, 25, "fine"), (0, 30, "overdue")],
)
def test_a_settling_check_keeps_its_own_overdue(km: float, day: int, state: str) -> None:
    garage, _ = one("stem")
    rides(garage, km)
    assert garage.due(day)["stem.torque"].state == state


def test_hours_count_and_a_shop_is_planned_for() -> None:
    garage, _ = one("fork")
    garage.ride(at(1), 100, moving_s=43 * 3600)
    found = garage.due(2)["fork.lowers"]
    assert found.state == "plan it"
    assert found.needs_shop
    garage.ride(at(2), 126)
    assert garage.due(3)["fork.lowers"].state == "due"
    assert "estimated" in garage.due(3)["fork.lowers"].why


def test_a_known_pace_decides_whether_the_last_part_of_an_interval_is_near() -> None:
    garage, _ = one("pads")
    rides(garage, 860, day=0)
    assert garage.due(2)["pads.look"].state == "plan it"
    garage.ride(at(50), 31)
    assert garage.due(60)["pads.look"].state == "fine"


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
        garage.swap(*((first, second) if day % 2 else (second, first)), at(day))
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
    assert found["stem.regrease"].on == at(366).date()


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
    garage.rule("chain.lubricate", chain, metres=800_000, reason="wax")  # type: ignore[arg-type]
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
    garage.put_offs.append(PutOff(None, chain, "chain.lubricate", at(10).date(), None, "no oil"))  # type: ignore[arg-type]
    found = garage.due(2)["chain.lubricate"]
    assert (found.state, found.put_off) == ("overdue", "until 11 January: no oil")
    assert garage.due(10)["chain.lubricate"].put_off is None


# Occasions


def test_after_a_crash_it_is_not_ridden_until_it_was_looked_over() -> None:
    garage = Garage(SHOP)
    garage.ride(at(1), 10)
    assert "whole-bicycle.after-crash" not in garage.due(2)
    garage.event("crashed", at(3))
    assert garage.due(4)["whole-bicycle.after-crash"].state == "do not ride"
    garage.event("inspected", at(5), "whole-bicycle.after-crash")
    assert "whole-bicycle.after-crash" not in garage.due(6)
    garage.state = "laid up"
    garage.event("crashed", at(7))
    assert garage.due(8)["whole-bicycle.after-crash"].state == "do not ride"


def test_one_wet_spell_is_one_round_and_a_dry_fortnight_ends_it() -> None:
    garage = Garage(SHOP)
    first = garage.ride(at(1), 10, "wet")
    garage.ride(at(2), 10, "gritty")
    assert garage.due(3)["whole-bicycle.after-wet"].cycle == str(first.id)
    garage.ride(at(4), 10)
    assert garage.due(5)["whole-bicycle.after-wet"].state == "due"
    assert "whole-bicycle.after-wet" not in garage.due(20)
    garage.event("cleaned", at(5), "whole-bicycle.after-wet")
    assert "whole-bicycle.after-wet" not in garage.due(6)


def test_after_sixty_days_unused_it_is_woken_with_a_look() -> None:
    garage = Garage(SHOP)
    garage.ride(at(1), 10)
    assert "whole-bicycle.after-storage" not in garage.due(59)
    assert garage.due(62)["whole-bicycle.after-storage"].state == "due"
    garage.event("inspected", at(63), "whole-bicycle.after-storage")
    assert "whole-bicycle.after-storage" not in garage.due(64)


def test_after_travel_the_joints_are_looked_at() -> None:
    garage = Garage(SHOP)
    garage.ride(at(1), 10)
    garage.event("travelled", at(2))
    assert garage.due(3)["whole-bicycle.after-travel"].state == "due"


def test_the_whole_bicycle_counts_from_its_first_ride_and_wet_days_shorten_it() -> None:
    garage = Garage(SHOP)
    assert garage.due(50)["whole-bicycle.monthly"].state == "fine"
    garage.ride(at(50), 10)
    assert garage.due(70)["whole-bicycle.monthly"].on == at(80).date()
    garage.ride(at(51), 10, "salted")
    assert garage.due(70)["whole-bicycle.monthly"].on == at(64).date()


# Order, summary, offers


def some_due(**more: object) -> Due:
    base = Due(
        BUILD,
        None,
        None,
        "a.b",
        "A",
        "",
        "fine",
        "damage",
        None,
        None,
        None,
        0.0,
        "",
        None,
        "",
        None,
        (),
        (),
        False,
        False,
    )
    return replace(base, **more)  # type: ignore[arg-type]


items = st.builds(
    some_due,
    state=st.sampled_from(STATES),
    weight=st.sampled_from(["safety", "damage", "comfort"]),
    on=st.one_of(st.none(), st.dates(min_value=at(0).date(), max_value=at(4).date())),
    share=st.sampled_from([0.0, 0.5, 1.0]),
    title=st.sampled_from(["A", "B"]),
    place=st.sampled_from(["", "front"]),
    task=st.sampled_from(["a.b", "a.c"]),
)


@given(st.lists(items, max_size=12), st.randoms())
def test_the_order_is_total_and_does_not_depend_on_the_order_given(dues: list[Due], chance: object) -> None:
    once = list(dict.fromkeys(dues))
    shuffled = list(once)
    chance.shuffle(shuffled)  # type: ignore[attr-defined]
    assert sorted(shuffled, key=lambda due: due.rank) == sorted(once, key=lambda due: due.rank)
    assert len({due.rank for due in once}) == len(once)
    assert summary(shuffled) == summary(once)


def test_state_comes_before_weight_before_day_and_no_day_comes_last() -> None:
    order = [
        some_due(state="do not ride", weight="comfort"),
        some_due(state="overdue", weight="safety"),
        some_due(state="overdue", weight="damage", on=at(1).date()),
        some_due(state="overdue", weight="damage", on=at(2).date()),
        some_due(state="overdue", weight="damage", share=3.0),
        some_due(state="overdue", weight="damage", share=2.0),
        some_due(state="look once"),
        some_due(state="plan it"),
    ]
    assert sorted(reversed(order), key=lambda due: due.rank) == order


def test_the_sort_columns_say_the_worst_and_its_first_day() -> None:
    dues = [
        some_due(state="due", weight="safety", title="Pads", place="front.inner"),
        some_due(state="due", on=at(9).date()),
        some_due(state="fine", on=at(1).date()),
    ]
    assert summary(dues) == (RANKS["due"], at(9).date(), "Pads, front inner")
    assert summary([]) == (0, None, None)
    assert [state_of(RANKS[state]) for state in STATES] == list(STATES)
    assert sorted(STATES, key=lambda state: -RANKS[state]) == list(STATES)


def test_a_log_entry_offers_the_tasks_of_its_kind() -> None:
    assert offers(SHOP, "chain", "cleaned") == ("chain.clean",)
    assert offers(SHOP, "chain", "trued") == ()
    assert offers(SHOP, "unicorn", "cleaned") == ()


def test_what_was_fitted_or_ridden_later_today_counts_today() -> None:
    garage, _ = one("chain")
    garage.ride(at(5, 12), 310)
    assert garage.due(5)["chain.lubricate"].state == "due"


def test_dues_come_sorted() -> None:
    garage, _ = one("chain")
    garage.fit(garage.part("stem"), at(0))
    garage.fit(garage.part("post"), at(0))
    rides(garage, 320)
    found = garage.dues(40)
    assert list(found) == sorted(found, key=lambda due: due.rank)
    assert found[0].task == "stem.torque"


def test_a_task_names_its_part_and_place_and_what_it_counted() -> None:
    garage, _ = one("chain")
    rides(garage, 120)
    found = garage.due(2)["chain.lubricate"]
    assert found.why == "Fitted on 1 January; 120 of 300 km. Interval: common practice."
    assert (found.part_name, found.done_by, found.by_wear) == ("A chain", ("lubricated",), False)
    assert found.days_left is None
    assert found.on is None
