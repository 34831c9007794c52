"""GPX 1.1: the points of a recorded track out of the bytes of a file, piece by piece, and nothing that is not one."""

import codecs
from collections.abc import Callable, Iterable, Iterator
from datetime import datetime, timedelta, timezone
from math import isfinite
from typing import Any, NoReturn
from xml.parsers import expat

from service.domain.track import TrackPoint
from service.errors import Refusal, TooLarge

NAMESPACE = "http://www.topografix.com/GPX/1/1"
"""Where every rule below comes from: http://www.topografix.com/GPX/1/1/gpx.xsd."""
GPX, TRK, TRKSEG, TRKPT, ELE, TIME = (
    f"{NAMESPACE} {name}" for name in ("gpx", "trk", "trkseg", "trkpt", "ele", "time")
)
LARGEST_BYTES = 100_000_000
MOST_POINTS = 500_000
MOST_SEGMENTS = 10_000
"""Each is told of on its own: the answer must not outgrow the file."""
DEEPEST = 64
LONGEST_TEXT = 64
LOWEST_M, HIGHEST_M = -12_000.0, 100_000.0
"""Under every sea and over every aircraft: heights without an end would add up to no number."""
PIECE = 1 << 16
LONGEST_TOKEN = 1 << 20
"""The parser holds a token until it ends: one that never does must not fill the memory."""
PACKED = {b"\x1f\x8b": "packed with gzip", b"PK": "packed as a zip archive", b"BZ": "packed with bzip2"}

EARLIEST = datetime.min.replace(tzinfo=timezone(timedelta(hours=23, minutes=59)))
"""No time that can be written lies before it."""
_instant_of, _made = datetime.fromisoformat, tuple.__new__
"""Makes a TrackPoint in half the time that its own call takes: a file has tens of thousands."""


def is_gpx(first: bytes, name: str) -> bool:
    """Whether a file is read as GPX, by what it begins with and, where that says nothing, by its name."""
    begins = first.removeprefix(codecs.BOM_UTF8).lstrip()[:1]
    return begins == b"<" or name.lower().endswith((".gpx", ".gpx.gz", ".xml"))


Raw = tuple[int, dict[str, str], str | None, str | None]
"""A point as it stands in the file: its segment, its attributes, and as text its height and time, or None."""


class GpxReader:
    """A file that is being read. Every mistake in it is a Refusal that names the point or the line."""

    def __init__(self) -> None:
        self._parser = expat.ParserCreate(namespace_separator=" ")
        self._parser.StartDoctypeDeclHandler = _doctype
        self._got = self._count = 0
        self._last_at = EARLIEST
        self._met: list[TrackPoint] = []
        _listen(self._parser, self._take)

    def feed(self, piece: bytes) -> list[TrackPoint]:
        """The points that end within this piece of the file. Raises Refusal, TooLarge."""
        if self._got == 0:
            for mark, how in PACKED.items():
                if piece.startswith(mark):
                    raise Refusal(f"The file is {how}: unpack it, then send the GPX file itself.")
        found: list[TrackPoint] = []
        for begin in range(0, len(piece), PIECE):
            found += self._parse(piece[begin : begin + PIECE])
        return found

    def close(self) -> list[TrackPoint]:
        """The last points. Raises Refusal for a file that ends too early, and for one without two points."""
        try:
            self._parser.Parse(b"", True)
        except expat.ExpatError as wrong:
            say = f"The file ends too early, in line {wrong.lineno}: a part of it is missing. Send it again, whole."
            raise Refusal(say if self._got else "There is nothing in the file: send a GPX file.") from None
        last = self._points()
        if self._count < 2:
            told = "has only one point" if self._count else "has no point of a track (trk, trkseg, trkpt)"
            raise Refusal(f"The file {told}: a distance takes two.")
        return last

    def _parse(self, piece: bytes) -> list[TrackPoint]:
        self._got += len(piece)
        if self._got > LARGEST_BYTES:
            raise TooLarge(f"A GPX file may have {LARGEST_BYTES // 1_000_000} MB: cut it into its rides, send each.")
        try:
            self._parser.Parse(piece, False)
        except expat.ExpatError as wrong:
            where = f"{expat.ErrorString(wrong.code)} in line {wrong.lineno}, column {wrong.offset + 1}"
            raise Refusal(f"The file is not well-formed XML: {where}.") from None
        except (LookupError, ValueError):
            raise Refusal("The file names an encoding that nobody knows; it should be UTF-8.") from None
        if self._got - self._parser.CurrentByteIndex > LONGEST_TOKEN:
            raise Refusal(f"For over {LONGEST_TOKEN // 1024} KiB the file goes on with one tag: that is no GPX file.")
        return self._points()

    def _points(self) -> list[TrackPoint]:
        points, self._met = self._met, []
        if self._count > MOST_POINTS:
            raise Refusal(f"The file has more than {MOST_POINTS} points: cut it into its rides, then send each.")
        if points and points[-1].segment >= MOST_SEGMENTS:
            raise Refusal(f"The file has more than {MOST_SEGMENTS} segments: cut it into its rides, then send each.")
        return points

    def _take(self, segment: int, attributes: dict[str, str], height_text: str | None, time_text: str | None) -> None:
        """Keeps a point as nearly all of them are written; whatever is in doubt goes to `_point`."""
        self._count += 1
        if height_text is None or time_text is None:
            self._met.append(self._point(self._count, (segment, attributes, height_text, time_text)))
            return
        try:
            latitude_text, longitude_text = attributes["lat"], attributes["lon"]
            latitude, longitude, height = float(latitude_text), float(longitude_text), float(height_text)
            at = _instant_of(time_text)
            written = latitude_text + longitude_text + height_text
            if (
                -90 <= latitude <= 90
                and -180 <= longitude < 180
                and LOWEST_M <= height <= HIGHEST_M
                and self._last_at <= at  # a time without its zone cannot be compared: TypeError
                and written.isascii()
                and "_" not in written
            ):
                self._last_at = at
                self._met.append(_made(TrackPoint, (segment, latitude, longitude, height, at)))
                return
        except (KeyError, ValueError, TypeError):
            pass
        self._met.append(self._point(self._count, (segment, attributes, height_text, time_text)))

    def _point(self, number: int, raw: Raw) -> TrackPoint:
        """The point itself. Raises Refusal for what no point can be."""
        segment, attributes, height_text, time_text = raw
        where = (number, segment)
        try:
            latitude_text, longitude_text = attributes["lat"], attributes["lon"]
            latitude, longitude = float(latitude_text), float(longitude_text)
        except (KeyError, ValueError):
            _no_place(where, attributes)
        # what is no number (NaN) lies within no bounds, so it is refused here as well
        if not -90 <= latitude <= 90 or not _is_plain(latitude_text):
            _wrong(where, "lat", latitude_text, "from -90 to 90 degrees")
        if not -180 <= longitude < 180 or not _is_plain(longitude_text):
            _wrong(where, "lon", longitude_text, "from -180 to less than 180 degrees (180 itself is -180)")
        height = None if height_text is None else _height(where, height_text)
        if time_text is None:
            return TrackPoint(segment, latitude, longitude, height, None)
        at, last = _instant(where, time_text.strip()), self._last_at
        if at < last:
            _wrong(where, "time", time_text, f"no earlier than {last.isoformat()}, the time of the point before it")
        self._last_at = at
        return TrackPoint(segment, latitude, longitude, height, at)


def _listen(parser: Any, take: Callable[..., None]) -> None:
    """Has the parser give every point that ends to `take`. Closures: three times as many calls as points go through.

    Raises Refusal for a root that is not that of GPX 1.1, and for what is nested too deep.
    """
    depth, segment, words = 0, -1, ""
    in_track = in_segment = in_point = False
    attributes_of: dict[str, str] = {}
    height: str | None = None
    time: str | None = None

    def text(more: str) -> None:
        nonlocal words
        words += more
        if len(words) > LONGEST_TEXT:
            raise Refusal(f"Line {parser.CurrentLineNumber}: no height or time has over {LONGEST_TEXT} characters.")

    def start(name: str, attributes: dict[str, str]) -> None:
        nonlocal depth, segment, words, in_track, in_segment, in_point, attributes_of, height, time
        depth += 1
        if depth == 5:
            if in_point and (name == ELE or name == TIME):  # noqa: SIM109 (a tuple costs twice as much)
                words = ""
                parser.CharacterDataHandler = text
        elif depth == 4:
            if in_segment and name == TRKPT:
                in_point, attributes_of, height, time = True, attributes, None, None
        elif depth == 1:
            _check_root(name, attributes)
        elif depth == 2:
            in_track = name == TRK
        elif depth == 3:
            in_segment = in_track and name == TRKSEG
            segment += in_segment
        elif depth > DEEPEST:
            raise Refusal(f"Line {parser.CurrentLineNumber} is nested over {DEEPEST} deep: that is no GPX file.")

    def end(name: str) -> None:
        nonlocal depth, in_point, height, time
        if depth == 5:
            if in_point:
                if name == ELE:
                    parser.CharacterDataHandler = None
                    height = words
                elif name == TIME:
                    parser.CharacterDataHandler = None
                    time = words
        elif depth == 4 and in_point:
            in_point = False
            take(segment, attributes_of, height, time)
        depth -= 1

    parser.StartElementHandler, parser.EndElementHandler = start, end


def _doctype(*_: object) -> NoReturn:
    raise Refusal("The file has a DOCTYPE, which no GPX file needs and which can do harm: take it out.")


def _check_root(name: str, attributes: dict[str, str]) -> None:
    if name != GPX:
        namespace, _, tag = name.rpartition(" ")
        found = f"{tag} in {f'the namespace {namespace}' if namespace else 'no namespace'}"[:200]
        raise Refusal(f"The file begins with {found}; it should begin with gpx in {NAMESPACE} (GPX 1.1).")
    version = attributes.get("version")
    if version != "1.1":
        raise Refusal(f'The file says version {(version or "nothing")[:40]}; it should say version="1.1".')
    # GPX 1.1 asks for a creator as well; nothing here depends on it, and who rides cannot write it into the file


def _no_place(where: tuple[int, int], attributes: dict[str, str]) -> NoReturn:
    for name in ("lat", "lon"):
        if name not in attributes:
            raise Refusal(f"{_words(where)} has no {name}; every point carries lat and lon.")
    name = "lat" if _number(attributes["lat"]) is None else "lon"
    _wrong(where, name, attributes[name], "a number of degrees such as 47.5312")


def _height(where: tuple[int, int], text: str) -> float:
    height = _number(text)
    if height is None:
        _wrong(where, "ele", text, "metres such as 412.5")
    if not LOWEST_M <= height <= HIGHEST_M:
        _wrong(where, "ele", text, f"from {LOWEST_M:.0f} to {HIGHEST_M:.0f} metres")
    return height


def _instant(where: tuple[int, int], text: str) -> datetime:
    try:
        at = datetime.fromisoformat(text)
    except ValueError:
        _wrong(where, "time", text, "an instant such as 2026-05-04T09:30:00Z")
    if at.tzinfo is None:
        _wrong(where, "time", text, "an instant with its zone, such as 2026-05-04T09:30:00Z")
    return at


def _number(text: str) -> float | None:
    """A finite number as XML writes one; None for anything else."""
    try:
        number = float(text)
    except ValueError:
        return None
    return number if isfinite(number) and _is_plain(text) else None


def _is_plain(text: str) -> bool:
    """Whether digits are those of XML: Python reads 1_0 and the digits of other scripts as numbers too."""
    return text.isascii() and "_" not in text


def _wrong(where: tuple[int, int], name: str, text: str, right: str) -> NoReturn:
    raise Refusal(f"{_words(where)}: {name} is {text.strip()[:40]!r}; it should be {right}.")


def _words(where: tuple[int, int]) -> str:
    return f"Point {where[0]} (segment {where[1] + 1})"


def read_gpx(pieces: Iterable[bytes]) -> Iterator[TrackPoint]:
    """The points of the tracks in a file, in its order. Raises Refusal, TooLarge; see GpxReader."""
    reader = GpxReader()
    for piece in pieces:
        yield from reader.feed(piece)
    yield from reader.close()
