"""Loading the procedures against tomllib alone on the same files; what they take in memory."""

import gc
import subprocess
import sys
import tomllib
from pathlib import Path

from _series import compare, within

from service.library.read import load, procedures_folder

MEGABYTE = 1 << 20
MEASURE = """
import gc, sys, pydantic
from service.library.read import procedures_folder, load
library = load(procedures_folder()) if len(sys.argv) > 1 else None
gc.collect()
print(next(line.split()[1] for line in open("/proc/self/status") if line.startswith("VmRSS")))
"""


def _parse() -> None:
    for file in sorted(procedures_folder().rglob("*.toml")):
        tomllib.loads(file.read_text("utf-8"))


def _kilobytes(*arguments: str) -> int:
    """The memory that a process of its own holds at its end, kB (as Linux counts it)."""
    done = subprocess.run(
        [sys.executable, "-c", MEASURE, *arguments],
        check=True,
        capture_output=True,
        text=True,
        cwd=Path(__file__).parents[2],
    )
    return int(done.stdout)


def main() -> int:
    """Prints a line of JSON for each; the exit code says whether one missed its goal."""
    load(procedures_folder())  # defining the models is done once a process
    gc.collect()
    gc.freeze()
    kept = compare("library load", lambda: load(procedures_folder()), _parse, goal=1.3, runs=3)
    taken = _kilobytes("load") - _kilobytes()
    kept &= within("memory of the library", taken * 1024 / MEGABYTE, "megabytes", goal=60)
    return int(not kept)


if __name__ == "__main__":
    sys.exit(main())
