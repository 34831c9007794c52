"""Which due items stand in a calendar, and on which Saturday."""

from dataclasses import replace
from datetime import date, timedelta
from uuid import UUID

import pytest

from service.domain.calendar import dated, description_of, saturday_before, summary_of, uid_of
from service.domain.standing import Between, Due
from tests.procedures import whole_library

SEEN = date(2026, 5, 4)  # a Monday
DAY = date(2026, 6, 9)  # a Tuesday
ITEM = Due(
    build_id=UUID(int=1), part_id=UUID(int=2), part_name="The chain", task="chain.lubricate", title="Oil the chain",
    place="", state="fine", weight="comfort", metres_left=1, days_left=None, on=Between(DAY, DAY + timedelta(9), None),
    share=0.5, why="oiled 3 May", last=None, cycle="a", put_off=None, done_by=(), steps=(), by_wear=False,
    needs_shop=True,
)  # fmt: skip


def days(*dues: Due) -> list[date]:
    """The days these stand on."""
    return [day for day, _ in dated(dues, SEEN, whole_library())]


@pytest.mark.parametrize(
    ("day", "saturday"),
    [(date(2026, 5, 9), 9), (date(2026, 5, 10), 9), (date(2026, 5, 15), 9), (date(2026, 5, 16), 16)],
)
def test_a_day_stands_on_its_saturday_or_the_one_before(day: date, saturday: int) -> None:
    assert saturday_before(day) == date(2026, 5, saturday)
    assert f"{saturday_before(day):%A}" == "Saturday"


def test_safety_stands_early_and_all_else_in_the_middle() -> None:
    assert days(replace(ITEM, weight="safety")) == [date(2026, 6, 6)]
    assert days(ITEM) == [date(2026, 6, 13)]


def test_what_presses_without_a_day_stands_on_the_saturday_before_it_was_looked_at() -> None:
    assert days(replace(ITEM, on=None, state="overdue")) == [date(2026, 5, 2)]


@pytest.mark.parametrize(
    "changes",
    [
        {"on": None},
        {"state": "look once"},
        {"state": "resting"},
        {"state": "switched off"},
        {"put_off": "until 1 July"},
        {"within": "whole-bicycle.yearly"},
        {"by_wear": True},
        {"on": Between(SEEN + timedelta(367), SEEN + timedelta(367), None)},
    ],
)
def test_what_would_only_flood_a_calendar_is_left_out(changes: dict[str, object]) -> None:
    assert days(replace(ITEM, **changes)) == []  # type: ignore[arg-type]


def test_the_name_of_an_occurrence_follows_from_whom_what_where_and_which_round_alone() -> None:
    assert uid_of(replace(ITEM, on=None, why="else", state="due")) == uid_of(ITEM)
    others = [replace(ITEM, part_id=UUID(int=3)), replace(ITEM, task="a.b"), replace(ITEM, place="rear")]
    assert len({uid_of(each) for each in (ITEM, replace(ITEM, cycle="b"), *others)}) == 5


def test_it_says_the_bicycle_what_where_and_why_with_the_range() -> None:
    assert summary_of(replace(ITEM, place="rear"), "Town") == "Town: Oil the chain, rear"
    said = description_of(ITEM)
    assert said.splitlines()[0] == "Oiled 3 May"
    assert "2026-06-09" in said
    assert "Needs a shop." in said


def test_a_look_that_a_bundle_does_no_later_is_left_to_it() -> None:
    monthly = replace(ITEM, part_id=None, task="whole-bicycle.monthly", title="Monthly", on=Between(DAY, DAY, DAY))
    look = replace(ITEM, task="headset.play", on=Between(DAY, DAY, DAY))
    assert len(days(monthly, look)) == 1
    assert len(days(monthly, replace(look, state="due"))) == 2  # what presses is told by itself
    sooner = DAY - timedelta(1)
    assert len(days(monthly, replace(look, on=Between(sooner, sooner, sooner)))) == 2
    assert len(days(monthly, ITEM)) == 2  # oiling is no look
