"""What a message says: grouped by bicycle and by visit, folded, in plain words. Wording: our own, no outside source."""

from dataclasses import replace
from datetime import date
from uuid import UUID

import pytest

from service.domain.reminding import Told, in_words, is_told, is_urgent, minutes_of
from service.domain.standing import Between, Due
from tests.procedures import whole_library

TODAY = date(2026, 5, 4)
PADS = Due(
    build_id=UUID(int=1), part_id=UUID(int=2), part_name="Pads", task="brake-pads.lining_mm", title="Lining, each pad",
    place="rear.inner", state="plan it", weight="safety", metres_left=None, days_left=None,
    on=Between(date(2026, 5, 20), date(2026, 5, 29), None), share=0.8,
    why="Read 0.9 mm on 3 May, 0 km ago. Replace at 0.5 mm. Another 200 to 500 km, likely late May or later.",
    last=None, cycle="a", put_off=None, done_by=(), steps=(), by_wear=True, needs_shop=False,
)  # fmt: skip
OIL = replace(
    PADS, task="chain.lubricate", title="Oil the chain", place="", state="due", weight="damage", why="320 of 300 km.",
    on=None, by_wear=False, steps=("oil",),
)  # fmt: skip
LIBRARY = whole_library()


def said(*dues: Due) -> str:
    return in_words([Told("Grey all-road", dues)], LIBRARY, TODAY, "weekly", "https://shed.example").text


def test_it_says_what_where_why_and_what_to_do() -> None:
    text = said(PADS, OIL)
    assert "* Lining, each pad, rear inner (Pads)" in text
    assert "Another 200 to 500 km, likely late May or later." in text
    assert "Measure it first." in text
    assert "Measure again, and have the part ready." in said(replace(PADS, last=date(2026, 5, 3)))
    assert f"About {minutes_of(OIL, LIBRARY)} min, at home." in text
    assert minutes_of(OIL, LIBRARY) > 0
    assert text.index("Due:") < text.index("Coming near")
    assert "https://shed.example/due" in text


def test_what_needs_a_shop_is_one_visit() -> None:
    bleed = replace(OIL, title="Bleed the brake", needs_shop=True, steps=())
    text = said(OIL, bleed, replace(bleed, title="True the wheel"))
    assert text.index("Oil the chain") < text.index("For a shop, in one visit:") < text.index("Bleed the brake")
    assert text.count("For a shop") == 1


def test_no_percentage_stands_alone_and_nothing_is_called_safe_or_critical() -> None:
    text = said(PADS, OIL, replace(OIL, state="do not ride"), replace(OIL, state="look once"))
    assert "%" not in text
    assert not any(word in text.lower() for word in ("critical", " safe "))


def test_many_parts_of_which_nothing_is_known_are_counted_not_listed() -> None:
    looks = [replace(OIL, state="look once", title=f"Look {number}") for number in range(30)]
    text = said(*looks)
    assert "and 24 more parts of which nothing is known yet." in text
    assert len(text.splitlines()) < 20


@pytest.mark.parametrize(
    ("changes", "told", "urgent"),
    [
        ({}, True, False),
        ({"state": "overdue"}, True, True),
        ({"state": "overdue", "weight": "damage"}, True, False),
        ({"state": "do not ride", "weight": "comfort"}, True, True),
        ({"state": "do not ride", "put_off": "until 1 June: waits"}, False, False),
        ({"state": "overdue", "within": "whole-bicycle.monthly"}, False, False),
        ({"state": "fine"}, False, False),
        ({"state": "resting"}, False, False),
        ({"state": "switched off"}, False, False),
    ],
)
def test_what_is_told_and_what_at_once(changes: dict[str, object], told: bool, urgent: bool) -> None:
    due = replace(PADS, **changes)  # type: ignore[arg-type]
    assert (is_told(due), is_urgent(due)) == (told, urgent)


def test_a_subject_is_one_line_however_a_bicycle_is_called() -> None:
    words = in_words([Told("Two\nlines " * 30, [OIL])], LIBRARY, TODAY, "at once", None)
    assert "\n" not in words.subject
    assert len(words.subject) <= 120
