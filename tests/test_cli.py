"""The command line: what it prints, where, and its exit codes."""

import os
import re
import socket
import subprocess
import sys
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

import httpx
import pytest

from service.serving import PortTaken, listen

ROOT = Path(__file__).parents[1]
pytestmark = pytest.mark.slow  # each starts the program anew


def _environment(folder: Path, **more: str) -> dict[str, str]:
    kept = {name: value for name, value in os.environ.items() if not name.startswith("LOCKNUT_")}
    return kept | {"LOCKNUT_DATABASE_URL": f"sqlite:///{folder / 'locknut.db'}"} | more


def locknut(folder: Path, *arguments: str, **more: str) -> "subprocess.CompletedProcess[str]":
    """Runs a command over a database in this folder."""
    return subprocess.run(
        [sys.executable, "-m", "service", *arguments],
        cwd=ROOT,
        env=_environment(folder, **more),
        capture_output=True,
        text=True,
        timeout=60,
    )


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


@contextmanager
def served(folder: Path, *arguments: str, **more: str) -> Iterator[tuple[int, Sequence[str]]]:
    """`serve` on a free port: the port, and the lines it said before it was ready."""
    port = _free_port()
    said = folder / "said"
    with said.open("w") as output:
        running = subprocess.Popen(
            [sys.executable, "-m", "service", "serve", "--port", str(port), *arguments],
            cwd=ROOT,
            env=_environment(folder, **more),
            stdout=output,
            stderr=subprocess.STDOUT,
        )
    try:
        _wait(port, running)
        yield port, said.read_text().splitlines()
    finally:
        running.terminate()
        running.wait(30)


def _wait(port: int, running: "subprocess.Popen[bytes]") -> None:
    until = time.monotonic() + 30
    while time.monotonic() < until and running.poll() is None:
        try:
            if httpx.get(f"http://127.0.0.1:{port}/sign-in", verify=False, timeout=5).status_code == 200:
                return
        except httpx.TransportError:
            time.sleep(0.05)
    raise AssertionError("it was not served")


def test_a_token_is_all_that_is_printed_on_a_fresh_machine(tmp_path: Path) -> None:
    done = locknut(tmp_path, "person", "token")
    assert (done.returncode, done.stderr) == (0, "")
    assert re.fullmatch(r"[A-Za-z0-9_-]{43}\n", done.stdout)
    assert locknut(tmp_path, "person", "token", "Owner").stdout != done.stdout
    unknown = locknut(tmp_path, "person", "token", "Nobody")
    assert (unknown.returncode, unknown.stdout) == (1, "")
    assert unknown.stderr == "locknut person: There is no person called Nobody.\n"


def test_served_on_a_fresh_machine_it_says_a_link_that_signs_in(tmp_path: Path) -> None:
    with served(tmp_path) as (port, said):
        assert said[0] == f"Locknut is served at http://127.0.0.1:{port} (Ctrl-C stops it)."
        link = said[1].rpartition(" ")[2]
        assert len([line for line in said if "█" in line]) > 10  # the QR code
        with httpx.Client(headers={"Origin": f"http://127.0.0.1:{port}"}, verify=False) as browser:
            assert browser.post(link).status_code == 303
            assert browser.get(f"http://127.0.0.1:{port}/api/v1/me").json()["may"] == "own"
        token = locknut(tmp_path, "person", "token").stdout.strip()
        headers = {"Authorization": f"Bearer {token}"}
        assert httpx.get(f"http://127.0.0.1:{port}/api/v1/me", headers=headers, verify=False).status_code == 200
    with served(tmp_path) as (_port, said):
        assert len(said) == 1  # somebody is signed in: no link lies about in a log


def test_it_says_that_it_is_served_only_when_it_is(tmp_path: Path) -> None:
    port = _free_port()
    command = [sys.executable, "-m", "service", "serve", "--port", str(port)]
    for workers in ("1", "2"):
        environment = _environment(tmp_path, LOCKNUT_WORKERS=workers)
        running = subprocess.Popen(command, cwd=ROOT, env=environment, stdout=subprocess.PIPE, text=True)
        try:
            assert running.stdout is not None
            assert running.stdout.readline().startswith("Locknut is served at ")
            answer = httpx.get(f"http://127.0.0.1:{port}/sign-in", verify=False, timeout=1)  # at once
            assert answer.status_code == 200
        finally:
            running.terminate()
            running.communicate(timeout=30)


@pytest.mark.parametrize("workers", ["1", "2"])
@pytest.mark.parametrize("command", ["serve", "demo"])
def test_procedures_with_a_mistake_are_said_before_anything_is_served(
    tmp_path: Path, command: str, workers: str
) -> None:
    own = tmp_path / "own/categories/rotor.toml"
    own.parent.mkdir(parents=True)
    own.write_text('changes = "rotor"\ndrop = ["steps.nothing"]\n')
    database = ["--database", str(tmp_path / "demo.db")] if command == "demo" else []
    more = {"LOCKNUT_PROCEDURES": str(tmp_path / "own"), "LOCKNUT_WORKERS": workers}
    done = locknut(tmp_path, command, "--port", str(_free_port()), *database, **more)
    assert done.returncode == 1
    assert "served" not in done.stdout
    assert "sign-in" not in done.stdout
    assert done.stderr.startswith(f"locknut {command}: The procedures have 1 mistakes:\n{own}:2: drop: ")
    assert "Traceback" not in done.stderr


def test_several_processes_serve_one_database(tmp_path: Path) -> None:
    with served(tmp_path, LOCKNUT_WORKERS="2") as (port, _said):
        token = locknut(tmp_path, "person", "token").stdout.strip()
        headers = {"Authorization": f"Bearer {token}"}
        answers = [
            httpx.get(f"http://127.0.0.1:{port}/api/v1/me", headers=headers, verify=False).status_code
            for _ in range(10)
        ]
        assert answers == [200] * 10


def test_a_port_in_use_is_one_clear_line(tmp_path: Path) -> None:
    with listen(0) as taken:
        port = taken.getsockname()[1]
        with pytest.raises(PortTaken):
            listen(port)
        done = locknut(tmp_path, "serve", "--port", str(port))
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.splitlines() == [
        f"locknut serve: Port {port} is in use by another program. Name another: --port {port + 1}"
    ]


@pytest.mark.parametrize(
    ("arguments", "more", "code", "right"),
    [
        (["serve", "--port", "70000"], {}, 2, "whole number from 1 to 65535"),
        (["serve", "--port", "soon"], {}, 2, "whole number from 1 to 65535"),
        (["fly"], {}, 2, "invalid choice"),
        ([], {}, 2, "required"),
        (["migrate"], {"LOCKNUT_TIME_ZONE": "Berlin"}, 2, "Europe/Berlin"),
        (["migrate"], {"LOCKNUT_DATABASE_URL": "sqlite:////dev/null/x.db"}, 1, "cannot be"),
        (["person", "token"], {"LOCKNUT_DATABASE_URL": "mysql://x/y"}, 1, "sqlite:///path"),
    ],
)
def test_a_wrong_call_says_what_would_be_right(
    tmp_path: Path, arguments: list[str], more: dict[str, str], code: int, right: str
) -> None:
    done = locknut(tmp_path, *arguments, **more)
    assert (done.returncode, done.stdout) == (code, "")
    assert right in done.stderr
    assert "Traceback" not in done.stderr


def test_migrate_says_where_and_may_be_called_again(tmp_path: Path) -> None:
    for _ in range(2):
        done = locknut(tmp_path, "migrate")
        assert (done.returncode, done.stderr) == (0, "")
        assert done.stdout == f"The database at {tmp_path / 'locknut.db'} is up to date.\n"
