"""Which rides of a sheet are new: what stands there twice, is stored already, was removed since, is too far."""

import hashlib
from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Literal, NamedTuple
from uuid import UUID

from service.domain.ride_rows import RideRow
from service.domain.sheet import RowProblem

Repeats = Literal["ask", "leave-out", "keep"]
NEAR_M, NEAR_SHARE = 100, 0.01
"""Two records of one ride on one day differ by no more than either: common practice, no source."""
MOST_IN_A_DAY = 2_000_000
"""Metres in one day beyond which a ride is asked for again (common practice, no source)."""


class StoredRide(NamedTuple):
    """A ride of the build that is stored already."""

    id: UUID
    day: date
    metres: int


class NewRide(NamedTuple):
    """A ride that is to be stored, and under which id."""

    id: UUID
    row: RideRow


@dataclass(frozen=True, slots=True)
class Sorted:
    """What becomes of the rides of a sheet."""

    new: Sequence[NewRide]
    left_out: Sequence[RowProblem]
    problems: Sequence[RowProblem]
    stored_already: int = 0
    removed_since: int = 0


def id_from(at: datetime, content: bytes) -> UUID:
    """A UUID in the form of version 7 that is always the same for the same instant and content: no chance is in it."""
    milliseconds = int(at.timestamp() * 1000)
    digest = int.from_bytes(hashlib.sha256(content).digest()[:10])
    head = (milliseconds & (1 << 48) - 1) << 80 | 7 << 76 | (digest >> 62 & 0xFFF) << 64
    return UUID(int=head | 2 << 62 | digest & (1 << 62) - 1)


def named(build_id: UUID, rides: Iterable[RideRow]) -> list[NewRide]:
    """Every ride with an id made of its build, start and length, so that the same file again is the same rides.

    Two that are alike in all of that get two ids: there and back to work is two rides of one day.
    """
    counts: dict[tuple[object, int], int] = defaultdict(int)
    found: list[NewRide] = []
    for ride in rides:
        key = (ride.started_at, ride.metres)
        counts[key] += 1
        content = f"{build_id} {ride.started_at.isoformat()} {ride.metres} {counts[key]}"
        found.append(NewRide(id_from(ride.started_at, content.encode()), ride))
    return found


@dataclass(slots=True)
class _Sorting:
    new: list[NewRide] = field(default_factory=list)
    left_out: list[RowProblem] = field(default_factory=list)
    problems: list[RowProblem] = field(default_factory=list)


def sort_out(
    rides: Sequence[NewRide],
    stored: Sequence[StoredRide],
    removed: Collection[UUID],
    *,
    repeats: Repeats = "ask",
    sure: bool = False,
) -> Sorted:
    """What is to be stored; the rest with its line and why."""
    own, known = {ride.id for ride in rides}, {ride.id for ride in stored}
    others: dict[date, list[int]] = defaultdict(list)
    for each in stored:
        if each.id not in own:
            others[each.day].append(each.metres)
    first_of: dict[tuple[object, int], int] = {}
    sorting = _Sorting()
    again = gone = 0
    for ride in rides:
        row = ride.row
        first = first_of.setdefault((row.started_at, row.metres), row.line)
        if ride.id in known:
            again += 1
            sorting.left_out.append(RowProblem(row.line, "", "is stored already"))
        elif ride.id in removed:
            gone += 1
            sorting.left_out.append(RowProblem(row.line, "", "was stored and has been removed since; it stays so"))
        else:
            _judge(ride, _like(row, first, others), repeats, sorting)
    too_far = [] if sure else _too_far(sorting.new, stored)
    lines = {each.line for each in too_far}
    new = [ride for ride in sorting.new if ride.row.line not in lines]
    return Sorted(new, sorting.left_out, [*sorting.problems, *too_far], again, gone)


def _like(row: RideRow, first: int, others: Mapping[date, Sequence[int]]) -> str:
    """Which ride this one looks like; "" where it looks like none."""
    if first != row.line:
        return f"is the same ride as line {first}"
    for metres in others.get(row.day, ()):
        if abs(metres - row.metres) <= max(NEAR_M, NEAR_SHARE * metres):
            return f"looks like a ride of {row.day} that is stored already ({metres / 1000:.1f} km)"
    return ""


def _judge(ride: NewRide, like: str, repeats: Repeats, sorting: _Sorting) -> None:
    if not like or repeats == "keep":
        sorting.new.append(ride)
    elif repeats == "leave-out":
        sorting.left_out.append(RowProblem(ride.row.line, "", like))
    else:
        say = f"{like}; say whether such rows are left out or kept (repeats)"
        sorting.problems.append(RowProblem(ride.row.line, "", say))


def _too_far(new: Sequence[NewRide], stored: Iterable[StoredRide]) -> list[RowProblem]:
    """Every row of a day that comes to more than a day's riding, together with what is stored of it."""
    metres: dict[date, int] = defaultdict(int)
    for ride in new:
        metres[ride.row.day] += ride.row.metres
    for each in stored:
        metres[each.day] += each.metres
    return [
        RowProblem(
            ride.row.line,
            "",
            f"makes {metres[ride.row.day] / 1000:,.0f} km on {ride.row.day} with the others of that day; "
            "more than 2,000 km are unlikely: correct the figure, or say that it is right (sure)",
        )
        for ride in new
        if metres[ride.row.day] > MOST_IN_A_DAY
    ]
