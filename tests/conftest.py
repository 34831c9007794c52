"""What tests are given: a served application over a real database, once on SQLite and once on PostgreSQL."""

import os
import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import httpx
import hypothesis
import pytest
import sqlalchemy as sa
from fastapi import FastAPI
from sqlmodel import SQLModel

from service import tables
from service.app import make_app
from service.database import Database
from service.domain.procedure import Library
from service.records import people
from tests import postgresql
from tests.procedures import whole_library
from tests.serving import Door, open_door

assert tables.__all__  # fills the metadata that `_empty` walks through
hypothesis.settings.register_profile("locknut", deadline=None)  # other work on the machine must fail no test
hypothesis.settings.load_profile("locknut")
NOW = datetime(2026, 5, 4, 9, 30, tzinfo=UTC)


@dataclass
class Served:
    """A running service with its owner signed in by a token; `now` is what its clock says."""

    app: FastAPI
    database: Database
    address: str
    token: str
    who: people.Who
    now: datetime | None = None

    def clock(self) -> datetime:
        """The instant that the service takes for now."""
        return self.now or datetime.now(UTC)

    def client(self, token: str | None = None) -> httpx.Client:
        """A client with this token, or the owner's."""
        return httpx.Client(
            base_url=self.address,
            headers={"Authorization": f"Bearer {token or self.token}"},
            verify=False,  # plain http: loading certificates would take 20 ms
            timeout=30,
        )


@pytest.fixture(scope="session")
def door() -> Iterator[Door]:
    """The web server of this run."""
    with open_door() as opened:
        yield opened


@pytest.fixture(scope="session")
def library() -> Library:
    """The procedures that come with the program."""
    return whole_library()


@pytest.fixture(scope="session")
def template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A SQLite file that is up to date and empty."""
    path = tmp_path_factory.mktemp("template") / "locknut.db"
    database = Database(f"sqlite:///{path}")
    database.migrate()
    database.dispose()
    return path


@pytest.fixture(scope="session")
def server() -> Iterator[str]:
    """The address of a PostgreSQL; in CI a missing one fails, elsewhere its tests are skipped."""
    reason = postgresql.missing()
    if reason and os.environ.get("CI") == "true":
        pytest.fail(reason)
    if reason:
        pytest.skip(reason)
    with postgresql.running() as address:
        yield address


@pytest.fixture(scope="session")
def migrated(server: str) -> Iterator[Database]:
    """A PostgreSQL database that is up to date; its rows go after each test, which is quicker than a new database."""
    name = f"locknut_test_{os.getpid()}"
    _command(server, f"CREATE DATABASE {name}")
    database = Database(sa.make_url(server).set(database=name).render_as_string(hide_password=False))
    database.migrate()
    yield database
    database.dispose()
    _command(server, f"DROP DATABASE {name} WITH (FORCE)")


def _command(server: str, statement: str) -> None:
    engine = sa.create_engine(server, isolation_level="AUTOCOMMIT", poolclass=sa.NullPool)
    with engine.connect() as connection:
        connection.exec_driver_sql(statement)
    engine.dispose()


@pytest.fixture(params=["sqlite", pytest.param("postgresql", marks=pytest.mark.slow)])
def database(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Database]:
    """An empty database that is up to date, of each kind in turn."""
    if request.param == "sqlite":
        path = tmp_path / "locknut.db"
        shutil.copyfile(request.getfixturevalue("template"), path)
        database = Database(f"sqlite:///{path}")
        yield database
        database.dispose()
        return
    shared: Database = request.getfixturevalue("migrated")
    yield shared
    _empty(shared)


def _empty(database: Database) -> None:
    with database.engine.begin() as connection:
        connection.exec_driver_sql("SET LOCAL lock_timeout = '5s'")
        for table in reversed(SQLModel.metadata.sorted_tables):
            connection.execute(table.delete())


@pytest.fixture(scope="session")
def application(library: Library, template: Path) -> FastAPI:
    """The application, made once; each test gives it a database and a clock of its own."""
    return make_app(Database(f"sqlite:///{template}"), library)


@pytest.fixture
def service(database: Database, application: FastAPI, door: Door) -> Iterator[Served]:
    """A served application over an empty workshop, its owner signed in."""
    with database.writing() as session:
        who = people.open_workshop(session, time_zone="Europe/Berlin", currency="EUR")
        token = people.add_device(session, who.person_id, title="tests", kind="token", now=datetime.now(UTC))
    served = Served(application, database, door.address, token, who)
    application.state.database, application.state.clock = database, served.clock
    door.app = application
    yield served
    door.app = None


@pytest.fixture
def client(service: Served) -> Iterator[httpx.Client]:
    """A client that is signed in as the owner."""
    with service.client() as signed_in:
        yield signed_in


@pytest.fixture
def visitor(service: Served) -> Iterator[httpx.Client]:
    """A client that is not signed in."""
    with httpx.Client(base_url=service.address, verify=False, timeout=30) as nobody:
        yield nobody
