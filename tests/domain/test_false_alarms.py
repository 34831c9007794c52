"""Looks that keep finding nothing: a longer interval is suggested, never for safety. Our own rule, no source."""

import pytest

from tests.domain.due_shelf import one
from tests.domain.garage import at


def looked(name: str, task: str, kind: str, found: list[str], *, every: int, late: int = 0) -> str:
    """Why the task is due after it was done so often, each time when (or so many days after) it fell due by days."""
    garage, part = one(name)
    day = 0
    for each in ["fine", *found]:
        day += every + late
        garage.event(kind, at(day), f"{name}.{task}", part=part, found=each)
    return garage.due(day + every)[f"{name}.{task}"].why


@pytest.mark.parametrize(
    ("found", "suggested"),
    [
        (["fine"] * 5, "5 of the last 5 found nothing to do"),
        (["worn", "fine", "fine", "fine", "fine"], "4 of the last 5 found nothing to do"),
        (["worn", "fine", "worn", "fine", "fine"], ""),
        (["fine"] * 4, ""),
    ],
)
def test_four_of_five_looks_that_found_nothing_suggest_a_longer_interval(found: list[str], suggested: str) -> None:
    why = looked("pads", "look", "inspected", found, every=200)
    assert ("of the last" in why) == bool(suggested)
    assert suggested in why
    if suggested:
        assert "an interval of your own of 1500 km or 300 days would do." in why


def test_a_look_long_after_it_was_due_says_nothing_of_the_interval() -> None:
    assert "of the last" not in looked("pads", "look", "inspected", ["fine"] * 5, every=200, late=60)


def test_no_longer_interval_is_suggested_for_what_concerns_safety() -> None:
    assert "of the last" not in looked("bar", "look", "inspected", ["fine"] * 5, every=365)
