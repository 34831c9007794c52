"""Who waited for a lock decides by what is stored then, not by what was read before: two writers in a fixed order."""

from collections import Counter
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from threading import Event
from time import sleep
from typing import Any
from uuid import UUID

import httpx
import pytest

from service.domain.procedure import Library
from service.errors import Refusal
from service.records import builds, checklists, fitting, parts, riding, undo
from service.schemas.builds import FittingSent, PlanSent
from service.schemas.checklists import MarkSent
from service.schemas.parts import PartChanged, SpecSent
from service.schemas.riding import RideChanged
from tests.api.words import NOON, build, fit, got, part, ride, start, tick
from tests.conftest import Served

Write = Callable[[Any], Any]


def one_then_other(service: Served, first: Write, second: Write) -> str:
    """The second begins while the first is not committed yet; answers what came of the second."""
    done, begun = Event(), Event()

    def leading() -> None:
        with service.database.writing({"who": service.who}) as session:
            first(session)
            done.set()
            begun.wait(10)
            sleep(0.2)  # so that the second stands and waits at the lock

    def following() -> str:
        done.wait(10)
        begun.set()
        try:
            with service.database.writing({"who": service.who}) as session:
                return str(second(session))
        except Refusal as refusal:
            return refusal.code

    with ThreadPoolExecutor(2) as pool:
        leader: Future[None] = pool.submit(leading)
        follower = pool.submit(following)
        leader.result(30)
        return follower.result(30)


@pytest.fixture
def job(client: httpx.Client, service: Served) -> dict[str, Any]:
    """A job of one step that is ticked: measuring a chain."""
    service.now = NOON
    on, chain = build(client), part(client, "chain")
    fit(client, on, chain, day="2026-05-01")
    found = start(client, on, "service", task="chain.measure", about_part=chain)
    for step in found["steps"]:
        assert tick(client, found["id"], step).status_code == 200
    return {**found, "build": on, "chain": chain}


def test_a_job_finished_twice_at_once_is_logged_once(
    client: httpx.Client, service: Served, library: Library, job: dict[str, Any]
) -> None:
    def finish(session: Any) -> bool:
        found = checklists.finish_job(session, service.who, UUID(job["id"]), library=library, now=NOON)
        return found[0].finished_at is not None

    assert one_then_other(service, finish, finish) == "True"
    logged = Counter(event["kind"] for event in got(client, "/maintenance-events", part=job["chain"])["items"])
    assert sum(logged.values()) == 1


def test_a_tick_that_waited_for_the_finish_is_refused(service: Served, library: Library, job: dict[str, Any]) -> None:
    step = job["steps"][0]

    def finish(session: Any) -> None:
        checklists.finish_job(session, service.who, UUID(job["id"]), library=library, now=NOON)

    def skip(session: Any) -> None:
        sent = MarkSent(state="skipped", fingerprint=step["fingerprint"], note="late")
        checklists.tick_step(session, service.who, UUID(job["id"]), step["id"], sent, library=library, now=NOON)

    assert one_then_other(service, finish, skip) == "conflict"


def test_a_ride_corrected_meanwhile_is_not_removed(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    ride_id = UUID(ride(client, build(client), 20, "2026-05-01")["id"])

    def correct(session: Any) -> None:
        riding.change_ride(session, service.who, ride_id, RideChanged(km=30), version=1, now=NOON)

    assert one_then_other(service, correct, lambda session: riding.remove_ride(session, service.who, ride_id, 1)) == (
        "stale"
    )
    assert got(client, f"/rides/{ride_id}")["km"] == 30


def test_a_part_that_is_being_fitted_is_planned_nowhere_else(
    client: httpx.Client, service: Served, library: Library
) -> None:
    service.now = NOON
    one, other, chain = UUID(build(client)), UUID(build(client)), UUID(part(client, "chain"))

    def put_on(session: Any) -> None:
        fitting.fit_part(session, service.who, one, FittingSent(part=chain), library=library, now=NOON)

    def plan(session: Any) -> None:
        builds.plan_part(session, service.who, other, chain, PlanSent(), library=library)

    assert one_then_other(service, put_on, plan) == "conflict"
    assert got(client, f"/builds/{other}/plan")["items"] == []


def test_nothing_goes_into_a_wheel_that_is_going(client: httpx.Client, service: Served, library: Library) -> None:
    service.now = NOON
    on, tyre, wheel = UUID(build(client)), UUID(part(client, "tyre")), UUID(part(client, "wheel"))

    def let_go(session: Any) -> None:
        parts.change_part(session, service.who, wheel, PartChanged(state="gone"), None, now=NOON)

    def put_in(session: Any) -> None:
        sent = FittingSent(part=tyre, into_part=wheel)
        fitting.fit_part(session, service.who, on, sent, library=library, now=NOON)

    assert one_then_other(service, let_go, put_in) == "conflict"


def test_an_undo_does_not_undo_what_was_entered_meanwhile(
    client: httpx.Client, service: Served, library: Library
) -> None:
    chain = UUID(part(client, "chain"))
    client.put(f"/api/v1/parts/{chain}/specs/links_count", json={"number": 112})
    client.put(f"/api/v1/parts/{chain}/specs/links_count", json={"number": 114})
    request = got(client, "/journal", noun="spec")["items"][0]["request"]

    def enter(session: Any) -> None:
        parts.set_spec(session, service.who, chain, "links_count", SpecSent(number=116), library)

    assert one_then_other(service, enter, lambda session: undo.undo_request(session, service.who, request)) == (
        "conflict"
    )
    assert got(client, f"/parts/{chain}")["specs"]["links_count"]["number"] == 116
