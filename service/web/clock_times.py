"""A day and, where it matters, a time as they are typed into a form: an instant on the workshop's clock."""

from datetime import date, datetime, time
from typing import Any
from zoneinfo import ZoneInfo

from service.errors import Malformed
from service.records.people import Who
from service.web.forms import Typed


def when_typed(form: Typed, who: Who, now: datetime, *, at: str, day: str) -> dict[str, Any]:
    """What is sent for the fields "day" and "time": under `at` an instant where a time is given, else under `day`.

    A time without a day is today's. Empty where neither is given. Raises Malformed at the field that is wrong.
    """
    if not form.has("time"):
        return {day: form("day")} if form.has("day") else {}
    try:
        hour = time.fromisoformat(form("time").strip().replace(".", ":"))
    except ValueError:
        raise _wrong("time", f"should be a time such as 14:30, not {form('time')!r}") from None
    try:
        on = date.fromisoformat(form("day").strip()) if form.has("day") else who.today(now)
    except ValueError:
        raise _wrong("day", f"should be a day such as 2026-03-14, not {form('day')!r}") from None
    return {at: datetime.combine(on, hour.replace(tzinfo=None), ZoneInfo(who.time_zone))}


def _wrong(name: str, say: str) -> Malformed:
    return Malformed(f"{name.capitalize()} {say}.", errors=[(f"/{name}", say)])


def time_shown(at: datetime, zone: str) -> str:
    """The time of an instant as it is typed."""
    return f"{at.astimezone(ZoneInfo(zone)):%H:%M}"
