"""`locknut demo` and `locknut due` as they are called: what they print, what they import, how they end."""

import json
import os
import re
import shutil
import socket
import sqlite3
import subprocess
import sys
import time
from datetime import UTC, datetime
from pathlib import Path

import httpx
import pytest

from service.database import Database
from service.demo.scenario import open_demo
from service.domain.procedure import Library
from service.records import people

IMPORTED = """
import sys
from service.cli import main
try:
    main(sys.argv[1:])
except SystemExit:
    pass
print(*sorted({name.partition(".")[0] for name in sys.modules}), file=sys.stderr)
"""


def _environment(**more: str) -> dict[str, str]:
    own = {name: text for name, text in os.environ.items() if not name.startswith("LOCKNUT_")}
    return own | {"LOCKNUT_TIME_ZONE": "Europe/Berlin", "PYTHONPATH": os.getcwd()} | more


def _run(*arguments: str, **environment: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "service", *arguments]
    return subprocess.run(command, env=_environment(**environment), capture_output=True, text=True, timeout=60)


def _imported(*arguments: str, **environment: str) -> set[str]:
    command = [sys.executable, "-c", IMPORTED, *arguments]
    done = subprocess.run(command, env=_environment(**environment), capture_output=True, text=True, timeout=60)
    return set(done.stderr.splitlines()[-1].split())


@pytest.fixture(scope="module")
def url(template: Path, library: Library, tmp_path_factory: pytest.TempPathFactory) -> str:
    """A database that holds the demo."""
    path = tmp_path_factory.mktemp("commands") / "demo.db"
    shutil.copyfile(template, path)
    database = Database(f"sqlite:///{path}")
    open_demo(database, library, time_zone="Europe/Berlin", now=datetime.now(UTC))
    database.dispose()
    return f"sqlite:///{path}"


def test_help_imports_no_framework() -> None:
    assert _imported("--help") & {"fastapi", "starlette", "sqlmodel", "sqlalchemy", "pydantic", "uvicorn"} == set()


@pytest.mark.slow
def test_due_imports_no_web_framework(url: str) -> None:
    imported = _imported("due", LOCKNUT_DATABASE_URL=url)
    assert "sqlmodel" in imported
    assert imported & {"fastapi", "starlette", "uvicorn", "jinja2"} == set()


@pytest.mark.slow
def test_due_names_the_most_pressing_bicycle_first_with_state_part_place_and_why(url: str) -> None:
    done = _run("due", LOCKNUT_DATABASE_URL=url)
    assert (done.returncode, done.stderr) == (0, "")
    lines = done.stdout.splitlines()
    assert lines[0] == "Town bicycle (in service)"
    assert "Grey all-road (assembling)" in lines
    assert "Green tourer" not in done.stdout
    pads = next(number for number, line in enumerate(lines) if "front inner" in line)
    assert re.fullmatch(r"  due: .+, front inner \(Pads, front\)", lines[pads])
    assert "Read 0.95 mm" in lines[pads + 1]


@pytest.mark.slow
def test_due_as_json_is_what_the_api_gives(url: str) -> None:
    done = _run("due", "--json", "--build", "Town bicycle", LOCKNUT_DATABASE_URL=url)
    assert done.returncode == 0
    items = json.loads(done.stdout)["items"]
    assert [each["name"] for each in items] == ["Town bicycle"]
    assert {"overdue", "due"} <= {each["state"] for each in items[0]["items"]}


@pytest.mark.slow
def test_due_of_an_unknown_bicycle_is_refused(url: str) -> None:
    done = _run("due", "--build", "Red racer", LOCKNUT_DATABASE_URL=url)
    assert done.returncode == 1
    assert done.stderr.splitlines() == ["locknut due: There is no build called Red racer."]


@pytest.mark.slow
def test_due_wrongly_called_ends_with_two(url: str) -> None:
    assert _run("due", "--until", "soon", LOCKNUT_DATABASE_URL=url).returncode == 2


def test_due_of_an_empty_workshop_prints_nothing(tmp_path: Path) -> None:
    done = _run("due", LOCKNUT_DATABASE_URL=f"sqlite:///{tmp_path}/new.db")
    assert (done.returncode, done.stdout) == (0, "")


def test_demo_does_not_build_into_somebodys_workshop(tmp_path: Path, template: Path) -> None:
    path = tmp_path / "own.db"
    shutil.copyfile(template, path)
    database = Database(f"sqlite:///{path}")
    with database.writing() as session:
        people.open_workshop(session, time_zone="Europe/Berlin", currency="EUR")
    database.dispose()
    done = _run("demo", "--database", str(path), "--port", str(_free_port()))
    assert done.returncode == 1
    assert "holds a workshop of somebody's own" in done.stderr


def test_demo_on_a_port_in_use_says_so_before_it_builds(tmp_path: Path) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        done = _run("demo", "--port", str(taken.getsockname()[1]), XDG_DATA_HOME=str(tmp_path))
    assert done.returncode == 2
    assert "in use" in done.stderr
    assert list(tmp_path.rglob("*.db")) == []


def _free_port() -> int:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port: int = free.getsockname()[1]
        return port


def _served(folder: Path, port: int) -> tuple[str, list[Path]]:
    """What `demo` printed until it answered, and the databases there are then; ends it."""
    said = folder / "said.txt"
    command = [sys.executable, "-m", "service", "demo", "--port", str(port)]
    with said.open("w") as out:
        process = subprocess.Popen(command, env=_environment(XDG_DATA_HOME=str(folder)), stdout=out, stderr=out)
    try:
        _wait_for(f"http://127.0.0.1:{port}/", process)
        return said.read_text(), sorted(folder.rglob("*.db"))
    finally:
        process.terminate()
        process.wait(30)


def _wait_for(address: str, process: subprocess.Popen[bytes]) -> None:
    until = time.monotonic() + 90
    while time.monotonic() < until and process.poll() is None:
        try:
            httpx.get(address)
            return
        except httpx.TransportError:
            time.sleep(0.1)
    pytest.fail("the demo is not served")


@pytest.mark.slow
def test_demo_serves_a_database_of_its_own_and_finds_it_again(tmp_path: Path) -> None:
    port = _free_port()
    first, databases = _served(tmp_path, port)
    assert databases == [tmp_path / "locknut" / "demo.db"]
    pages = re.findall(rf"http://127\.0\.0\.1:{port}/\S+", first)
    assert [page.split("/")[3] for page in pages] == ["checklists", "due", "parts", "sign-in"]
    assert "▄" in first
    lines = first.splitlines()
    assert lines[0].startswith("The demo workshop is built")  # said before it is done
    assert lines[1] == f"Locknut is served at http://127.0.0.1:{port} (Ctrl-C stops it)."
    assert "in another terminal" in lines[-2]
    told = lines[-1].strip()
    assert told.endswith(" scripts/locknut person link")
    called = told.replace("scripts/locknut", f"{sys.executable} -m service")
    done = subprocess.run(["sh", "-c", called], env=_environment(), capture_output=True, text=True, timeout=60)
    assert re.search(rf"http://127\.0\.0\.1:{port}/sign-in/\S+", done.stdout), done.stderr
    with sqlite3.connect(databases[0]) as opened:  # the link is one of the demo's, not of the usual database
        links = opened.execute("select count(*) from sign_in").fetchone()
    assert links == (2,)
    second, databases = _served(tmp_path, port)
    assert databases == [tmp_path / "locknut" / "demo.db"]
    assert re.findall(rf"http://127\.0\.0\.1:{port}/\S+", second)[:3] == pages[:3]
