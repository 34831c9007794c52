"""Logging a ride with all that is kept up by it, against a handler with one bare insert and commit."""

import sqlite3
import sys
import tempfile
import uuid
from datetime import UTC, datetime, timedelta
from itertools import count
from pathlib import Path

from _ridden import ridden_bicycle
from _series import compare
from _served import served_demo
from _statements import bare_connection
from fastapi import FastAPI

from service.context import Who
from service.database import Database


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
        build = ridden_bicycle(served.database, served.library, served.who, rides=1000, every_days=3.65)
        number, begun = count(1), datetime.now(UTC) - timedelta(days=1)

        def log_ride() -> None:
            started = begun + timedelta(seconds=next(number))
            sent = {"build": str(build), "started_at": started.isoformat(), "km": 1.2}
            status, _, answer = served.client.ask("POST", "/api/v1/rides", sent)
            assert status == 201, answer

        kept = compare(
            "log a ride, what is due refreshed",
            log_ride,
            lambda: served.client.ask("POST", "/api/v1/bench/insert", {}),
            goal=8,
            runs=20,
        )
    return int(not kept)


if __name__ == "__main__":
    sys.exit(main())
