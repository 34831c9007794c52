"""What `locknut import-rides` does: each file for itself, all of it or nothing, and what was said of it."""

import json
import sys
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, field, fields
from datetime import datetime
from pathlib import Path
from typing import IO, Any
from uuid import UUID

from pydantic import ValidationError
from sqlmodel import Session

from service.database import Database
from service.domain.procedure import Library
from service.domain.ride_columns import Columns
from service.domain.ride_repeats import Repeats
from service.errors import Refusal
from service.formats.csv_rows import LARGEST_BYTES, read_csv
from service.formats.gpx import is_gpx
from service.records import importing
from service.records.people import Who
from service.records.touched import judge, store
from service.schemas.importing import ToldBeside

PIECE = 1 << 16
SHOWN = 20
"""Problems of one file that are printed; as JSON all of them are."""
WIDTH = 30


@dataclass(frozen=True, slots=True)
class Order:
    """What was asked for on the command line, for all files."""

    build: str
    columns: Columns
    beside: ToldBeside
    repeats: Repeats = "ask"
    sure: bool = False
    leave_out_wrong: bool = False
    dry_run: bool = False


@dataclass(frozen=True, slots=True)
class Told:
    """What became of one file."""

    file: str
    state: str
    rides_count: int = 0
    km: float = 0.0
    say: str = ""
    lines: Sequence[str] = field(default=())

    @property
    def is_refused(self) -> bool:
        """Whether nothing of it was stored because something is wrong."""
        return self.state == "refused"


def columns_said(pairs: Sequence[str]) -> Columns:
    """The columns of `when=Date`, `distance_unit=mi` and so on. Raises Refusal for a use that there is not."""
    known = [each.name for each in fields(Columns)]
    said: dict[str, str] = {}
    for pair in pairs:
        use, equals, name = pair.partition("=")
        if not equals or use not in known:
            raise Refusal(f"--columns {pair}: write USE=NAME with one of {', '.join(known)}.")
        said[use] = name
    return Columns(**said)  # type: ignore[arg-type]


def order_of(given: Mapping[str, Any]) -> Order:
    """The order in these arguments. Raises Refusal for a word that there is not."""
    names = ("conditions", "loaded", "descents", "day", "sure")
    told = {name: given[name] for name in names if given[name] is not None}
    try:
        beside = ToldBeside.model_validate(told)
    except ValidationError as wrong:
        first = wrong.errors(include_url=False)[0]
        raise Refusal(f"--{first['loc'][0]} {first['input']}: {first['msg']}.") from None
    own = {name: given[name] for name in ("build", "repeats", "sure", "leave_out_wrong", "dry_run")}
    return Order(columns=columns_said(given["columns"]), beside=beside, **own)


class Importing:
    """The import of some files into one build."""

    def __init__(self, database: Database, who: Who, library: Library, order: Order, now: datetime) -> None:
        self._database, self._who, self._library, self._order, self._now = database, who, library, order, now
        with database.reading() as session:
            self._build_id: UUID = importing.find_build(session, who, order.build)

    def files(self, paths: Sequence[Path]) -> Iterator[Told]:
        """Each file in turn; one that is refused stops none of the others."""
        bar = _Bar(sys.stderr, sum(path.stat().st_size for path in paths if path.is_file()))
        for path in paths:
            try:
                told = self._file(path, bar)
            except Refusal as refusal:
                lines = [f"{_words(fault.pointer)}: {fault.detail}" for fault in refusal.errors]
                told = Told(str(path), "refused", say=str(refusal), lines=lines)
            except OSError as wrong:
                told = Told(str(path), "refused", say=f"The file cannot be read: {wrong.strerror}.")
            bar.clear()
            yield told

    def _file(self, path: Path, bar: "_Bar") -> Told:
        with path.open("rb") as file:
            first = file.read(PIECE)
            bar.add(len(first))
            return (
                self._track(path, first, file, bar) if is_gpx(first, path.name) else self._sheet(path, first, file, bar)
            )

    def _track(self, path: Path, first: bytes, file: IO[bytes], bar: "_Bar") -> Told:
        reading = importing.TrackReading()
        reading.feed(first)
        while piece := file.read(PIECE):
            bar.add(len(piece))
            reading.feed(piece)
        track = reading.done()
        with self._database.writing({"who": self._who}) as session:
            ride, new = importing.store_track(
                session, self._who, self._build_id, track, self._order.beside, now=self._now
            )
            km, day = ride.metres / 1000, ride.day
            self._end(session)
        self._refresh(new)
        return Told(str(path), self._state(new), int(new), km, f"{km:.1f} km on {day}")

    def _sheet(self, path: Path, first: bytes, file: IO[bytes], bar: "_Bar") -> Told:
        data = first + file.read(LARGEST_BYTES + 1 - len(first))
        order, who = self._order, self._who
        conditions = order.beside.conditions
        sheet = importing.read_sheet(
            who, self._build_id, read_csv(data), order.columns, conditions=conditions, now=self._now
        )
        with self._database.writing({"who": who}) as session:
            checked = importing.import_rides(
                session, who, self._build_id, sheet, order.beside,
                repeats=order.repeats, sure=order.sure, leave_out_wrong=order.leave_out_wrong,
            )  # fmt: skip
            self._end(session)
        self._refresh(bool(checked.sorted.new))
        bar.add(len(data) - len(first))
        new, left = checked.sorted.new, [*checked.problems, *checked.sorted.left_out]
        km = sum(each.row.metres for each in new) / 1000
        lines = [f"line {each.line}: {each.column} {each.say}".replace(":  ", ": ") for each in sorted(left)]
        count = len({each.line for each in left})
        say = f"{len(new)} {'ride' if len(new) == 1 else 'rides'}, {km:,.1f} km"
        say += f"; {count} of {sheet.rows_count} rows left out" if count else ""
        return Told(str(path), self._state(bool(new)), len(new), km, say, lines)

    def _end(self, session: Session) -> None:
        if self._order.dry_run:
            session.rollback()

    def _refresh(self, new: bool) -> None:
        """Works out what is due first in a transaction of its own: others wait for no more than the writing."""
        if new and not self._order.dry_run:
            with self._database.writing({"who": self._who}) as session:
                judged = judge(session, self._who, self._build_id, library=self._library, now=self._now)
                store(session, judged, self._now)

    def _state(self, new: bool) -> str:
        if not new:
            return "nothing new"
        return "would be stored" if self._order.dry_run else "stored"


def _words(pointer: str) -> str:
    """A place as it is said on the command line: `line 3`, `distance_unit`."""
    return pointer.strip("/").replace("lines/", "line ")


class _Bar:
    """How far it is, on a terminal; nothing anywhere else."""

    def __init__(self, screen: IO[str], total: int) -> None:
        self._screen = screen if screen.isatty() else None
        self._total, self._done, self._drawn = max(total, 1), 0, -1

    def add(self, count: int) -> None:
        """So many more bytes are read."""
        self._done += count
        share = min(100, self._done * 100 // self._total)
        if self._screen is not None and share != self._drawn:
            self._drawn = share
            filled = "#" * (share * WIDTH // 100)
            self._screen.write(f"\r[{filled:<{WIDTH}}] {share:3} %")
            self._screen.flush()

    def clear(self) -> None:
        """Makes room for a line."""
        if self._screen is not None and self._drawn >= 0:
            self._screen.write(f"\r{' ' * (WIDTH + 8)}\r")
            self._screen.flush()
            self._drawn = -1


def lines_of(told: Told) -> Iterator[str]:
    """What is printed of a file."""
    yield f"{told.file}: {told.state}{': ' if told.is_refused else ', '}{told.say}"
    yield from (f"    {line}" for line in told.lines[:SHOWN])
    if len(told.lines) > SHOWN:
        yield f"    … and {len(told.lines) - SHOWN} more (--json lists all)"


def json_of(told: Sequence[Told]) -> str:
    """The same for scripts."""
    return json.dumps([asdict(each) for each in told], indent=2, ensure_ascii=False)
