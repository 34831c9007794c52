"""Rides out of files: one of a recorded track, many of a sheet; what was stored before is never stored again."""

import hashlib
import hmac
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from sqlalchemy import select
from sqlmodel import Session, col

from service.domain.instants import ride_instant
from service.domain.ride_columns import Columns, settle
from service.domain.ride_repeats import NewRide, Repeats, Sorted, StoredRide, id_from, named, sort_out
from service.domain.ride_rows import HIGHEST_M, LONGEST_M, LONGEST_S, YEARS, RideReader, RideRow
from service.domain.sheet import RowProblem, Sheet
from service.domain.track import Track, TrackSum
from service.errors import Conflict, Gone, NotFound, Refusal
from service.formats.gpx import GpxReader
from service.records.builds import get_build
from service.records.columns import columns_of, ids
from service.records.journal import add_many
from service.records.lock import take_ridden
from service.records.moments import check_not_ahead
from service.records.once import store_once
from service.records.people import Who
from service.records.riding import ask_about_day
from service.schemas.importing import FIRST_RIDES, ColumnsRead, RideRead, RidesImported, RowSaid, ToldBeside
from service.tables import Build, Journal, Ride, Workshop
from service.tables.riding import CONDITIONS

KM = 1000
AT_ONCE = 500
"""Ids that one statement asks for."""
WITHOUT_TIMES = datetime(1970, 1, 1, tzinfo=UTC)
CHOSEN_HERE = frozenset({"person_id", "metres", "moving_s", "climb_m"})
"""What a retry need not repeat: the file is the same, whatever a later version of the program makes of it."""


@dataclass(frozen=True, slots=True)
class TrackFile:
    """A recorded track that was added up while it came in, and the SHA-256 of its bytes; the bytes are gone."""

    track: Track
    digest: bytes


class TrackReading:
    """A recorded track that is added up and hashed while it comes in, so that a large one is never held whole."""

    def __init__(self) -> None:
        self._reader, self._adding, self._hash = GpxReader(), TrackSum(), hashlib.sha256()

    def feed(self, piece: bytes) -> None:
        """Takes the next piece. Raises Refusal, TooLarge."""
        self._hash.update(piece)
        self._adding.add(self._reader.feed(piece))

    def done(self) -> TrackFile:
        """The whole. Raises Refusal."""
        self._adding.add(self._reader.close())
        return TrackFile(self._adding.done(), self._hash.digest())


def find_build(session: Session, who: Who, name: str) -> UUID:
    """The build of this name. Raises NotFound, and Conflict where several have it."""
    named_so = select(col(Build.id)).where(col(Build.workshop_id) == who.workshop_id, col(Build.name) == name).limit(2)
    found = session.execute(named_so).scalars().all()
    if not found:
        raise NotFound("build called", name)
    if len(found) > 1:
        raise Conflict(f"Several builds are called {name}; give one of them another name first.")
    build_id: UUID = found[0]
    return build_id


def store_track(
    session: Session, who: Who, build_id: UUID, sent: TrackFile, beside: ToldBeside, *, now: datetime
) -> tuple[Ride, bool]:
    """Stores the ride of a recorded track; answers it and whether it is new. The same file twice is once.

    Raises Refusal for a file without times where no day is given, and for one that moves nowhere; Asks where the day's
    sum passes 2,000 km; Gone where its ride
    was removed since, Conflict where it is stored with other conditions.
    """
    track = sent.track
    started_at, day = _when(who, track.started_at, beside.day, now)
    take_ridden(session, who, build_id, started_at)
    if not 1 <= track.metres <= LONGEST_M:
        raise Refusal(
            f"The track is {track.metres / KM:.0f} km long; a ride goes from a metre to once round the earth."
        )
    key = session.execute(select(col(Workshop.file_key)).where(col(Workshop.id) == who.workshop_id)).scalar_one()
    file_hash = hmac.new(bytes.fromhex(key), sent.digest, "sha256").hexdigest()
    ride = Ride(
        id=id_from(track.started_at or WITHOUT_TIMES, f"{build_id} {file_hash}".encode()),
        build_id=build_id,
        person_id=who.person_id,
        started_at=started_at,
        day=day,
        metres=round(track.metres),
        moving_s=_within(track.moving_s, LONGEST_S) or None,
        climb_m=_within(track.climb_m, HIGHEST_M),
        conditions=beside.conditions,
        loaded=beside.loaded,
        descents=beside.descents,
        source="gpx",
        file_hash=file_hash,
        note=beside.note,
    )
    timed = frozenset({"started_at", "day"}) if track.started_at else frozenset()
    try:
        stored, new = store_once(session, ride, ignore=CHOSEN_HERE | timed)
    except Gone:
        say = "The ride of this file was removed from this build since. Undo that in the journal, or log it by hand."
        raise Gone("ride", ride.id, say) from None
    if new and not beside.sure:
        ask_about_day(session, stored)
    return stored, new


def _within(figure: float | None, most: int) -> int | None:
    """A figure to the whole; one that no ride can have is not kept, as the distance is what counts."""
    return None if figure is None or figure > most else round(figure)


def _when(who: Who, at: datetime | None, day: date | None, now: datetime) -> tuple[datetime, date]:
    zone = ZoneInfo(who.time_zone)
    if at is None:
        if day is None:
            raise Refusal(
                "The file has no times; say on which day the ride was.", errors=[("/day", "a day such as 2026-05-04")]
            )
        at = ride_instant(day, zone)
    if at.year not in YEARS:
        raise Refusal(f"The file says that it was recorded in the year {at.year}; correct its times.")
    at = at.astimezone(UTC)
    check_not_ahead(at, now, "/day", "ridden")
    return at, at.astimezone(zone).date()


@dataclass(frozen=True, slots=True)
class RideSheet:
    """A sheet that was read: how, the rides in it, what is wrong with the other lines."""

    columns: Columns
    rides: Sequence[NewRide]
    problems: Sequence[RowProblem]
    rows_count: int


@dataclass(frozen=True, slots=True)
class Checked:
    """A sheet against what is stored."""

    sheet: RideSheet
    sorted: Sorted

    @property
    def problems(self) -> list[RowProblem]:
        """Everything that is wrong, in the order of the lines."""
        return sorted([*self.sheet.problems, *self.sorted.problems])


def read_sheet(who: Who, build_id: UUID, sheet: Sheet, said: Columns, *, conditions: str, now: datetime) -> RideSheet:
    """The rides of a sheet; nothing of the database is needed. Raises Refusal with every open question."""
    columns = settle(said, sheet)
    reader = RideReader(columns, ZoneInfo(who.time_zone), now, conditions, CONDITIONS)
    rides, problems = reader.read(sheet)
    return RideSheet(columns, named(build_id, rides), problems, len(sheet.lines))


def check_rides(
    session: Session, who: Who, build_id: UUID, sheet: RideSheet, *, repeats: Repeats = "ask", sure: bool = False
) -> Checked:
    """What importing this sheet would do. Raises NotFound."""
    get_build(session, who, build_id)
    ride = columns_of(Ride)
    rows = session.execute(select(*ids(ride.id), ride.day, ride.metres).where(ride.build_id == build_id)).all()
    stored = [StoredRide(*row) for row in rows]
    known = {each.id for each in stored}
    removed = _removed(session, [each.id for each in sheet.rides if each.id not in known])
    return Checked(sheet, sort_out(sheet.rides, stored, removed, repeats=repeats, sure=sure))


def _removed(session: Session, asked: Sequence[UUID]) -> set[UUID]:
    """Those of these rides that were removed since."""
    found: set[UUID] = set()
    line = columns_of(Journal)
    for begin in range(0, len(asked), AT_ONCE):
        some = [str(each) for each in asked[begin : begin + AT_ONCE]]
        removed = (line.noun == "ride") & line.row_id.in_(some) & (line.verb == "removed")
        found |= {UUID(row_id) for row_id in session.execute(select(line.row_id).where(removed)).scalars()}
    return found


def import_rides(
    session: Session, who: Who, build_id: UUID, sheet: RideSheet, beside: ToldBeside,
    *, repeats: Repeats = "ask", sure: bool = False, leave_out_wrong: bool = False,
) -> Checked:  # fmt: skip
    """Stores the rides of a sheet that are new, all or none; answers what was done with each line.

    Raises Refusal with every line's problem, unless such lines are to be left out.
    """
    take_ridden(session, who, build_id, None)
    checked = check_rides(session, who, build_id, sheet, repeats=repeats, sure=sure)
    wrong = checked.problems
    if wrong and not leave_out_wrong:
        first = wrong[0]
        say = f"Line {first.line}: {first.column} {first.say}".replace(":  ", ": ")
        more = f" {len(wrong) - 1} more problems are listed." if len(wrong) > 1 else ""
        errors = [(f"/lines/{each.line}", f"{each.column} {each.say}".strip()) for each in wrong]
        raise Refusal(f"Nothing was stored. {say}.{more}", errors=errors)
    add_many(session, Ride, [_row(build_id, who, beside, each) for each in checked.sorted.new])
    return checked


def _row(build_id: UUID, who: Who, beside: ToldBeside, new: NewRide) -> dict[str, Any]:
    row = new.row
    return {
        "id": new.id,
        "build_id": build_id,
        "person_id": who.person_id,
        "started_at": row.started_at,
        "day": row.day,
        "metres": row.metres,
        "moving_s": row.moving_s,
        "climb_m": row.climb_m,
        "conditions": row.conditions,
        "loaded": beside.loaded,
        "descents": beside.descents,
        "source": "csv",
        "file_hash": None,
        "version": 1,
        "note": row.note,
    }


def show_checked(checked: Checked, *, dry_run: bool) -> RidesImported:
    """What importing did, or would do, with every row that was not plainly stored."""
    new = [each.row for each in checked.sorted.new]
    days = [row.day for row in new]
    return RidesImported(
        dry_run=dry_run,
        rows_count=checked.sheet.rows_count,
        rides_count=len(new),
        km=sum(row.metres for row in new) / KM,
        first_day=min(days, default=None),
        last_day=max(days, default=None),
        stored_already_count=checked.sorted.stored_already,
        removed_since_count=checked.sorted.removed_since,
        columns=ColumnsRead.model_validate(checked.sheet.columns),
        problems=_said(checked.problems),
        left_out=_said(checked.sorted.left_out),
        first_rides=[_shown(row) for row in new[:FIRST_RIDES]],
    )


def _said(rows: Iterable[RowProblem]) -> list[RowSaid]:
    """Made without checking again what is right already: there may be tens of thousands."""
    return [RowSaid.model_construct(line=each.line, column=each.column, say=each.say) for each in rows]


def _shown(row: RideRow) -> RideRead:
    own = {name: getattr(row, name) for name in ("line", "started_at", "day", "moving_s", "climb_m", "note")}
    return RideRead(**own, km=row.metres / KM, conditions=row.conditions)
