"""A view that has not changed: 304 against a handler that is signed in and reads one row."""

import json
import sys
import tempfile
from pathlib import Path

import sqlalchemy as sa
from _series import compare
from _served import served_demo
from fastapi import FastAPI

from service.context import Db, Who
from service.database import Database


def _mount(app: FastAPI, _database: Database) -> None:
    def one(db: Db, who: Who) -> dict[str, int]:
        with db.reading() as session:
            return {"one": session.execute(sa.text("SELECT 1")).scalar_one()}

    app.add_api_route("/api/v1/bench/one", one)


def main() -> int:
    """Prints a line of JSON for each; the exit code says whether one missed its goal."""
    with tempfile.TemporaryDirectory() as folder, served_demo(Path(folder), prepare=_mount) as served:
        kept, ask = True, served.client.ask
        build = json.loads(ask("GET", "/api/v1/builds")[2])["items"][0]["id"]
        for name, path in (
            ("build unchanged", f"/api/v1/builds/{build}"),
            ("checklist unchanged", f"/api/v1/checklists/{served.first.job_id}"),
        ):
            status, head, _ = ask("GET", path)
            tag = head.partition("etag: ")[2].partition("\r\n")[0]
            unchanged = f"If-None-Match: {tag}\r\n"
            assert (status, ask("GET", path, headers=unchanged)[0]) == (200, 304)
            kept &= compare(
                name,
                lambda path=path, unchanged=unchanged: ask("GET", path, headers=unchanged),
                lambda: ask("GET", "/api/v1/bench/one"),
                goal=1.5,
                runs=60,
            )
    return int(not kept)


if __name__ == "__main__":
    sys.exit(main())
