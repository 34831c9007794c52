"""Calendar files against RFC 5545, <https://www.rfc-editor.org/rfc/rfc5545>, and read back by another program."""

from datetime import UTC, date, datetime, timedelta
from typing import Any

import icalendar
import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.formats.ical import CalendarEvent, escape, fold, write_calendar

STAMP = datetime(2026, 5, 4, 9, 30, tzinfo=UTC)
TEXTS = st.text(st.characters(blacklist_categories=("Cs", "Cc"), blacklist_characters="\u2028\u2029") | st.just("\n"))


def event(summary: str = "Town: chain", description: str = "") -> CalendarEvent:
    """An event on 9 May 2026."""
    return CalendarEvent("abc@locknut", date(2026, 5, 9), STAMP, summary, description)


@pytest.mark.parametrize(
    ("plain", "written"),
    [("a\\b", "a\\\\b"), ("a;b", "a\\;b"), ("a,b", "a\\,b"), ("a\nb", "a\\nb"), ("a\r\nb", "a\\nb"), ("a:b", "a:b")],
)
def test_text_is_escaped_and_the_colon_never(plain: str, written: str) -> None:
    assert escape(plain) == written  # RFC 5545, 3.3.11


def test_a_long_line_is_folded_at_75_octets_and_no_character_is_split() -> None:
    line = "DESCRIPTION:" + "é€𝄞a" * 60
    folded = fold(line)
    pieces = [each.encode() for each in folded.split("\r\n")]
    assert max(len(each) for each in pieces) <= 75  # RFC 5545, 3.1
    assert all(each.startswith(b" ") for each in pieces[1:])
    assert b"".join([pieces[0], *(each[1:] for each in pieces[1:])]).decode() == line
    assert [each for each in pieces if not each.decode()] == []  # each piece is whole UTF-8
    assert folded.replace("\r\n ", "") == line
    assert fold("x" * 75) == "x" * 75
    assert fold("x" * 76) == "x" * 75 + "\r\n x"


def test_the_other_program_unfolds_and_counts_as_published() -> None:
    # RFC 5545, 3.1 (unfolding) and 3.3.6 (durations): what our feed is read with must itself keep to the standard
    folded = "DESCRIPTION:This is a lo\r\n ng description\r\n  that exists on a long line.\r\n"
    read: Any = icalendar.Event.from_ical(f"BEGIN:VEVENT\r\n{folded}END:VEVENT\r\n")
    assert read["DESCRIPTION"] == "This is a long description that exists on a long line."
    duration: Any = icalendar.vDuration
    assert duration.from_ical("P15DT5H0M20S") == timedelta(days=15, hours=5, seconds=20)
    assert duration.from_ical("P7W") == timedelta(weeks=7)


def test_what_is_required_is_there_once() -> None:
    # RFC 5545, 3.6, 3.6.1 and 3.6.6
    lines = write_calendar("Care", [event()]).decode().split("\r\n")
    assert lines[-1] == ""
    names = [each.replace(";", ":").partition(":")[0] for each in lines]
    for name in ("VERSION", "PRODID", "UID", "DTSTAMP", "DTSTART", "ACTION", "TRIGGER"):
        assert names.count(name) == 1
    assert "DURATION" not in names  # it and DTEND exclude each other
    assert "DTSTAMP:20260504T093000Z" in lines
    assert "TRANSP:TRANSPARENT" in lines
    alarm = lines[lines.index("BEGIN:VALARM") : lines.index("END:VALARM")]
    assert [each for each in alarm if each.startswith("DESCRIPTION:")] == ["DESCRIPTION:Town: chain"]


@given(TEXTS, TEXTS)
def test_another_program_reads_the_same_texts(summary: str, description: str) -> None:
    read: Any
    [read] = icalendar.Calendar.from_ical(write_calendar("Care", [event(summary, description)])).walk("VEVENT")
    assert str(read["SUMMARY"]) == summary
    assert str(read["DESCRIPTION"]) == description
    assert read["DTSTART"].dt == date(2026, 5, 9)
    [alarm] = read.walk("VALARM")
    assert alarm["TRIGGER"].dt == -timedelta(hours=6)
