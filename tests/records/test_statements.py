"""How many statements a request takes: bounded by depth, never by how much there is."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

import httpx
import pytest
import sqlalchemy as sa
from sqlmodel import SQLModel

from service.database import Database
from service.domain.bicycle import Bicycle
from service.domain.procedure import Library
from service.ids import new_id
from service.records.bicycle import load
from service.records.people import Who
from service.tables import Build, Fitting, MaintenanceEvent, Part, Ride, Spec, WearMeasurement
from tests.api.words import API, ONE_DATABASE, build, got, ok, part
from tests.conftest import NOW, Served

MOST = 20  # for a whole bicycle, whatever its size: the bound that was set for it, no outside source


@contextmanager
def counted(database: Database) -> Iterator[list[str]]:
    """The statements that are sent while the block lasts, those that only begin or end something left out."""
    seen: list[str] = []

    def note(_c: object, _cursor: object, statement: str, *_: object) -> None:
        if not statement.upper().startswith(("BEGIN", "SAVEPOINT", "RELEASE", "PRAGMA")):
            seen.append(statement)

    sa.event.listen(database.engine, "before_cursor_execute", note)
    try:
        yield seen
    finally:
        sa.event.remove(database.engine, "before_cursor_execute", note)


def stored_bicycle(database: Database, who: Who, parts: int) -> UUID:
    """A build with a wheel and many parts in it, moved on from another build, with rides, events and readings."""
    moved, since = NOW - timedelta(days=100), NOW - timedelta(days=50)
    build_id, old_id, wheel = (new_id() for _ in range(3))
    with database.writing() as session:
        for row_id in (build_id, old_id):
            own = Build(id=row_id, workshop_id=who.workshop_id, name="", state="laid up", use="road", changed_at=NOW)
            session.add(own)
        session.add(_part(who, wheel, "wheel"))
        session.add(_fitting(wheel, "rear", moved, build_id=old_id, to_at=moved + timedelta(days=9)))
        session.add(_fitting(wheel, "rear", since, build_id=build_id))
        for number in range(parts):
            session.add_all(_spoke(who, wheel, f"{number}", moved))
        for on, days in ((old_id, 95), (build_id, 10)):
            at = NOW - timedelta(days=days)
            session.add(Ride(id=new_id(), build_id=on, started_at=at, day=at.date(), metres=1000))
    return build_id


def _spoke(who: Who, wheel: UUID, place: str, at: datetime) -> list[SQLModel]:
    own, day = new_id(), NOW.date()
    return [
        _part(who, own, "spokes"),
        _fitting(own, place, at, into_part_id=wheel),
        Spec(part_id=own, field="length_mm", position=0, number=290, known_by="measured"),
        MaintenanceEvent(id=new_id(), part_id=own, kind="trued", at=NOW, day=day),
        WearMeasurement(id=new_id(), part_id=own, dimension="broken_count", low=0, high=0, at=NOW, day=day),
    ]


def _fitting(part_id: UUID, place: str, at: datetime, **where: Any) -> Fitting:
    slot = "wheel" if "build_id" in where else "spokes"
    return Fitting(id=new_id(), part_id=part_id, slot=slot, place=place, from_at=at, **where)


def _part(who: Who, part_id: UUID, category: str) -> Part:
    return Part(
        id=part_id,
        workshop_id=who.workshop_id,
        category=category,
        name=category,
        origin="new",
        state="in hand",
        metres_before=0,
        changed_at=NOW,
    )


def loaded(service: Served, library: Library, parts: int) -> tuple[Bicycle, int]:
    """A bicycle with so many parts in a wheel, and how many statements loading it took."""
    build_id = stored_bicycle(service.database, service.who, parts)
    with counted(service.database) as seen, service.database.reading() as session:
        bicycle = load(session, service.who, build_id, library, with_bench=True)
    return bicycle, len(seen)


def test_a_whole_bicycle_takes_as_many_statements_with_five_parts_as_with_three_hundred(
    service: Served, library: Library
) -> None:
    (small, few), (large, many) = (loaded(service, library, number) for number in (5, 300))
    assert (len(small.placed), len(large.placed)) == (6, 301)
    assert (len(large.measurements), len(large.events)) == (300, 300)
    assert sum(len(rides) for rides in large.rides.values()) == 2  # those of the build the wheel came from too
    assert few == many
    assert many <= MOST


def some_builds(client: httpx.Client) -> None:
    for number in range(19):
        build(client, f"Build {number}")


def some_parts(client: httpx.Client) -> None:
    for _ in range(19):
        part(client, "chain")


def some_rides(client: httpx.Client) -> None:
    on = got(client, "/builds")["items"][0]["id"]
    for day in range(1, 20):
        ok(client.post(f"{API}/rides", json={"build": on, "day": f"2026-04-{day:02}", "km": 5}), 201)


def some_readings(client: httpx.Client) -> None:
    on = got(client, "/builds")["items"][0]["id"]
    for day in range(1, 20):
        sent = {"build": on, "day": f"2026-04-{day:02}", "km": 5 * day}
        ok(client.post(f"{API}/odometer-readings", json=sent), 201)


def some_events(client: httpx.Client) -> None:
    chain = got(client, "/parts")["items"][0]["id"]
    for _ in range(19):
        ok(client.post(f"{API}/maintenance-events", json={"part": chain, "kind": "lubricated"}), 201)


def some_measurements(client: httpx.Client) -> None:
    chain = got(client, "/parts")["items"][0]["id"]
    sent = {"part": chain, "dimension": "elongation_percent", "reading": 0.1}
    for _ in range(19):
        ok(client.post(f"{API}/wear-measurements", json=sent), 201)


def some_plans(client: httpx.Client) -> None:
    on = got(client, "/builds")["items"][0]["id"]
    for _ in range(19):
        ok(client.put(f"{API}/builds/{on}/plan/{part(client, 'stem')}", json={"chosen": False}))


def some_wrenches(client: httpx.Client) -> None:
    for _ in range(19):
        ok(client.post(f"{API}/wrenches", json={"title": "Small", "low_nm": 2, "high_nm": 24}), 201)


def some_jobs(client: httpx.Client) -> None:
    on = got(client, "/builds")["items"][0]["id"]
    for _ in range(19):
        ok(client.post(f"{API}/builds/{on}/checklists", json={"job": "check"}), 201)


def some_set_ups(client: httpx.Client) -> None:
    on = got(client, "/builds")["items"][0]["id"]
    for _ in range(19):
        ok(client.post(f"{API}/builds/{on}/set-ups", json={"saddle_height_mm": 720}), 201)


LISTS: tuple[tuple[str, Callable[[httpx.Client], None]], ...] = (
    ("/builds", some_builds),
    ("/parts", some_parts),
    ("/rides", some_rides),
    ("/odometer-readings", some_readings),
    ("/maintenance-events", some_events),
    ("/maintenance-events?build={build}", some_events),
    ("/wear-measurements", some_measurements),
    ("/wear-measurements?build={build}", some_measurements),
    ("/builds/{build}/plan", some_plans),
    ("/builds/{build}/checklists", some_jobs),
    ("/builds/{build}/set-ups", some_set_ups),
    ("/wrenches", some_wrenches),
    ("/due?build={build}", some_events),
    ("/journal", some_parts),
)


@ONE_DATABASE
@pytest.mark.parametrize(("path", "more"), LISTS, ids=[path for path, _ in LISTS])
def test_a_list_takes_as_many_statements_for_one_row_as_for_twenty(
    path: str, more: Callable[[httpx.Client], None], client: httpx.Client, service: Served
) -> None:
    on, chain = build(client), part(client, "chain")
    ok(client.post(f"{API}/builds/{on}/fittings", json={"part": chain}), 201)
    address = API + path.format(build=on)
    ok(client.get(address))  # the first request of a day also notes that the device was seen
    with counted(service.database) as before:
        ok(client.get(address))
    more(client)
    with counted(service.database) as after:
        ok(client.get(address))
    assert len(before) == len(after)
    assert len(after) <= MOST
