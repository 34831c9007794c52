"""What each line of a sheet means as a ride; whatever is wrong with a line is said with what would be right."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, timezone, tzinfo
from functools import lru_cache
from typing import NamedTuple

from service.domain.instants import ride_instant
from service.domain.ride_columns import CLIMB_METRES_PER, METRES_PER, NAMES, SECONDS_PER, SPELT, Columns
from service.domain.sheet import Line, RowProblem, Sheet

LONGEST_M = 40_075_000
"""The equator's length (WGS 84: 2 pi x 6378.137 km); no ride is longer."""
LONGEST_S = 10_000_000
HIGHEST_M = 200_000
LONGEST_NOTE = 4_000
YEARS = range(1900, 2201)
AHEAD = timedelta(days=1)
"""How far ahead of now a ride may lie: somewhere on earth it is tomorrow already."""
_DATE = re.compile(
    r"(?:(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})|(\d{1,2})[-/.](\d{1,2})[-/.](\d{4}))"
    r"(?:(?:[Tt]|,? +)(\d{1,2}):(\d{2})(?::(\d{2})(?:[.,]\d+)?)? ?([AaPp]\.?[Mm]\.?)?"
    r" ?(?:([Zz])|([-+])(\d{2}):?(\d{2}))?)?",
    re.ASCII,
)
_POINT = re.compile(r"([-+]?)(\d{1,3}(?:[,'’ \u00a0\u202f]\d{3})+|\d+)(?:\.(\d*))?\s*([A-Za-z.]*)", re.ASCII)
_COMMA = re.compile(r"([-+]?)(\d{1,3}(?:[.'’ \u00a0\u202f]\d{3})+|\d+)(?:,(\d*))?\s*([A-Za-z.]*)", re.ASCII)
_NO_DIGIT = re.compile(r"\D", re.ASCII)
_CLOCK = re.compile(r"(\d{1,4}):([0-5]\d)(?::([0-5]\d)(?:[.,]\d+)?)?", re.ASCII)
DAY_RIGHT = "a day such as 2026-05-04, with or without a time"


class RideRow(NamedTuple):
    """A ride as a line tells it; `whole_day` where it says no time, so that it counts from noon."""

    line: int
    started_at: datetime
    day: date
    whole_day: bool
    metres: int
    moving_s: int | None
    climb_m: int | None
    conditions: str
    note: str


@dataclass(frozen=True, slots=True)
class RideReader:
    """How the lines of one sheet are read: its settled columns, the workshop's zone, what holds for all rides."""

    columns: Columns
    zone: tzinfo
    now: datetime
    conditions: str = "dry"
    known_conditions: Sequence[str] = ()

    def read(self, sheet: Sheet) -> tuple[list[RideRow], list[RowProblem]]:
        """Every ride, and everything that is wrong."""
        at = {use: sheet.names.index(name) for use in NAMES if (name := getattr(self.columns, use))}
        rides: list[RideRow] = []
        problems: list[RowProblem] = []
        widest = len(sheet.names)
        for line in sheet.lines:
            try:
                if len(line.cells) > widest and any(line.cells[widest:]):
                    say = f"has {len(line.cells)} cells, the header {widest}; quote a cell that holds the delimiter"
                    raise _Wrong("", say)
                rides.append(self._ride(line, at))
            except _Wrong as wrong:
                problems += [RowProblem(line.number, getattr(self.columns, use, ""), say) for use, say in wrong.faults]
        return rides, problems

    def _ride(self, line: Line, at: Mapping[str, int]) -> RideRow:
        faults: list[tuple[str, str]] = []

        def cell(use: str) -> str:
            place = at.get(use, -1)
            return line.cells[place].strip() if 0 <= place < len(line.cells) else ""

        started_at, day, whole_day, metres, climb, moving = self.now, self.now.date(), True, 0, None, None
        conditions, note = cell("conditions_column").lower() or self.conditions, cell("note")
        try:
            started_at, day, whole_day = self._when(cell("when"), cell("time_of_day"))
        except _Wrong as wrong:
            faults += wrong.faults
        try:
            metres = self._metres(cell("distance"))
        except _Wrong as wrong:
            faults += wrong.faults
        try:
            moving, climb = self._seconds(cell("moving_time")), self._climb(cell("climb"))
        except _Wrong as wrong:
            faults += wrong.faults
        if conditions not in self.known_conditions:
            faults.append(("conditions_column", f"should be {_either(self.known_conditions)}, not {conditions[:40]!r}"))
        if len(note) > LONGEST_NOTE:
            faults.append(("note", f"should have at most {LONGEST_NOTE} characters"))
        if faults:
            raise _Wrong(*faults[0], faults)
        return RideRow(line.number, started_at, day, whole_day, metres, moving, climb, conditions, note)

    def _when(self, text: str, clock: str) -> tuple[datetime, date, bool]:
        if not text:
            raise _Wrong("when", f"is empty; it should be {DAY_RIGHT}")
        whole = f"{text} {clock}" if clock else text
        met = _DATE.fullmatch(whole)
        if met is None:
            raise _Wrong("when", f"should be {DAY_RIGHT}, not {whole[:40]!r}")
        try:
            day = _day_of(met[1], met[2], met[3], met[4], met[5], met[6], self.columns.date_order == "month-first")
            if day.year not in YEARS:
                raise _Wrong("when", f"should lie between the years 1900 and 2200, not {whole[:40]!r}")
            started_at, whole_day = _instant(met, day, self.zone)
        except (ValueError, OverflowError):
            raise _Wrong("when", f"{whole[:40]!r} is in no calendar; it should be {DAY_RIGHT}") from None
        if started_at > self.now + AHEAD:
            raise _Wrong("when", f"{day} has not come yet; it should be no later than {(self.now + AHEAD).date()}")
        if met[11] or not (met[12] or whole_day):  # Z says nothing of where it was, and the zone is the workshop's
            day = started_at.astimezone(self.zone).date()
        return started_at, day, whole_day

    def _metres(self, text: str) -> int:
        if not text:
            raise _Wrong("distance", "is empty; it should be how far the ride went")
        metres = self._number("distance", text, METRES_PER, self.columns.distance_unit, "a distance such as 42.1")
        if metres <= 0:
            raise _Wrong("distance", f"should be more than 0, not {text[:40]!r}; leave such a row out")
        if metres > LONGEST_M:
            raise _Wrong(
                "distance", f"should be at most {LONGEST_M // 1000} km, once round the earth, not {text[:40]!r}"
            )
        return max(1, round(metres))

    def _climb(self, text: str) -> int | None:
        if not text:
            return None
        climb = self._number("climb", text, CLIMB_METRES_PER, self.columns.climb_unit, "a height such as 480")
        if not 0 <= climb <= HIGHEST_M:
            raise _Wrong("climb", f"should be from 0 to {HIGHEST_M} m, not {text[:40]!r}")
        return round(climb)

    def _seconds(self, text: str) -> int | None:
        """Seconds; nought is not known."""
        if not text:
            return None
        met = _CLOCK.fullmatch(text)
        if met is not None and met[3] is not None:
            seconds: float = int(met[1]) * 3600 + int(met[2]) * 60 + int(met[3])
        elif met is not None:
            seconds = int(met[1]) * 60 + int(met[2])
            seconds *= 60 if self.columns.moving_time_unit == "h:mm" else 1
        else:
            right = "a time such as 2:05:30"
            seconds = self._number("moving_time", text, SECONDS_PER, self.columns.moving_time_unit, right)
        if not 0 <= seconds <= LONGEST_S:
            raise _Wrong("moving_time", f"should be from 0 to {LONGEST_S} s, not {text[:40]!r}")
        return round(seconds) or None

    def _number(self, use: str, text: str, units: Mapping[str, float], unit: str | None, right: str) -> float:
        """A number in the base unit: in the unit that stands behind it, else in that of the column."""
        comma = self.columns.decimal == "comma"
        met = (_COMMA if comma else _POINT).fullmatch(text)
        factor = units.get(SPELT.get(met[4].lower(), "") if met[4] else unit or "") if met else None
        if met is None or factor is None:
            if met is not None and met[4]:
                raise _Wrong(use, f"should be in {_either(tuple(units))}, not {text[:40]!r}")
            shown = f"{right.replace('.', ',')} (with a decimal comma)" if comma else right
            raise _Wrong(use, f"should be {shown}, not {text[:40]!r}")
        number = float(f"{met[1]}{_NO_DIGIT.sub('', met[2])}.{met[3] or 0}")
        return number * factor


class _Wrong(Exception):
    """What is wrong with a line, by the use of its column."""

    def __init__(self, use: str, say: str, faults: Sequence[tuple[str, str]] = ()) -> None:
        super().__init__(say)
        self.faults = list(faults) or [(use, say)]


def _either(words: Sequence[str]) -> str:
    return f"{', '.join(words[:-1])} or {words[-1]}" if len(words) > 1 else "".join(words)


@lru_cache(maxsize=4096)
def _day_of(
    year: str | None, month: str | None, day: str | None, one: str, other: str, late: str, month_first: bool
) -> date:
    if year is not None:
        return date(int(year), int(month or 0), int(day or 0))
    return date(int(late), int(one if month_first else other), int(other if month_first else one))


def _instant(met: "re.Match[str]", day: date, zone: tzinfo) -> tuple[datetime, bool]:
    """When it began, in UTC, and whether no time was said. Raises ValueError, OverflowError."""
    if met[7] is None:
        return _noon(day, zone), True
    hour = int(met[7])
    if met[10]:
        if not 1 <= hour <= 12:
            raise ValueError
        hour = hour % 12 + (12 if met[10][0] in "pP" else 0)
    if met[11]:
        zone = UTC
    elif met[12]:
        ahead = timedelta(hours=int(met[13]), minutes=int(met[14]))
        zone = timezone(ahead if met[12] == "+" else -ahead)
    clock = time(hour, int(met[8]), int(met[9] or 0))
    return datetime.combine(day, clock, zone).astimezone(UTC), False


@lru_cache(maxsize=4096)
def _noon(day: date, zone: tzinfo) -> datetime:
    return ride_instant(day, zone).astimezone(UTC)
