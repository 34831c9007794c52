"""What is due of wear, with the whole library: limits, what resets what, what never reaches a part, days, other tools.

Limits: the library's; tests/library/figures holds their sources. The rest: worked cases by the rules, no source.
"""

from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest

from tests.domain.garage import Garage, at
from tests.domain.worn_bicycles import GAUGE, GROWTH, chain_bicycle, disc_bicycle, of, ride_daily
from tests.procedures import whole_library

# Limits: by condition, by the mark on the part, by the owner


@pytest.mark.parametrize(("sprockets", "limit"), [(11, 0.5), (9, 0.75), (8, 0.75)])
def test_a_chain_counts_to_the_limit_of_its_sprockets(sprockets: int, limit: float) -> None:
    garage, _, _ = chain_bicycle(sprockets)
    ride_daily(garage, range(20))
    found = of(garage, 21, GROWTH)
    assert found.km_left is not None
    assert 500 + found.km_left.middle == pytest.approx((limit - 0.05) / 0.2 * 1000)
    assert f"Replace at {limit:g} %" in found.why


def test_a_chain_in_front_of_a_hub_gear_counts_to_one_per_cent() -> None:
    garage = Garage(whole_library())
    wheel = garage.part("wheel")
    garage.fit(wheel, at(0), "rear")
    for name, into in (("internal-gear-hub", wheel), ("chain", None)):
        garage.fit(garage.part(name), at(0), "rear" if into else "", into=into)
    ride_daily(garage, range(20))
    found = of(garage, 21, GROWTH)
    assert found.km_left is not None
    assert 500 + found.km_left.middle == pytest.approx((1.0 - 0.05) / 0.2 * 1000)


@pytest.mark.parametrize(("marked", "limit"), [(None, 1.0), (1.2, 1.2), (0.8, 0.8)])
def test_pads_count_to_the_mark_on_them(marked: float | None, limit: float) -> None:
    garage, _ = disc_bicycle(min_lining_mm=marked)
    ride_daily(garage, range(20))
    found = of(garage, 21, "brake-pads.lining_mm")
    assert found.km_left is not None
    assert 500 + found.km_left.middle == pytest.approx((2.2 - limit) / 0.26 * 1000)  # the first place is the front


@pytest.mark.parametrize(("marked", "limit"), [(None, 1.5), (1.6, 1.6)])
def test_a_rotor_counts_to_the_mark_on_it(marked: float | None, limit: float) -> None:
    garage, named = disc_bicycle()
    rotor = named["front rotor"]
    facts = garage.part("rotor", thickness_mm=1.8, min_thickness_mm=marked)
    garage.parts[rotor] = replace(garage.parts[facts], id=rotor)
    del garage.parts[facts]
    ride_daily(garage, range(20))
    found = garage.due(21)["rotor.thickness_mm@front.front"]
    assert found.km_left is not None
    assert 500 + found.km_left.middle == pytest.approx((1.8 - limit) / 0.03 * 1000)


def test_the_owners_own_limit_counts_before_all() -> None:
    garage, chain, _ = chain_bicycle(9)
    ride_daily(garage, range(20))
    garage.rule(GROWTH, chain, limit_reading=0.6, reason="dear sprockets")
    found = of(garage, 21, GROWTH)
    assert found.km_left is not None
    assert 500 + found.km_left.middle == pytest.approx((0.6 - 0.05) / 0.2 * 1000)
    assert "Replace at 0.6 %, your own, dear sprockets" in found.why


# By all readings and what was ridden since


@pytest.mark.parametrize(
    ("percent", "state"), [(0.3, "fine"), (0.6, "fine"), (0.66, "plan it"), (0.77, "due"), (0.95, "overdue")]
)
def test_growth_has_its_states(percent: float, state: str) -> None:
    garage, chain, _ = chain_bicycle()
    ride_daily(garage, range(40), 75)
    garage.read(chain, "elongation_percent", at(39, 20), percent, tool="tape-measure")
    assert of(garage, 40, GROWTH).state == ("plan it" if state == "fine" and percent == 0.6 else state)


def test_what_was_ridden_since_a_reading_makes_it_due() -> None:
    garage, chain, _ = chain_bicycle()
    ride_daily(garage, range(80))
    garage.read(chain, "elongation_percent", at(79, 20), 0.5)
    assert of(garage, 80, GROWTH).state == "fine"
    ride_daily(garage, range(80, 150))
    found = of(garage, 150, GROWTH)
    assert found.state == "due"
    assert found.chance is not None
    assert found.chance > 0.5
    assert "With what was ridden since, it is likely there by now: measure it." in found.why


def test_a_reading_at_the_limit_is_due_whatever_was_expected() -> None:
    garage, chain, _ = chain_bicycle()
    ride_daily(garage, range(40))
    garage.read(chain, "elongation_percent", at(20, 20), 0.3)
    garage.read(chain, "elongation_percent", at(39, 20), 0.76)
    found = of(garage, 40, GROWTH)
    assert found.chance is not None
    assert found.chance < 0.5
    assert found.state == "due"


def test_without_a_reading_due_says_measure_and_never_replace() -> None:
    garage, _, _ = chain_bicycle()
    ride_daily(garage, range(200))
    found = of(garage, 200, GROWTH)
    assert found.state == "due"
    assert "By common practice alone it may be worn by now: measure it." in found.why


def test_a_safety_limit_is_due_from_a_fifth_and_a_stop_limit_by_the_reading_alone() -> None:
    garage, named = disc_bicycle()
    ride_daily(garage, range(60))
    garage.read(named["front brake-pads"], "lining_mm", at(59, 20), 1.12, place="inner", tool="calliper")
    found = garage.due(60)["brake-pads.lining_mm@front.front.inner"]
    assert found.chance is not None
    assert 0.2 > found.chance > 0.02
    assert found.state == "plan it"
    garage.read(named["front brake-pads"], "lining_mm", at(59, 21), 0.5, place="inner", tool="calliper")
    assert garage.due(60)["brake-pads.lining_mm@front.front.inner"].state == "do not ride"


# What never reaches a part


def with_trainer(days: range, conditions: str, calliper: str) -> Garage:
    garage, _ = disc_bicycle(calliper)
    for name in ("fork", "headset", "handlebar"):
        garage.fit(garage.part(name), at(0))
    ride_daily(garage, range(60), 30)
    for day in days:
        garage.ride(at(day, 18), 50, conditions)
    return garage


@pytest.mark.parametrize("calliper", ["hydraulic-disc-caliper", "linear-pull-brake"])
def test_kilometres_on_a_direct_drive_trainer_never_reach_tyres_rims_brakes_or_the_front(calliper: str) -> None:
    outdoors, trained = with_trainer(range(0), "", calliper), with_trainer(range(40), "indoor", calliper)
    plain, more = outdoors.due(61), trained.due(61)
    worn = [key for key, due in plain.items() if due.by_wear and due.km_left]
    reached = [key for key in worn if plain[key].km_left != more[key].km_left]
    assert set(reached) == {GROWTH, GAUGE}  # the chain runs on the trainer
    spared = [key for key in worn if key not in reached]
    assert {key.split(".")[0] for key in spared} >= {"tyre", "brake-pads"}
    for key in spared:
        assert more[key].chance == plain[key].chance, key


def test_tasks_of_the_brakes_are_not_brought_on_by_a_trainer() -> None:
    for key in (
        "brake-pads.look@front.front",
        "brake-pads.look@rear.rear",
        "tyre.look@front.front",
        "tyre.look@rear.rear",
    ):
        plain, more = (
            with_trainer(range(days), "indoor", "hydraulic-disc-caliper").due(61)[key] for days in (0, 40)
        )  # fmt: skip
        assert plain.km_left == more.km_left, key


def test_a_roller_reaches_the_rear_tyre_and_not_the_front_one() -> None:
    outdoors = with_trainer(range(0), "", "hydraulic-disc-caliper").due(61)
    rolled = with_trainer(range(40), "roller", "hydraulic-disc-caliper").due(61)
    front, rear = ("tyre.tread_dimple_mm@front.front", "tyre.tread_dimple_mm@rear.rear")
    assert outdoors[front].km_left == rolled[front].km_left
    assert outdoors[rear].km_left != rolled[rear].km_left


def test_ridden_on_the_trainer_alone_lately_has_kilometres_and_no_date() -> None:
    garage, _ = disc_bicycle()
    ride_daily(garage, range(60), 30)
    ride_daily(garage, range(60, 160), 30, "indoor")
    found = garage.due(160)["tyre.tread_dimple_mm@rear.rear"]
    assert found.km_left is not None
    assert found.km_left.middle == pytest.approx(10_000 - 1800)
    assert (found.on, found.refused) == (None, "As it is ridden lately nothing wears it: kilometres, no date.")


def test_worse_conditions_bring_the_end_nearer() -> None:
    dry, wet = (chain_bicycle()[0] for _ in range(2))
    ride_daily(dry, range(40))
    ride_daily(wet, range(40), conditions="wet")
    left = [of(garage, 41, GROWTH).km_left for garage in (dry, wet)]
    assert left[0] is not None
    assert left[1] is not None
    # the library counts a wet kilometre of a chain as 1.75: used so, and left so
    assert (3500 - left[0].middle, left[1].middle) == pytest.approx((1000, (3500 - 1750) / 1.75))


# What resets what


def test_an_adjusted_cable_leaves_the_lining_as_worn_as_it_was() -> None:
    garage, named = disc_bicycle("cable-disc-caliper")
    ride_daily(garage, range(60))
    garage.read(named["front brake-pads"], "lining_mm", at(40, 20), 1.6, place="inner")
    before = garage.due(60)["brake-pads.lining_mm@front.front.inner"]
    garage.event("adjusted", at(59, 20), "cable-disc-caliper.take-up-pads", part=named["front brake"])
    assert garage.due(60)["brake-pads.lining_mm@front.front.inner"] == before
    done = garage.due(60)["cable-disc-caliper.take-up-pads@front"]
    assert done.last == at(59).date()


def test_a_new_chain_leaves_the_cassettes_wear_and_is_new_itself() -> None:
    garage, chain, cassette = chain_bicycle()
    ride_daily(garage, range(80))
    garage.read(chain, "elongation_percent", at(79, 9), 0.5)
    garage.read(cassette, "chains_used", at(79, 9), 0)
    before = of(garage, 80, "cassette.chains_used")
    garage.swap(chain, garage.part("chain"), at(79, 20))
    after, growth = of(garage, 80, "cassette.chains_used"), of(garage, 80, GROWTH)
    assert (after.km_left, after.share) == (before.km_left, before.share)
    assert growth.km_left is not None
    assert growth.km_left.middle == pytest.approx(3500)
    assert "Not read yet" in growth.why


# By days


def test_a_tyres_age_counts_from_the_day_it_was_made() -> None:
    garage, named = disc_bicycle()
    ride_daily(garage, range(40))
    tyre = named["rear tyre"]
    garage.parts[tyre] = replace(garage.parts[tyre], made_on=date(2022, 1, 1))
    found = garage.due(41)["tyre.age_years@rear.rear"]
    assert (found.km_left, found.state) == (None, "fine")
    assert found.on is not None
    assert abs(found.on.middle - date(2027, 1, 1)) < timedelta(days=10)  # five years on
    garage.parts[tyre] = replace(garage.parts[tyre], made_on=date(2019, 1, 1), origin="second-hand", metres_before=None)
    old = garage.due(41)["tyre.age_years@rear.rear"]
    assert old.state == "due"
    assert old.chance is not None
    assert old.chance > 0.9


def tubeless() -> tuple[Garage, Any]:
    garage = Garage(whole_library())
    wheel, valve = garage.part("wheel"), garage.part("tubeless-valve", sealant_ml=60)
    garage.fit(wheel, at(0), "rear")
    garage.fit(valve, at(0), "rear", into=wheel)
    return garage, valve


def test_sealant_dries_by_days_and_begins_again_when_it_is_renewed() -> None:
    garage, valve = tubeless()
    key = "tubeless-valve.sealant_ml@rear.rear"
    first = garage.due(0)[key].on
    assert first is not None
    assert abs(first.middle - at(120).date()) <= timedelta(days=1)  # 60 to 20 ml at 10 ml in thirty days
    garage.read(valve, "sealant_ml", at(90), 22)
    assert garage.due(120)[key].state == "due"
    assert "With the time that has passed since" in garage.due(120)[key].why
    garage.event("renewed", at(120), part=valve)
    fresh = garage.due(121)[key]
    assert fresh.state == "fine"
    assert fresh.on is not None
    assert abs(fresh.on.middle - at(240).date()) <= timedelta(days=1)
    assert "Not read yet" in fresh.why  # what was read of the old sealant says nothing of the new


def test_days_go_on_while_a_bicycle_is_not_ridden() -> None:
    garage, _ = tubeless()
    on = [garage.due(day)["tubeless-valve.sealant_ml@rear.rear"].on for day in (10, 80)]
    assert on[0] is not None
    assert on[1] is not None
    assert (on[0].middle, on[0].late) == (on[1].middle, on[1].late)
    assert (on[0].early, on[1].early) == (date(2026, 3, 7), at(80).date())  # what is past cannot be still to come


# Read by a gauge; followed once


def test_a_gauge_alone_is_enough() -> None:
    garage, chain, _ = chain_bicycle()
    ride_daily(garage, range(80))
    before = of(garage, 80, GAUGE).km_left
    garage.read(chain, "gauge_step", at(40, 20), 0, 0.5)
    garage.read(chain, "gauge_step", at(79, 20), 0.5, 0.75)
    found = of(garage, 80, GAUGE)
    assert before is not None
    assert found.km_left is not None
    assert found.km_left.late is not None
    assert 0 < found.km_left.early < found.km_left.middle < found.km_left.late
    assert found.km_left.middle < before.middle  # it went in sooner than common practice has it
    assert "between 0.5 and 0.75" in found.why


@pytest.mark.parametrize(("marks", "state"), [((0, 0.5), "fine"), ((0.75, 1.0), "overdue"), ((1.0, None), "overdue")])
def test_the_mark_of_a_gauge_that_goes_in_is_believed(marks: tuple[float, float | None], state: str) -> None:
    garage, chain, _ = chain_bicycle()
    ride_daily(garage, range(60))
    garage.read(chain, "gauge_step", at(59, 20), *marks)
    assert of(garage, 60, GAUGE).state == state


def test_a_gauge_read_on_a_new_chain_breaks_nothing() -> None:
    garage, chain, _ = chain_bicycle()
    garage.read(chain, "gauge_step", at(0, 1), 0, 0.5)
    assert of(garage, 1, GAUGE).km_left is not None


@pytest.mark.parametrize(
    ("read", "other", "said"),
    [("elongation_percent", GAUGE, "“Growth”"), ("gauge_step", GROWTH, "“Drop-in gauge, largest step that goes in”")],
)
def test_growth_is_asked_for_once_by_rule_or_by_gauge(read: str, other: str, said: str) -> None:
    garage, chain, _ = chain_bicycle()
    ride_daily(garage, range(200))
    assert of(garage, 200, other).state == "due"
    garage.read(chain, read, at(199, 20), 0.3)
    followed = of(garage, 200, other)
    assert followed.state == "fine"
    assert f"It is followed by {said}, which says the same." in followed.why
    assert (followed.km_left, followed.on, followed.chance, followed.ahead) == (None, None, None, None)
    assert of(garage, 200, f"chain.{read}").km_left is not None


def test_what_is_read_both_ways_is_followed_both_ways() -> None:
    garage, chain, _ = chain_bicycle()
    ride_daily(garage, range(60))
    garage.read(chain, "elongation_percent", at(59, 20), 0.3)
    garage.read(chain, "gauge_step", at(59, 20), 0, 0.5)
    assert [of(garage, 60, task).refused for task in (GROWTH, GAUGE)] == [None, None]


# The forecast brings the next look nearer


@pytest.mark.parametrize(("percent", "limit"), [(0.1, 500), (0.55, 220), (0.72, 160), (0.9, 160)])
def test_a_chain_near_its_end_is_measured_sooner_and_never_under_160_km(percent: float, limit: float) -> None:
    """The smaller of 500 km and a third of what is left, never under 160 (the library's task)."""
    garage, chain, _ = chain_bicycle()
    ride_daily(garage, range(60))
    garage.read(chain, "elongation_percent", at(59, 20), percent, tool="tape-measure")
    garage.event("inspected", at(59, 20), "chain.measure", part=chain)
    found = of(garage, 60, "chain.measure")
    growth = of(garage, 60, GROWTH).km_left
    assert found.km_left is not None
    assert growth is not None
    assert found.km_left.middle == pytest.approx(min(500, max(0.33 * growth.middle, 160)), abs=1)
    assert found.km_left.middle == pytest.approx(limit, abs=60)
