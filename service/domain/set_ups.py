"""The rider's position and pressures as they were written down over time, and how two of them differ."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from service.errors import NotFound

FIELDS: Mapping[str, str] = {
    "saddle_height_mm": "Shell to saddle top",
    "saddle_setback_mm": "Saddle nose behind the shell",
    "bar_reach_mm": "Saddle nose to bar",
    "bar_drop_mm": "Bar below the saddle",
    "front_kpa": "Front pressure",
    "rear_kpa": "Rear pressure",
}


@dataclass(frozen=True, slots=True)
class SetUpFacts:
    """One set-up: mm and kPa by field, None where it was not written down."""

    id: UUID
    at: datetime
    figures: Mapping[str, float | None]
    note: str = ""


@dataclass(frozen=True, slots=True)
class Change:
    """One figure in two set-ups; `by` is the later less the earlier, None where one of them does not say."""

    field: str
    title: str
    before: float | None
    after: float | None
    by: float | None


@dataclass(frozen=True, slots=True)
class SetUpSeen:
    """A set-up with what changed since the one before it."""

    id: UUID
    at: datetime
    note: str
    changes: tuple[Change, ...]


def over_time(set_ups: Iterable[SetUpFacts]) -> tuple[SetUpSeen, ...]:
    """The newest first, each against the last figure of every kind that was written down before it."""
    last: dict[str, float | None] = dict.fromkeys(FIELDS)
    seen = []
    for each in sorted(set_ups, key=lambda one: (one.at, one.id)):
        seen.append(SetUpSeen(each.id, each.at, each.note, _changes(last, each.figures)))
        last |= {field: figure for field, figure in each.figures.items() if figure is not None}
    return tuple(reversed(seen))


def difference(set_ups: Sequence[SetUpFacts], first: UUID, second: UUID) -> tuple[Change, ...]:
    """How the second differs from the first. Raises NotFound for one that is not of this build."""
    by_id = {each.id: each for each in set_ups}
    for wanted in (first, second):
        if wanted not in by_id:
            raise NotFound("set-up", wanted)
    return _changes(by_id[first].figures, by_id[second].figures)


def _changes(before: Mapping[str, float | None], after: Mapping[str, float | None]) -> tuple[Change, ...]:
    found = []
    for field, title in FIELDS.items():
        was, now = before.get(field), after.get(field)
        by = None if was is None or now is None else now - was
        found.append(Change(field, title, was, now, by))
    return tuple(found)
