"""The database: engine, blocks for reading and writing, migrating; the one file that knows which kind it is."""

import os
import re
import sqlite3
import threading
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from sqlalchemy.exc import (
    ArgumentError,
    DatabaseError,
    IntegrityError,
    NoSuchModuleError,
    OperationalError,
    TimeoutError,
)
from sqlmodel import Session

from service.errors import Busy, Conflict, Full, Refusal, WrongDatabase

MIGRATIONS = Path(__file__).parent / "migrations"
_LOCK_KEY = 8417  # any number that all processes of this program agree on


class Database:
    """Where everything is kept. Give the URL as SQLAlchemy writes it: `sqlite:///path` or `postgresql://host/name`."""

    def __init__(self, url: str, *, wait_seconds: float = 10) -> None:
        self.url = _checked(url)
        self.is_sqlite = self.url.get_backend_name() == "sqlite"
        self.wait_seconds = wait_seconds
        self.engine = _engine(self.url, wait_seconds)
        begin = {"isolation_level": "REPEATABLE READ", "postgresql_readonly": True}
        # A reader sees one moment, however many statements it takes; on SQLite a plain BEGIN does that.
        self._reader = self.engine if self.is_sqlite else self.engine.execution_options(**begin)
        self._writer = self.engine.execution_options(begin="BEGIN IMMEDIATE") if self.is_sqlite else self.engine
        # SQLite has one writer; queueing here is fair, its own waiting is not (one thread hogs, others wait seconds).
        self._turn = threading.Lock() if self.is_sqlite else None

    @contextmanager
    def reading(self) -> Iterator[Session]:
        """A block that only reads, from one consistent moment. Raises Busy where the database does not answer."""
        with _said_clearly(), Session(self._reader) as session:
            yield session

    @contextmanager
    def writing(self, info: Mapping[str, Any] | None = None) -> Iterator[Session]:
        """A block that is stored whole when it ends, or not at all when it raises; `info` becomes `session.info`.

        Raises Busy or Full where nothing could be stored.
        """
        with (
            _said_clearly(),
            self._own_turn(),
            Session(self._writer, info=dict(info or {})) as session,
            session.begin(),
        ):
            yield session

    @contextmanager
    def _own_turn(self) -> Iterator[None]:
        if self._turn is None:
            yield
            return
        if not self._turn.acquire(timeout=3 * self.wait_seconds):
            raise Busy("Somebody else has been writing for long. Nothing was stored; try again.")
        try:
            yield
        finally:
            self._turn.release()

    def revision(self) -> str | None:
        """The migration this database stands at; None where it is empty. Raises WrongDatabase for foreign tables."""
        if self.is_sqlite and not Path(self.url.database or "").exists():
            return None
        with _said_clearly(), self.engine.connect() as connection:
            return _revision(connection)

    def migrate(self) -> str | None:
        """Brings the tables up to date, all or nothing; a SQLite file that holds something is copied first.

        Answers the copy's path, or None. Raises WrongDatabase where the database is newer than the program.
        """
        at = self.revision()
        if at == known_revisions()[-1]:
            return None
        self._check_not_newer(at)
        if self.is_sqlite:
            _make_file(Path(self.url.database or ""))
        copy = self._copy_first(at) if at is not None and self.is_sqlite else None
        with _said_clearly(), self._own_turn():
            self._upgrade()
        return copy

    def check_current(self) -> None:
        """Raises WrongDatabase unless the tables are the ones this program knows."""
        at = self.revision()
        self._check_not_newer(at)
        if at != known_revisions()[-1]:
            raise WrongDatabase(
                f"The database at {self.shown} is older than this program. Run `locknut migrate`; it copies it first."
            )

    def _check_not_newer(self, at: str | None) -> None:
        known = known_revisions()
        if at is not None and at not in known:
            raise WrongDatabase(
                f"The database at {self.shown} was written by a newer Locknut "
                f"(it stands at {at}, this program knows up to {known[-1]}). "
                "Install the newer program, or name another database in LOCKNUT_DATABASE_URL. Nothing was changed."
            )

    @property
    def shown(self) -> str:
        """Where the database is, for people: without a password."""
        return str(self.url.database) if self.is_sqlite else self.url.render_as_string(hide_password=True)

    def _copy_first(self, at: str) -> str:
        path = Path(self.url.database or "")
        copy = path.with_name(f"{path.name}.before-{at}-{datetime.now(UTC):%Y%m%dT%H%M%S%f}")
        with _said_clearly():
            _make_file(copy)
            source, target = sqlite3.connect(path), sqlite3.connect(copy)
            try:
                source.backup(target)
            finally:
                target.close()
                source.close()
        return str(copy)

    def _upgrade(self) -> None:
        from alembic import command  # only here: serving a database that is up to date needs no migrations
        from alembic.config import Config

        config = Config()
        config.set_main_option("script_location", str(MIGRATIONS).replace("%", "%%"))
        with self._writer.connect() as connection:
            if self.is_sqlite:
                # Before the transaction, where alone it works: a rebuilt table is dropped and takes its children along.
                _outside(connection, "PRAGMA foreign_keys = OFF")
            try:
                with connection.begin():
                    if not self.is_sqlite:
                        connection.execute(sa.text("SELECT pg_advisory_xact_lock(:key)"), {"key": _LOCK_KEY})
                    config.attributes["connection"] = connection
                    command.upgrade(config, "head")
                    broken = connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall() if self.is_sqlite else []
                    if broken:
                        raise WrongDatabase(
                            f"After the migration a row of {broken[0][0]} would point at nothing. Nothing was changed."
                        )
            finally:
                if self.is_sqlite:
                    _outside(connection, "PRAGMA foreign_keys = ON")

    def dispose(self) -> None:
        """Closes every connection."""
        self.engine.dispose()


def known_revisions() -> list[str]:
    """The migrations this program brings, oldest first; files are named by revision, so none is imported to know."""
    return sorted(path.stem.partition("_")[0] for path in (MIGRATIONS / "versions").glob("[0-9]*.py"))


def _checked(url: str) -> sa.URL:
    try:
        parsed = sa.make_url(url)
    except ArgumentError:
        raise Refusal(
            "The database's address cannot be read; write sqlite:///path or postgresql://user@host/name."
        ) from None
    if parsed.get_backend_name() == "sqlite":
        if parsed.database in (None, "", ":memory:"):
            raise Refusal("A database in memory would be lost when the program stops; write sqlite:///path.")
        return parsed
    if parsed.drivername in ("postgresql", "postgres", "postgresql+psycopg"):
        return parsed.set(drivername="postgresql+psycopg")
    raise Refusal(
        f"{parsed.drivername} is not a database that is known here; write sqlite:///path or postgresql://user@host/name."
    )


def _engine(url: sa.URL, wait: float) -> sa.Engine:
    sqlite = url.get_backend_name() == "sqlite"
    here = {"timeout": wait, "check_same_thread": False}
    connect: dict[str, Any] = here if sqlite else {"connect_timeout": int(wait)}
    try:
        engine = sa.create_engine(
            url,
            pool_size=10,
            max_overflow=0,
            pool_timeout=3 * wait,
            pool_pre_ping=not sqlite,
            connect_args=connect,
        )
    except (NoSuchModuleError, ImportError):
        raise Refusal("The PostgreSQL driver is missing on this machine: pip install 'psycopg[binary]'.") from None
    if sqlite:
        sa.event.listen(engine, "connect", _prepare_sqlite)
        sa.event.listen(engine, "begin", _begin_sqlite)
    return engine


def _prepare_sqlite(connection: sqlite3.Connection, _record: object) -> None:
    connection.isolation_level = None  # the driver's own BEGIN comes too late, after the first read
    for pragma in ("journal_mode = WAL", "synchronous = FULL", "foreign_keys = ON"):
        connection.execute(f"PRAGMA {pragma}").close()


def _begin_sqlite(connection: sa.Connection) -> None:
    connection.exec_driver_sql(connection.get_execution_options().get("begin", "BEGIN"))


def _outside(connection: sa.Connection, statement: str) -> None:
    cursor = connection.connection.cursor()  # of the driver: nothing of SQLAlchemy's begins a transaction
    cursor.execute(statement)
    cursor.close()


def _make_file(path: Path) -> None:
    """An empty file that only its owner reads: it will hold what people ride and where they sign in."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        os.close(os.open(path, os.O_CREAT | os.O_RDWR, 0o600))
    except OSError as wrong:
        raise _refusal_for(wrong) or Busy(f"{path} cannot be made: {wrong.strerror}.") from wrong


def _revision(connection: sa.Connection) -> str | None:
    tables = sa.inspect(connection).get_table_names()
    if "alembic_version" in tables:
        return connection.execute(sa.text("SELECT version_num FROM alembic_version")).scalar()
    if tables:
        raise WrongDatabase(
            f"This database holds tables of something else ({tables[0]}). Name another one in LOCKNUT_DATABASE_URL."
        )
    return None


@contextmanager
def _said_clearly() -> Iterator[None]:
    """Turns what a database says when it cannot go on into a refusal for people; mistakes of ours pass unchanged."""
    try:
        yield
    except TimeoutError as wrong:
        raise Busy("Every connection to the database is in use. Nothing was stored; try again.") from wrong
    except (DatabaseError, sqlite3.DatabaseError) as wrong:
        refusal = _refusal_for(_first(wrong))
        if refusal is None:
            raise
        raise refusal from wrong


def _first(wrong: Exception) -> Exception:
    """What went wrong first: on a full disk SQLite rolls back by itself, and a savepoint is then sought in vain."""
    before = wrong.__context__
    while "no such savepoint" in str(wrong) and isinstance(before, DatabaseError | sqlite3.DatabaseError):
        wrong, before = before, before.__context__
    return wrong


_SAID: tuple[tuple[str, type[Refusal], str], ...] = (
    (
        r"disk is full|No space left|Disk quota|^53100$",
        Full,
        "The disk is full. Nothing of this was stored and nothing was lost; make room, then send it again.",
    ),
    (
        r"database (table )?is locked|^(55P03|40P01|40001)$",
        Busy,
        "Somebody else is writing. Nothing was stored; try again.",
    ),
    (
        r"readonly database|Permission denied|Read-only file system",
        Busy,
        "The database may only be read here. Nothing was stored; make its file and folder writable.",
    ),
    (
        r"unable to open|[Ii]s a directory|Not a directory|File exists",
        Busy,
        "The database file cannot be opened; is the path in LOCKNUT_DATABASE_URL right?",
    ),
    (r"disk I/O error", Busy, "The disk does not answer. Nothing was stored; look after the disk, then try again."),
    (
        r"not a database|malformed",
        WrongDatabase,
        "The file is not a database of this program, or it is damaged; "
        "name another in LOCKNUT_DATABASE_URL, or put a copy back.",
    ),
    (
        r"^(08\w{3}|57P0\d|53300|28\w{3}|3D000)$|server closed|terminating connection",
        Busy,
        "The database server does not answer, or refuses this program. Nothing was stored; try again.",
    ),
)


def _refusal_for(wrong: Exception) -> Refusal | None:
    if isinstance(wrong, IntegrityError):
        return _conflict_for(wrong)
    cause = getattr(wrong, "orig", wrong)
    state = getattr(cause, "sqlstate", "")
    for pattern, kind, say in _SAID:
        if any(text and re.search(pattern, text) for text in (state, str(cause))):
            return kind(say)
    if isinstance(wrong, OperationalError) and (wrong.connection_invalidated or state is None):
        return Busy("The database does not answer. Nothing was stored; try again.")
    return None


def _conflict_for(wrong: IntegrityError) -> Conflict | None:
    """Two keys or references that clash are what somebody else stored meanwhile; anything else is a mistake of ours."""
    clashes = ("UNIQUE constraint failed", "FOREIGN KEY constraint failed")
    if getattr(wrong.orig, "sqlstate", "") in ("23503", "23505") or str(wrong.orig).startswith(clashes):
        return Conflict(
            "This contradicts what was stored meanwhile. Nothing of it was stored; read again, then decide."
        )
    return None
