"""`locknut import-rides`: every file for itself, whole or not at all, and what is said of each."""

import json
import os
import pty
import signal
import sqlite3
import subprocess
import sys
import time
from datetime import date, timedelta
from pathlib import Path

import pytest

from service.database import Database
from service.importing_rides import columns_said
from service.records import builds, people
from service.schemas.builds import BuildSent
from tests.api.test_importing import SHEET, SPACE

ROOT = Path(__file__).parents[1]
slow = pytest.mark.slow  # each starts the program anew
GOOD = (
    f'<gpx version="1.1" {SPACE}><trk><trkseg><trkpt lat="47.5" lon="8.7"><time>2026-05-03T08:00:00Z</time></trkpt>'
    '<trkpt lat="47.51" lon="8.7"><time>2026-05-03T08:05:00Z</time></trkpt></trkseg></trk></gpx>'
)


@pytest.fixture
def folder(tmp_path: Path, template: Path) -> Path:
    """A folder with a database that holds one bicycle, and some files."""
    database = Database(f"sqlite:///{tmp_path / 'locknut.db'}")
    database.migrate()
    with database.writing() as session:
        who = people.open_workshop(session, time_zone="Europe/Berlin", currency="EUR")
    with database.writing({"who": who}) as session:
        builds.add_build(session, who, BuildSent(name="Grey"))
    database.dispose()
    (tmp_path / "good.gpx").write_text(GOOD)
    (tmp_path / "bad.gpx").write_text("<!DOCTYPE gpx><gpx/>")
    (tmp_path / "rides.csv").write_text(SHEET)
    (tmp_path / "wrong.csv").write_text(SHEET.replace("42.1", "far"))
    return tmp_path


def environment(folder: Path) -> dict[str, str]:
    """The environment of a command over this folder's database."""
    kept = {name: value for name, value in os.environ.items() if not name.startswith("LOCKNUT_")}
    return kept | {"LOCKNUT_DATABASE_URL": f"sqlite:///{folder / 'locknut.db'}"}


def command(folder: Path, *arguments: str) -> list[str]:
    """The command with files named as they are in the folder."""
    named = [str(folder / each) if each.endswith((".gpx", ".csv")) else each for each in arguments]
    return [sys.executable, "-m", "service", "import-rides", *named]


def imported(folder: Path, *arguments: str) -> "subprocess.CompletedProcess[str]":
    """What the command said."""
    return subprocess.run(
        command(folder, *arguments, "--build", "Grey"),
        cwd=ROOT, env=environment(folder), capture_output=True, text=True, timeout=120,
    )  # fmt: skip


def stored(folder: Path) -> tuple[int, int, int]:
    """Rides, lines of the journal about them, metres."""
    with sqlite3.connect(folder / "locknut.db") as connection:
        rides, metres = connection.execute("SELECT count(*), coalesce(sum(metres), 0) FROM ride").fetchone()
        lines = connection.execute("SELECT count(*) FROM journal WHERE noun = 'ride'").fetchone()[0]
    connection.close()
    return rides, lines, metres


@slow
def test_a_bad_file_loses_nothing_of_the_others_and_is_told_with_its_reason(folder: Path) -> None:
    done = imported(folder, "bad.gpx", "good.gpx", "wrong.csv", "rides.csv", "missing.gpx")
    assert done.returncode == 1
    assert "bad.gpx: refused: The file has a DOCTYPE" in done.stderr
    assert "wrong.csv: refused: Nothing was stored. Line 2: Distance (km) should be a distance" in done.stderr
    assert "missing.gpx: refused: The file cannot be read: No such file" in done.stderr
    assert "good.gpx: stored, 1.1 km on 2026-05-03" in done.stdout
    assert "rides.csv: stored, 2 rides, 60.4 km" in done.stdout
    assert "\r" not in done.stderr  # no bar where nobody watches
    rides, lines, metres = stored(folder)
    assert (rides, lines) == (3, 3)
    assert metres == pytest.approx(42_100 + 18_250 + 1_112, abs=1)  # 0.01 degrees at 47.5: 1 111.8 m (Karney)


@slow
def test_twice_is_once_and_a_dry_run_stores_nothing(folder: Path) -> None:
    would = imported(folder, "good.gpx", "rides.csv", "--dry-run", "--json")
    assert would.returncode == 0
    assert [(each["state"], each["rides_count"]) for each in json.loads(would.stdout)] == [
        ("would be stored", 1),
        ("would be stored", 2),
    ]
    assert stored(folder) == (0, 0, 0)
    assert imported(folder, "good.gpx", "rides.csv").returncode == 0
    first = stored(folder)
    again = imported(folder, "good.gpx", "rides.csv", "--json")
    assert (again.returncode, [each["state"] for each in json.loads(again.stdout)]) == (0, ["nothing new"] * 2)
    assert stored(folder) == first


@slow
def test_the_columns_are_named_where_the_file_does_not_say_them(folder: Path) -> None:
    (folder / "own.csv").write_text("A;B\n4/5/2026;26,2\n")
    asked = imported(folder, "own.csv")
    assert asked.returncode == 1
    assert "when: should name the column with the day: one of A, B" in asked.stderr
    columns = ("when=A", "distance=B", "distance_unit=mi", "date_order=month-first")
    done = imported(folder, "own.csv", *(word for each in columns for word in ("--columns", each)))
    assert "own.csv: stored, 1 ride, 42.2 km" in done.stdout
    unknown = imported(folder, "own.csv", "--columns", "wind=A")
    assert (unknown.returncode, unknown.stdout) == (1, "")
    assert "write USE=NAME with one of when, time_of_day, distance" in unknown.stderr
    assert "--conditions" in imported(folder, "own.csv", "--conditions", "sunny").stderr
    assert columns_said(["climb="]).climb == ""


@slow
def test_an_unknown_bicycle_is_said_before_any_file(folder: Path) -> None:
    wrong = subprocess.run(
        command(folder, "good.gpx", "--build", "Red"),
        cwd=ROOT, env=environment(folder), capture_output=True, text=True, timeout=60,
    )  # fmt: skip
    assert (wrong.returncode, wrong.stdout) == (1, "")
    assert wrong.stderr == "locknut import-rides: There is no build called Red.\n"


@slow
def test_somebody_who_watches_sees_how_far_it_is(folder: Path) -> None:
    ours, theirs = pty.openpty()
    running = subprocess.Popen(
        command(folder, "good.gpx", "rides.csv", "--build", "Grey"),
        cwd=ROOT, env=environment(folder), stdout=subprocess.DEVNULL, stderr=theirs,
    )  # fmt: skip
    os.close(theirs)
    seen = b""
    while True:
        try:
            piece = os.read(ours, 4096)
        except OSError:  # the other end is closed
            break
        if not piece:
            break
        seen += piece
    os.close(ours)
    assert running.wait(60) == 0
    assert b"100 %" in seen
    assert b"#" * 30 in seen


@slow
def test_killed_in_the_middle_a_file_is_stored_whole_or_not_at_all(folder: Path) -> None:
    """Killed after shares of the time that a dry run takes: while it reads, while it stores, at the end."""
    begun = date(2010, 1, 1)
    rows = [f"{begun + timedelta(days=n // 4)} {8 + n % 4}:00,{5 + n % 40}.5" for n in range(10_000)]
    (folder / "many.csv").write_text("Date,Distance (km)\n" + "\n".join(rows) + "\n")
    begun_at = time.monotonic()
    assert imported(folder, "many.csv", "--dry-run").returncode == 0
    whole = time.monotonic() - begun_at
    for share in (0.5, 0.65, 0.8, 0.95):
        running = subprocess.Popen(
            command(folder, "good.gpx", "many.csv", "--build", "Grey"),
            cwd=ROOT, env=environment(folder), stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )  # fmt: skip
        time.sleep(whole * share)
        running.send_signal(signal.SIGKILL)
        running.wait(30)
        rides, lines, _ = stored(folder)
        assert rides in (0, 1, 10_001)
        assert lines == rides
    assert imported(folder, "good.gpx", "many.csv").returncode == 0
    assert stored(folder)[:2] == (10_001, 10_001)
