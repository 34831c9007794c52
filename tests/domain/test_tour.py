"""Before a tour: in which group each item lands, and why. Worked cases by the rules, no source."""

from dataclasses import replace
from datetime import timedelta
from random import Random

import pytest

from service.domain.due import desk_of
from service.domain.tour import GROUPS, Tour, TourItem, stretches, weigh_tour
from service.domain.tour_plan import TourPlan, plan_tour
from tests.domain.garage import Garage, at
from tests.domain.worn_bicycles import disc_bicycle, ride_daily

DAY = 60
HARD = Tour(1_200_000, 20, at(DAY).date() + timedelta(days=21), loaded=True, descents=True)


def ridden() -> Garage:
    """Ridden daily for two months, the front pads read down to 1.4 mm of 1.0."""
    garage, named = disc_bicycle()
    ride_daily(garage, range(DAY))
    for day, lining in ((20, 1.8), (59, 1.4)):
        garage.read(named["front brake-pads"], "lining_mm", at(day, 12), lining, place="inner")
    return garage


def weighed(garage: Garage, tour: Tour) -> dict[tuple[object, str, str], TourItem]:
    """The items of the tour by part, task and place."""
    now = at(DAY, 9)
    desk = desk_of(garage.bicycle(), garage.library, today=now.date(), now=now)
    return {(each.due.part_id, each.due.task, each.due.place): each for each in weigh_tour(desk, tour)}


def test_a_worn_pad_is_changed_before_and_a_tyre_never_read_is_not() -> None:
    found = weighed(ridden(), HARD)
    pad = next(each for (_, task, place), each in found.items() if task == "brake-pads.lining_mm" and "inner" in place)
    assert pad.group == "do before"
    assert "1.4 mm" in pad.why
    assert "of the tour count as" in pad.why
    unread = [each for each in found.values() if each.due.by_wear and each.due.last is None]
    assert unread
    assert all(each.group != "do before" for each in unread)


def test_every_item_lands_in_exactly_one_group() -> None:
    garage = ridden()
    found = weighed(garage, HARD)
    assert len(found) == len(garage.dues(DAY))
    assert {each.group for each in found.values()} <= set(GROUPS)


@pytest.mark.parametrize(
    "harder",
    [
        replace(HARD, metres=2_400_000),
        replace(HARD, days=40),
        replace(HARD, conditions="gritty"),
        replace(HARD, leaving=HARD.leaving + timedelta(days=30)),
    ],
)
def test_a_longer_harder_or_later_tour_never_makes_an_item_less_pressing(harder: Tour) -> None:
    garage = ridden()
    easy, hard = weighed(garage, HARD), weighed(garage, harder)
    for key, item in easy.items():
        assert GROUPS.index(hard[key].group) <= GROUPS.index(item.group), item.due.title


def planned(garage: Garage, tour: Tour, day: int = DAY) -> TourPlan:
    now = at(day, 9)
    return plan_tour(desk_of(garage.bicycle(), garage.library, today=now.date(), now=now), tour)


def test_what_is_worn_is_bought_and_spares_of_its_kind_are_carried() -> None:
    plan = planned(ridden(), HARD)
    assert "brake-pads" in {garage_part(each.category) for each in plan.buy}
    carried = {each.what for each in plan.carry_small}
    assert {"joining link to carry", "spare set of these pads"} <= carried
    assert not carried & {each.what for each in plan.small_parts if each.what.startswith("spare set")}
    assert plan.carry_say


def garage_part(title: str) -> str:
    """The category of a title, for those that are asked about here."""
    return {"Brake pads, one set": "brake-pads"}.get(title, title)


def test_what_is_new_is_ridden_in_before_and_the_days_for_it_follow_the_pace() -> None:
    plan = planned(ridden(), HARD)
    assert plan.ride_in_days in (4, 5)  # 100 km at about 25 km a day
    assert plan.last_day == HARD.leaving - timedelta(days=plan.ride_in_days)
    assert plan.done_by == HARD.leaving - timedelta(days=14)
    assert plan.look_by == at(DAY).date()  # six weeks before are past
    assert plan.until_metres == pytest.approx(21 * 25_000, rel=0.01)
    soon = planned(ridden(), replace(HARD, leaving=at(DAY).date() + timedelta(days=2)))
    assert any("no time left to ride 100 km" in note for note in soon.notes)


def test_without_a_pace_it_counts_from_today_and_says_so() -> None:
    garage, named = disc_bicycle()
    garage.read(named["front brake-pads"], "lining_mm", at(DAY, 8), 1.05, place="inner")
    plan = planned(garage, HARD)
    assert plan.until_metres is None
    assert any("Counted from today plus the tour alone" in note for note in plan.notes)
    lining = [each for each in plan.items if each.due.task == "brake-pads.lining_mm" and each.due.last]
    assert {each.group for each in lining} == {"do before"}


def test_after_a_crash_nothing_else_matters_and_what_was_put_off_stays_in_sight() -> None:
    garage = ridden()
    garage.event("crashed", at(DAY - 1, 12))
    plan = planned(garage, HARD)
    crashed = [each for each in plan.of("do before") if each.due.state == "do not ride"]
    assert "whole-bicycle.after-crash" in {each.due.task for each in crashed}
    assert all("Nothing else matters before this." in each.why for each in crashed)


def test_a_new_chain_is_fine_for_a_short_dry_tour() -> None:
    garage, named = disc_bicycle()
    ride_daily(garage, range(30, DAY), km=10)
    garage.read(named["chain"], "elongation_percent", at(DAY, 7), 0.05, tool="tape-measure")
    plan = planned(garage, replace(HARD, metres=200_000, days=4, loaded=False, descents=False))
    growth = next(each for each in plan.items if each.due.task == "chain.elongation_percent")
    assert growth.group == "fine"
    assert growth.by_end is not None
    assert growth.by_end < 0.05


def test_the_chance_by_the_end_is_what_a_simulation_of_the_same_model_finds() -> None:
    garage = ridden()
    now = at(DAY, 9)
    desk = desk_of(garage.bicycle(), garage.library, today=now.date(), now=now)
    item = next(each for each in weigh_tour(desk, HARD) if each.due.task == "brake-pads.lining_mm" and each.due.last)
    ahead = item.due.ahead
    assert ahead is not None
    assert ahead.worn is not None
    assert item.by_end is not None
    _, end = stretches(ahead, desk, HARD)
    chance, worn, past = Random(7), ahead.worn, 0
    for _ in range(20_000):
        rate = worn.rate + chance.gauss(0, 1) * worn.rate_var**0.5
        level = worn.wear + worn.both_cov / worn.rate_var * (rate - worn.rate)
        level += chance.gauss(0, 1) * max(worn.wear_var - worn.both_cov**2 / worn.rate_var, 0) ** 0.5
        far = end.metres / 1e6
        level += rate * far + chance.gauss(0, 1) * (ahead.uneven * far) ** 0.5
        level += worn.rate * chance.gauss(0, 1) * end.metres_var**0.5 / 1e6
        past += level >= ahead.limit
    assert item.by_end == pytest.approx(past / 20_000, abs=0.02)
