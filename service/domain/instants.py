"""When a thing happened that was given a day without a time: half-open instants from civil days."""

from collections.abc import Iterable
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from typing import Literal

Side = Literal["before", "after"]
"""A part was fitted or taken off before or after that day's rides."""


def ride_instant(day: date, zone: tzinfo) -> datetime:
    """A ride without a time counts from 12:00 where it was ridden."""
    return datetime.combine(day, time(12), zone)


def fitting_instant(day: date, side: Side, zone: tzinfo) -> datetime:
    """The start of a day for what was done before its rides, its end for what was done after them."""
    return datetime.combine(day if side == "before" else day + timedelta(days=1), time(), zone)


def usual_side(day: date, ridden: Iterable[date]) -> Side:
    """What is assumed where nobody says: after the rides of that day if it is among the days ridden, else before."""
    return "after" if day in ridden else "before"


def end_anywhere(day: date) -> datetime:
    """The last instant that is still this day somewhere on earth: what was done or ridden "today" lies before it."""
    return datetime.combine(day + timedelta(days=1), time(12), UTC)
