"""How long the program takes to start: each command as a ratio to `python -c pass`, measured in the same run."""

import json
import os
import socket
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import httpx

ROOT = Path(__file__).parents[2]
RUNS = 15
GOALS = {"help": 3.0, "check": 25.0, "serve to first answer": 100.0}


def _run(environment: dict[str, str], *arguments: str) -> None:
    subprocess.run([sys.executable, *arguments], cwd=ROOT, env=environment, check=True, stdout=subprocess.DEVNULL)


def _serve(environment: dict[str, str]) -> None:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    command = [sys.executable, "-m", "service", "serve", "--port", str(port)]
    running = subprocess.Popen(command, cwd=ROOT, env=environment, stdout=subprocess.DEVNULL)
    try:
        while running.poll() is None:
            try:
                httpx.get(f"http://127.0.0.1:{port}/sign-in", verify=False)
                return
            except httpx.TransportError:
                time.sleep(0.005)
        raise RuntimeError("it was not served")
    finally:
        running.kill()
        running.wait()


def _seconds(work: Callable[[], None], runs: int) -> float:
    taken = []
    for _ in range(runs):
        begun = time.perf_counter()
        work()
        taken.append(time.perf_counter() - begun)
    return statistics.median(taken)


def main() -> int:
    """Prints a line of JSON for each; the exit code says whether one missed its goal."""
    with tempfile.TemporaryDirectory() as folder:
        environment = {name: text for name, text in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
        environment |= {"LOCKNUT_DATABASE_URL": f"sqlite:///{folder}/locknut.db", "PYTHONPYCACHEPREFIX": folder}
        works: dict[str, Callable[[], None]] = {
            "help": lambda: _run(environment, "-m", "service", "--help"),
            "check": lambda: _run(environment, "-m", "service", "check"),
            "serve to first answer": lambda: _serve(environment),
        }
        for work in works.values():
            work()  # makes the database, and compiles what a person's second start finds compiled
        failed = False
        for name, work in works.items():
            floor = _seconds(lambda: _run(environment, "-c", "pass"), RUNS)
            seconds = _seconds(work, RUNS if name == "help" else 5)
            ratio = seconds / floor
            failed |= ratio > GOALS[name]
            line = {"name": name, "ms": round(seconds * 1000), "floor_ms": round(floor * 1000, 1)}
            print(json.dumps(line | {"ratio": round(ratio, 1), "goal": GOALS[name]}))
    return int(failed)


if __name__ == "__main__":
    sys.exit(main())
