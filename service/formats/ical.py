"""Calendar files: all-day events with one alarm each, written as RFC 5545 asks."""

from collections.abc import Iterable, Iterator
from datetime import UTC, date, datetime, timedelta
from typing import NamedTuple

MOST_OCTETS = 75
"""Of a line without its break; RFC 5545, 3.1."""
ESCAPES = str.maketrans({"\\": "\\\\", ";": "\\;", ",": "\\,", "\n": "\\n"})


class CalendarEvent(NamedTuple):
    """One whole day; `stamp` is when what it says last changed, aware."""

    uid: str
    day: date
    stamp: datetime
    summary: str
    description: str


def write_calendar(name: str, events: Iterable[CalendarEvent]) -> bytes:
    """A calendar of these events, UTF-8."""
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//Locknut//Care//EN", f"X-WR-CALNAME:{escape(name)}"]
    for event in events:
        lines += _event(event)
    return "".join(f"{fold(line)}\r\n" for line in (*lines, "END:VCALENDAR")).encode()


def escape(text: str) -> str:
    """A TEXT value: backslash, semicolon, comma and line feed escaped, other control characters left out."""
    plain = text.replace("\r\n", "\n").replace("\r", "\n")
    return "".join(each for each in plain if each in "\n\t" or (each >= " " and each != "\x7f")).translate(ESCAPES)


def fold(line: str) -> str:
    """The line in pieces of at most 75 octets, each further one after a space; no character is split."""
    return "\r\n ".join(_pieces(line))


def _pieces(line: str) -> Iterator[str]:
    begun, room = 0, MOST_OCTETS
    for place, each in enumerate(line):
        octets = len(each.encode())
        if octets > room:
            yield line[begun:place]
            begun, room = place, MOST_OCTETS - 1  # the space in front counts
        room -= octets
    yield line[begun:]


def _event(event: CalendarEvent) -> list[str]:
    stamp = f"{event.stamp.astimezone(UTC):%Y%m%dT%H%M%SZ}"
    summary = f"SUMMARY:{escape(event.summary)}"
    return [
        *("BEGIN:VEVENT", f"UID:{event.uid}", f"DTSTAMP:{stamp}", f"LAST-MODIFIED:{stamp}"),
        *(f"DTSTART;VALUE=DATE:{event.day:%Y%m%d}", f"DTEND;VALUE=DATE:{event.day + timedelta(days=1):%Y%m%d}"),
        *(summary, f"DESCRIPTION:{escape(event.description)}", "TRANSP:TRANSPARENT"),
        *("BEGIN:VALARM", "ACTION:DISPLAY", f"DESCRIPTION:{escape(event.summary)}", "TRIGGER:-PT6H", "END:VALARM"),
        "END:VEVENT",
    ]
