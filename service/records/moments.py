"""When a thing happened that was logged with an instant, with a day alone, or with neither."""

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

from service.domain.instants import fitting_instant
from service.errors import Refusal
from service.records.people import Who

SLACK = timedelta(days=1)
"""How far ahead of now a day or an instant may lie: somewhere on earth it is tomorrow already."""


def moment(who: Who, at: datetime | None, day: date | None, now: datetime) -> tuple[datetime, date]:
    """The instant and the civil day, the one filled in from the other. Raises Refusal ahead of `now`."""
    pointer = "/at" if day is None else "/day"
    if at is None:
        at = now if day is None else _end_of(who, day, now)
    check_not_ahead(at, now, pointer, "done or read")
    return at, day or who.today(at)


def _end_of(who: Who, day: date, now: datetime) -> datetime:
    """What was done on a day without an hour was done after its rides; today's, just now."""
    at = fitting_instant(day, "after", ZoneInfo(who.time_zone)).astimezone(UTC) - timedelta(seconds=1)
    return min(at, now) if who.today(now) == day else at


def check_not_ahead(at: datetime, now: datetime, pointer: str, what: str) -> None:
    """Raises Refusal for what lies more than a day ahead; `what` says what must have happened by then."""
    if at > now + SLACK:
        raise Refusal(
            f"{at:%Y-%m-%d} has not come yet; give the day it was {what}.",
            errors=[(pointer, f"should be no later than {now + SLACK:%Y-%m-%d}")],
        )


def check_day_not_ahead(day: date | None, today: date, pointer: str, what: str) -> None:
    """Raises Refusal for a day that is more than a day ahead; `what` says what must have happened by then."""
    if day is not None and day > today + SLACK:
        raise Refusal(
            f"{day} has not come yet; give the day it was {what}.",
            errors=[(pointer, f"should be no later than {today + SLACK}")],
        )
