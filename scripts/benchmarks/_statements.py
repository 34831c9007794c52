"""What a piece of work asks the database, written down, and asked again by the bare driver: the floor of reading."""

import json
import sqlite3
from collections.abc import Callable, Sequence
from typing import Any

import sqlalchemy as sa
from fastapi import FastAPI, Response

from service.context import Db, Who
from service.database import Database

Statement = tuple[str, Sequence[Any]]


def statements_of(database: Database, work: Callable[[], object]) -> list[Statement]:
    """The statements of this work, with their parameters as the driver is given them."""
    seen: list[Statement] = []

    def note(_c: Any, _cursor: Any, statement: str, parameters: Any, _context: Any, _many: bool) -> None:
        if statement.lstrip().upper().startswith(("SELECT", "WITH")):
            seen.append((statement, parameters))

    sa.event.listen(database.engine, "before_cursor_execute", note)
    try:
        work()
    finally:
        sa.event.remove(database.engine, "before_cursor_execute", note)
    return seen


def bare_reader(database: Database, statements: Sequence[Statement]) -> Callable[[], list[list[Any]]]:
    """Reads the same rows by sqlite3 alone, on one connection with the same pragmas."""
    connection = bare_connection(database)

    def read() -> list[list[Any]]:
        connection.execute("BEGIN")
        try:
            return [connection.execute(text, tuple(parameters)).fetchall() for text, parameters in statements]
        finally:
            connection.execute("ROLLBACK")

    return read


def bare_connection(database: Database) -> sqlite3.Connection:
    """A connection of the driver's own, with the pragmas that the program sets."""
    connection = sqlite3.connect(str(database.url.database), isolation_level=None, check_same_thread=False)
    for pragma in ("journal_mode = WAL", "synchronous = FULL", "foreign_keys = ON"):
        connection.execute(f"PRAGMA {pragma}").close()
    return connection


def mount_rows(app: FastAPI, _database: Database) -> None:
    """A floor: signed in, it reads the rows of `app.state.statements` in one block and answers them as JSON."""

    def rows(db: Db, who: Who) -> Response:
        with db.reading() as session:
            connection = session.connection()
            found = [
                [tuple(row) for row in connection.exec_driver_sql(text, tuple(parameters))]
                for text, parameters in app.state.statements
            ]
            return Response(json.dumps(found, default=str), media_type="application/json")

    app.add_api_route("/api/v1/bench/rows", rows)
