"""scripts/install: one at a time, a lock that nobody holds any more is taken over, and it says what it does."""

import os
import shutil
import subprocess
import time
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
pytestmark = pytest.mark.slow
STAND_IN = """#!/bin/sh
case "$*" in
  *ensurepip*) ;;
  "-m venv --clear .venv") echo venv >>log; rm -rf .venv; mkdir -p .venv/bin; sleep 1; cp "$0" .venv/bin/python ;;
  "-m pip install"*) echo pip >>log; sleep 1 ;;
  *) exit 1 ;;
esac
"""
"""Instead of Python: it writes down what it is asked for, and takes its time."""


@pytest.fixture
def clone(tmp_path: Path) -> Path:
    """A fresh clone, as far as the script sees it."""
    (tmp_path / "scripts/pins").mkdir(parents=True)
    shutil.copy(ROOT / "scripts/install", tmp_path / "scripts/install")
    for kind in ("run", "test"):
        (tmp_path / f"scripts/pins/{kind}.txt").write_text(f"{kind}\n")
    (tmp_path / "python").write_text(STAND_IN)
    (tmp_path / "python").chmod(0o755)
    return tmp_path


def start(clone: Path, kind: str = "run") -> "subprocess.Popen[str]":
    environment = os.environ | {"PYTHON": str(clone / "python")}
    command = [str(clone / "scripts/install"), kind]
    return subprocess.Popen(command, env=environment, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)


def ended(running: "subprocess.Popen[str]") -> str:
    """What it said, once it has ended well."""
    _, said = running.communicate(timeout=30)
    assert running.returncode == 0, said
    return said


def log(clone: Path) -> list[str]:
    return (clone / "log").read_text().split() if (clone / "log").exists() else []


def wait_for(file: Path) -> None:
    until = time.monotonic() + 10
    while not file.exists():
        assert time.monotonic() < until, f"no {file}"
        time.sleep(0.02)


def dead() -> int:
    """The number of a process that has ended."""
    gone = subprocess.Popen(["true"])
    gone.wait()
    return gone.pid


def test_it_says_what_it_does_and_does_it_once(clone: Path) -> None:
    running = start(clone)
    assert running.stderr is not None
    assert running.stderr.readline() == "Installing the pinned versions (run) into .venv ...\n"
    assert not (clone / ".venv/bin/python").exists()  # said before, not afterwards
    assert ended(running) == ""
    assert ended(start(clone)) == ""
    assert log(clone) == ["venv", "pip"]
    assert not (clone / ".venv.lock").exists()


def test_the_second_of_two_at_once_waits_and_finds_it_done(clone: Path) -> None:
    first = start(clone)
    wait_for(clone / ".venv.lock/pid")
    second = start(clone)
    assert "Installing" in ended(first)
    assert ended(second) == (
        f"Waiting for another installation (process {first.pid}); if there is none, remove {clone}/.venv.lock\n"
    )
    assert log(clone) == ["venv", "pip"]
    assert not (clone / ".venv.lock").exists()


@pytest.mark.parametrize("held_by", ["somebody dead", "nobody"])
def test_of_several_who_find_a_lock_left_behind_one_installs(clone: Path, held_by: str) -> None:
    (clone / ".venv.lock").mkdir()
    if held_by == "somebody dead":
        (clone / ".venv.lock/pid").write_text(f"{dead()}\n")
    said = [ended(each) for each in [start(clone) for _ in range(3)]]
    assert len([each for each in said if "Installing" in each]) == 1
    assert log(clone) == ["venv", "pip"]
    assert not (clone / ".venv.lock").exists()


def test_one_that_is_stopped_leaves_no_lock(clone: Path) -> None:
    running = start(clone)
    wait_for(clone / "log")
    running.terminate()
    running.communicate(timeout=30)
    assert running.returncode != 0
    assert not (clone / ".venv.lock").exists()
    ended(start(clone))
    assert log(clone) == ["venv", "venv", "pip"]


def test_test_tools_are_added_to_what_a_program_may_be_running_from(clone: Path) -> None:
    ended(start(clone))
    ended(start(clone, "test"))
    ended(start(clone))  # the versions for "test" hold those for "run"
    assert log(clone) == ["venv", "pip", "pip"]
    (clone / "scripts/pins/test.txt").write_text("newer\n")
    ended(start(clone, "test"))
    assert log(clone)[3:] == ["venv", "pip"]
