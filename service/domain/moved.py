"""What a correction moved: items of what is due whose state or day is another one than before it."""

from collections.abc import Sequence
from datetime import date
from typing import NamedTuple

from service.domain.due import STATES, Due


class Moved(NamedTuple):
    """An item before and after; a state of None: it was not there, or is no more."""

    title: str
    where: str
    was: str | None
    now: str | None
    was_on: date | None
    now_on: date | None


def moved(before: Sequence[Due], after: Sequence[Due]) -> tuple[Moved, ...]:
    """Items whose state changed, most pressing now first, then those of which only the day did."""
    old, new = ({_key(due): due for due in each} for each in (before, after))
    found = [_moved(old.get(key), new.get(key)) for key in dict.fromkeys((*new, *old))]
    changed = [each for each in found if (each.was, each.was_on) != (each.now, each.now_on)]
    return tuple(sorted(changed, key=_rank))


def _key(due: Due) -> tuple[object, str, str]:
    return due.part_id, due.task, due.place


def _moved(old: Due | None, new: Due | None) -> Moved:
    told = new or old
    assert told is not None  # noqa: S101 - the key came from one of them
    return Moved(
        told.title,
        told.where,
        old.state if old else None,
        new.state if new else None,
        old.day if old else None,
        new.day if new else None,
    )


def _rank(each: Moved) -> tuple[bool, int, str, str]:
    pressing = len(STATES) if each.now is None else [*map(str, STATES)].index(each.now)
    return each.was == each.now, pressing, each.title, each.where
