"""A recorded track of 20,000 points, read and added up, against the bare parser with one counting handler."""

import sys
from datetime import UTC, datetime, timedelta
from math import sin
from xml.parsers import expat

from _series import compare

from service.domain.track import track_of
from service.formats.gpx import NAMESPACE, read_gpx

POINTS = 20_000
PIECE = 1 << 16


def _file() -> bytes:
    """A ride that winds along with a second between its points, and heights that go up and down."""
    begun = datetime(2026, 5, 4, 7, tzinfo=UTC)
    points = (
        f'<trkpt lat="{47 + number * 4e-5:.7f}" lon="{8.7 + 0.01 * sin(number / 300):.7f}">'
        f"<ele>{440 + 60 * sin(number / 500):.1f}</ele>"
        f"<time>{(begun + timedelta(seconds=number)).isoformat()[:19]}Z</time></trkpt>\n"
        for number in range(POINTS)
    )
    head = f'<gpx version="1.1" creator="a receiver" xmlns="{NAMESPACE}">'
    return f"{head}<trk><trkseg>\n{''.join(points)}</trkseg></trk></gpx>".encode()


def main() -> int:
    """Prints a line of JSON; the exit code says whether it missed its goal."""
    file = _file()
    pieces = [file[begin : begin + PIECE] for begin in range(0, len(file), PIECE)]

    def count() -> int:
        met = 0

        def start(_name: str, _attributes: dict[str, str]) -> None:
            nonlocal met
            met += 1

        parser = expat.ParserCreate()
        parser.StartElementHandler = start
        for piece in pieces:
            parser.Parse(piece, False)
        parser.Parse(b"", True)
        return met

    assert count() == 3 * POINTS + 3
    assert track_of(read_gpx(iter(pieces))).points_count == POINTS
    name = f"track of {POINTS} points, whole"
    return int(not compare(name, lambda: track_of(read_gpx(iter(pieces))), count, goal=4, runs=5))


if __name__ == "__main__":
    sys.exit(main())
