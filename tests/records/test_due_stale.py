"""The sort columns of builds: out of date after a write, right for whoever lists, whatever is written meanwhile."""

from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from typing import Any
from uuid import UUID

import httpx
from sqlalchemy import func, select, update
from sqlmodel import col

from service.domain.due import summary
from service.domain.procedure import Library
from service.records import care
from service.records.bicycle import load
from service.records.riding import log_ride
from service.records.touched import MOST_AT_ONCE, judge, refresh_for_today, refresh_stale, store
from service.schemas.riding import RideLogged
from service.tables import Build
from tests.api.words import API, NOON, build, fit, got, ok, part, ride
from tests.conftest import Served


def columns(service: Served) -> dict[UUID, tuple[Any, ...]]:
    """The columns as they are stored."""
    of = (Build.id, Build.due_rank, Build.due_on, Build.due_what, Build.due_stale)
    with service.database.reading() as session:
        return {row[0]: tuple(row[1:]) for row in session.execute(select(*map(col, of)))}


def fresh(service: Served, library: Library, build_id: UUID) -> tuple[Any, ...]:
    """What they should be, judged anew."""
    with service.database.reading() as session:
        bicycle = load(session, service.who, build_id, library)
        return summary(care.due_now(bicycle, library, service.who, NOON))


def with_chain(client: httpx.Client, name: str) -> tuple[str, str]:
    """A build in service with a chain, fitted 25 days ago; nothing of it presses."""
    on = build(client, name, state="in service")
    chain = part(client, "chain")
    fit(client, on, chain, at=(NOON - timedelta(days=25)).isoformat())
    return on, chain


def names(client: httpx.Client) -> list[str]:
    return [each["name"] for each in got(client, "/builds")["items"]]


def test_a_list_is_in_order_right_after_a_ride(client: httpx.Client, service: Served, library: Library) -> None:
    service.now = NOON
    first, _ = with_chain(client, "A")
    second, _ = with_chain(client, "B")
    assert names(client) == ["A", "B"]
    ride(client, second, 900, NOON - timedelta(days=1))
    assert columns(service)[UUID(second)][3]
    assert names(client) == ["B", "A"]
    for build_id in (UUID(first), UUID(second)):
        *kept, stale = columns(service)[build_id]
        assert (tuple(kept), stale) == (fresh(service, library, build_id), False)


def test_a_late_ride_moves_the_build_on_which_its_parts_are_now(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    old, chain = with_chain(client, "Old")
    with_chain(client, "A")
    new = build(client, "New", state="in service")
    [fitting] = got(client, f"/builds/{old}/fittings")["items"]
    moved = (NOON - timedelta(days=10)).isoformat()
    ok(client.patch(f"{API}/fittings/{fitting['id']}", json={"end_at": moved}))
    fit(client, new, chain, at=moved)
    names(client)
    assert not any(row[3] for row in columns(service).values())
    late = ride(client, old, 900, NOON - timedelta(days=20))
    assert columns(service)[UUID(new)][3]
    listed = names(client)
    assert listed.index("New") < listed.index("A")  # the chain's oil is overdue there
    ok(client.patch(f"{API}/rides/{late['id']}", json={"km": 10}, headers={"If-Match": "*"}))
    assert columns(service)[UUID(new)][3]
    listed = names(client)
    assert listed.index("A") < listed.index("New")
    ride(client, old, 5, NOON - timedelta(days=1))  # after the chain had gone
    assert not columns(service)[UUID(new)][3]


def test_what_is_written_while_a_build_is_judged_leaves_it_out_of_date(
    client: httpx.Client, service: Served, library: Library
) -> None:
    service.now = NOON
    on, _ = with_chain(client, "A")
    with service.database.reading() as session:
        judged = judge(session, service.who, UUID(on), library=library, now=NOON)
    ride(client, on, 900, NOON - timedelta(days=1))
    with service.database.writing() as session:
        assert not store(session, judged, NOON)
    assert columns(service)[UUID(on)][3]
    assert refresh_stale(service.database, service.who, library=library, now=NOON) == 1
    assert columns(service)[UUID(on)][:3] == fresh(service, library, UUID(on))


def test_rides_and_lists_at_once_end_with_the_right_columns(
    client: httpx.Client, service: Served, library: Library
) -> None:
    service.now = NOON
    on, _ = with_chain(client, "A")

    def one(number: int) -> None:
        if number % 3 == 0:
            refresh_stale(service.database, service.who, library=library, now=NOON)
            return
        with service.database.writing({"who": service.who}) as session:
            sent = RideLogged(build=UUID(on), started_at=NOON - timedelta(hours=number), km=10)
            log_ride(session, service.who, sent, now=NOON)

    with ThreadPoolExecutor(16) as pool:
        list(pool.map(one, range(48)))
    refresh_stale(service.database, service.who, library=library, now=NOON)
    *kept, stale = columns(service)[UUID(on)]
    assert (tuple(kept), stale) == (fresh(service, library, UUID(on)), False)
    with service.database.reading() as session:
        assert load(session, service.who, UUID(on), library).rides[UUID(on)][-1].metres == 10_000
        assert len(load(session, service.who, UUID(on), library).rides[UUID(on)]) == 32


def test_of_many_builds_a_list_sets_some_right_and_the_next_list_the_rest(
    client: httpx.Client, service: Served, library: Library
) -> None:
    service.now = NOON
    for number in range(MOST_AT_ONCE + 3):
        ride(client, build(client, f"Build {number}", state="in service"), 5, NOON)
    assert len(names(client)) == MOST_AT_ONCE + 3
    assert sum(row[3] for row in columns(service).values()) == 3
    names(client)
    assert sum(row[3] for row in columns(service).values()) == 0
    assert refresh_stale(service.database, service.who, library=library, now=NOON) == 0


def test_a_new_day_marks_what_nobody_touched_since_yesterday(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    build(client, "A", state="in service")
    build(client, "B", state="retired")
    names(client)
    with service.database.writing() as session:
        session.execute(update(Build).values(changed_at=NOON))
        refresh_for_today(session, service.who, now=NOON + timedelta(hours=2))
    assert sum(row[3] for row in columns(service).values()) == 0
    with service.database.writing() as session:
        refresh_for_today(session, service.who, now=NOON + timedelta(days=1))
    assert sum(row[3] for row in columns(service).values()) == 1  # what is retired asks nothing


def test_a_build_of_another_workshop_is_left_alone(client: httpx.Client, service: Served, library: Library) -> None:
    ride(client, build(client, "A"), 5, NOON)
    with service.database.reading() as session:
        before = session.execute(select(func.count()).where(col(Build.due_stale))).scalar()
    other = service.who.__class__(service.who.person_id, UUID(int=9), None, "own")
    assert refresh_stale(service.database, other, library=library, now=NOON) == 0
    with service.database.reading() as session:
        assert session.execute(select(func.count()).where(col(Build.due_stale))).scalar() == before == 1
