"""Logging a ride, and the first list after it, against a handler with one bare insert and commit."""

import sqlite3
import sys
import tempfile
import uuid
from datetime import UTC, datetime, timedelta
from itertools import count
from pathlib import Path
from uuid import UUID

from _ridden import ridden_bicycle
from _series import compare
from _served import served_demo
from _statements import bare_connection
from fastapi import FastAPI

from service.context import Who
from service.database import Database

LISTED = 30
"""Our own goal for a ride and the list after it, which judges the whole bicycle; some 40 % above what was measured."""


def _mount(app: FastAPI, database: Database) -> None:
    """A floor: signed in, one row inserted and committed by the bare driver, in a file with the same pragmas."""
    path = Path(str(database.url.database)).with_name("floor.db")
    sqlite3.connect(path).close()
    held = bare_connection(Database(f"sqlite:///{path}"))
    held.execute("CREATE TABLE ride (id TEXT PRIMARY KEY, build_id TEXT, started_at TEXT, metres INTEGER, note TEXT)")

    def insert(who: Who) -> dict[str, str]:
        row_id = uuid.uuid4().hex
        held.execute("BEGIN IMMEDIATE")
        held.execute(
            "INSERT INTO ride VALUES (?, ?, ?, ?, ?)", (row_id, "b", datetime.now(UTC).isoformat(), 12_000, "")
        )
        held.execute("COMMIT")
        return {"id": row_id}

    app.add_api_route("/api/v1/bench/insert", insert, methods=["POST"], status_code=201)


def main() -> int:
    """Prints a line of JSON for each; the exit code says whether one missed its goal."""
    with tempfile.TemporaryDirectory() as folder, served_demo(Path(folder), prepare=_mount) as served:
        kept = True
        number, begun = count(1), datetime.now(UTC) - timedelta(days=1)

        def log_ride(build: UUID) -> None:
            started = begun + timedelta(seconds=next(number))
            sent = {"build": str(build), "started_at": started.isoformat(), "km": 1.2}
            status, _, answer = served.client.ask("POST", "/api/v1/rides", sent)
            assert status == 201, answer

        def log_and_list(build: UUID) -> None:
            log_ride(build)
            status, _, answer = served.client.ask("GET", "/api/v1/builds")
            assert status == 200, answer

        for rides, every_days in ((1000, 3.65), (3650, 1.0)):
            build = ridden_bicycle(served.database, served.library, served.who, rides=rides, every_days=every_days)
            for name, work, goal in (
                (f"log a ride on {rides}, its place in lists marked", log_ride, 8),
                (f"log a ride on {rides}, then list the builds, its place set right", log_and_list, LISTED),
            ):
                kept &= compare(
                    name,
                    lambda build=build, work=work: work(build),  # type: ignore[misc]
                    lambda: served.client.ask("POST", "/api/v1/bench/insert", {}),
                    goal=goal,
                    runs=20,
                )
    return int(not kept)


if __name__ == "__main__":
    sys.exit(main())
