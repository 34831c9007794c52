"""Which due items stand in a calendar, on which Saturday, and as of when they are looked at."""

import hashlib
from collections.abc import Iterable, Iterator
from datetime import date, datetime, timedelta
from itertools import chain

from service.domain.bicycle import Bicycle
from service.domain.due import done_by_bundle
from service.domain.procedure import Library
from service.domain.standing import Due

SHOWN = ("do not ride", "overdue", "due", "plan it", "fine")
PRESSING = ("do not ride", "overdue", "due")
AHEAD = timedelta(days=366)
SATURDAY = 5


def last_written(bicycle: Bicycle) -> datetime | None:
    """The newest instant in a bicycle's log; None where there is nothing in it."""
    rides = chain.from_iterable(bicycle.rides.values())
    readings = chain.from_iterable(bicycle.odometer_readings.values())
    found = [ride.started_at for ride in rides]
    found += [each.at for each in readings]
    found += [each.at for each in bicycle.events]
    found += [each.at for each in bicycle.measurements]
    found += [each.to_at or each.from_at for each in bicycle.fittings]
    return max(found, default=None)


def as_of(bicycle: Bicycle, written: date, today: date) -> date:
    """The day a bicycle is looked at for a calendar: that of its last entry, or when a put-off ended since.

    Not today: days of what is ridden would move on daily although nothing was ridden.
    """
    ended = [each.until_on for each in bicycle.put_offs if each.until_on is not None and each.until_on <= today]
    return max([written, *ended])


def dated(dues: Iterable[Due], seen_on: date, library: Library) -> Iterator[tuple[date, Due]]:
    """What stands in a calendar, each with its Saturday.

    Left out: what is only to be looked at once, rests or is switched off, what is put off, what a bundle does as well
    no later, wear that was never read and does not press, what has no day, and what is over a year away. What presses
    already and has no day stands on the Saturday before the bicycle was looked at.
    """
    met = list(_with_days(dues, seen_on))
    bundles = {due.task: day for day, due in met if due.part_id is None}
    for day, due in met:
        sooner = [task for task, on in bundles.items() if on <= day and due.task in done_by_bundle(library, task)]
        if due.state in PRESSING or not sooner:
            yield saturday_before(day), due


def _with_days(dues: Iterable[Due], seen_on: date) -> Iterator[tuple[date, Due]]:
    for due in dues:
        if due.state not in SHOWN or due.put_off is not None or due.within is not None:
            continue
        is_guess = due.by_wear and due.last is None and due.state == "fine"
        day = due.day or (seen_on if due.state in PRESSING else None)
        if day is not None and day <= seen_on + AHEAD and not is_guess:
            yield day, due


def saturday_before(day: date) -> date:
    """That Saturday, or the last one before."""
    return day - timedelta(days=(day.weekday() - SATURDAY) % 7)


def uid_of(due: Due) -> str:
    """The name of one occurrence: of whom, which task, where, which round; never of its day."""
    key = f"{due.part_id or due.build_id} {due.task} {due.place} {due.cycle}"
    return f"{hashlib.sha256(key.encode()).hexdigest()[:40]}@locknut"


def summary_of(due: Due, build: str) -> str:
    """Bicycle: what, where."""
    return f"{build}: " + ", ".join(word for word in (due.title, due.where) if word)


def description_of(due: Due) -> str:
    """Why, with the days it may fall on, and what a workshop must do."""
    said = [due.why[:1].upper() + due.why[1:]]
    if due.on is not None and due.on.early != due.on.middle:
        end = f"and {due.on.late:%Y-%m-%d}" if due.on.late is not None else "and a day that is not known"
        said.append(f"Between {due.on.early:%Y-%m-%d} {end}.")
    if due.state == "do not ride":
        said.append("Do not ride until this is put right.")
    if due.needs_shop:
        said.append("Needs a shop.")
    return "\n".join(said)
