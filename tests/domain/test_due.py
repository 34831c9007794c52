"""What is due: each state at its boundary, the order, the summary. Rules: common practice, no source, unless said."""

from dataclasses import replace
from datetime import date
from random import Random
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.between import Between
from service.domain.due import RANKS, STATES, Due, offers, state_of, summary
from service.domain.procedure import Span
from tests.domain.due_shelf import SHOP, one, rides
from tests.domain.garage import BUILD, at, category, library

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
    assert found.km_left is not None
    assert found.km_left.middle == pytest.approx(1000 - km)


@pytest.mark.parametrize(
    ("day", "state"), [(185, "fine"), (186, "plan it"), (199, "plan it"), (200, "due"), (239, "due"), (240, "overdue")]
)
def test_an_interval_by_days_warns_two_weeks_before(day: int, state: str) -> None:
    garage, _ = one("pads")
    found = garage.due(day)["pads.look"]
    assert found.state == state
    assert found.day == at(200).date()
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


# Order, summary, offers


def sure(day: date) -> Between[date]:
    return Between(day, day, day)


def some_due(**more: Any) -> Due:
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
    return replace(base, **more)


items = st.builds(
    some_due,
    state=st.sampled_from(STATES),
    weight=st.sampled_from(["safety", "damage", "comfort"]),
    on=st.one_of(st.none(), st.dates(min_value=at(0).date(), max_value=at(4).date()).map(sure)),
    share=st.sampled_from([0.0, 0.5, 1.0]),
    title=st.sampled_from(["A", "B"]),
    place=st.sampled_from(["", "front"]),
    task=st.sampled_from(["a.b", "a.c"]),
)


@given(st.lists(items, max_size=12), st.randoms())
def test_the_order_is_total_and_does_not_depend_on_the_order_given(dues: list[Due], chance: Random) -> None:
    once = list(dict.fromkeys(dues))
    shuffled = list(once)
    chance.shuffle(shuffled)
    assert sorted(shuffled, key=lambda due: due.rank) == sorted(once, key=lambda due: due.rank)
    assert len({due.rank for due in once}) == len(once)
    assert summary(shuffled) == summary(once)


def test_state_comes_before_weight_before_day_and_no_day_comes_last() -> None:
    order = [
        some_due(state="do not ride", weight="comfort"),
        some_due(state="overdue", weight="safety"),
        some_due(state="overdue", weight="damage", on=sure(at(1).date())),
        some_due(state="overdue", weight="damage", on=sure(at(2).date())),
        some_due(state="overdue", weight="damage", share=3.0),
        some_due(state="overdue", weight="damage", share=2.0),
        some_due(state="look once"),
        some_due(state="plan it"),
    ]
    assert sorted(reversed(order), key=lambda due: due.rank) == order


def test_the_sort_columns_say_the_worst_and_its_first_day() -> None:
    dues = [
        some_due(state="due", weight="safety", title="Pads", place="front.inner"),
        some_due(state="due", on=sure(at(9).date())),
        some_due(state="fine", on=sure(at(1).date())),
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
