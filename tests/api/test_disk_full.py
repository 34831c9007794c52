"""A full disk: said clearly, nothing half stored, nothing lost, and the same goes through once there is room."""

import shutil
import sqlite3
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import httpx
import pytest
import sqlalchemy as sa
from fastapi import FastAPI

from service.app import make_app
from service.database import Database
from service.domain.procedure import Library
from service.ids import new_id
from service.records import people
from tests.api.words import API, got, ok, part, refused
from tests.conftest import Served
from tests.serving import Door

ROOM_PAGES = 60  # SQLite refuses to grow past max_page_count as it does on a full disk: SQLITE_FULL


class Disk:
    """How much room the database has; it may be changed while it runs."""

    pages = 1_000_000

    def limit(self, connection: sqlite3.Connection, *_: object) -> None:
        connection.execute(f"PRAGMA max_page_count = {self.pages}").close()


@pytest.fixture
def disk() -> Disk:
    return Disk()


@pytest.fixture
def crowded(template: Path, tmp_path: Path, door: Door, library: Library, disk: Disk) -> Iterator[Served]:
    """A served application whose database may run out of room."""
    path = tmp_path / "crowded.db"
    shutil.copyfile(template, path)
    database = Database(f"sqlite:///{path}")
    sa.event.listen(database.engine, "checkout", disk.limit)
    with database.writing() as session:
        who = people.open_workshop(session, time_zone="Europe/Berlin", currency="EUR")
        token = people.add_device(session, who.person_id, title="tests", kind="token", now=datetime.now(UTC))
    served = Served(FastAPI(), database, door.address, token, who)
    door.app = served.app = make_app(database, library, clock=served.clock)
    yield served
    door.app = None
    database.dispose()


@pytest.fixture
def writer(crowded: Served) -> Iterator[httpx.Client]:
    with crowded.client() as client:
        yield client


def pages_of(database: Database) -> int:
    """How many pages the file has now."""
    with database.reading() as session:
        return int(session.execute(sa.text("PRAGMA page_count")).scalar_one())


def test_a_full_disk_is_507_and_nothing_is_lost(writer: httpx.Client, crowded: Served, disk: Disk) -> None:
    part(writer, "frame", "Before")
    disk.pages = pages_of(crowded.database) + ROOM_PAGES
    stored, answer = 1, writer.get(f"{API}/parts")
    sent = {"category": "frame", "name": "Kept", "note": "x" * 3000}
    while answer.status_code in (200, 201):
        sent["id"] = str(new_id())
        answer = writer.post(f"{API}/parts", json=sent)
        stored += answer.status_code == 201
    problem = refused(answer, 507, "disk is full", "make room", "nothing was lost")
    assert problem["type"] == "/problems/full"
    assert stored > 5
    assert len(got(writer, "/parts", limit=200)["items"]) == stored  # reading goes on, nothing half stored
    assert writer.get(f"{API}/parts/{sent['id']}").status_code == 404
    disk.pages = 1_000_000
    assert ok(writer.post(f"{API}/parts", json=sent), 201)["id"] == sent["id"]
    assert len(got(writer, "/parts", limit=200)["items"]) == stored + 1
