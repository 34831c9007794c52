"""The application as a whole: what is done once at its start, and what its description says."""

import gc
import threading
from pathlib import Path
from typing import Any

import anyio
import httpx
import pytest
from anyio.to_thread import current_default_thread_limiter
from fastapi import FastAPI
from fastapi.routing import APIRoute

from service.app import OPEN_ROUTERS, every_route, make_app
from service.context import signed_in
from service.database import Database
from service.domain.procedure import Library
from service.records import people
from tests.conftest import Served


@pytest.fixture
def document(application: FastAPI) -> dict[str, Any]:
    """The OpenAPI document."""
    return application.openapi()


def test_at_the_start_two_threads_are_set_and_the_heap_is_frozen(template: Path, library: Library) -> None:
    app = make_app(Database(f"sqlite:///{template}"), library)
    gc.unfreeze()

    async def start() -> tuple[float, int]:
        async with app.router.lifespan_context(app):
            return current_default_thread_limiter().total_tokens, gc.get_freeze_count()

    threads, frozen = anyio.run(start)
    assert threads == 2
    assert frozen > 10_000


def test_every_route_but_the_open_ones_asks_who_is_there() -> None:
    open_ones = {id(route) for router in OPEN_ROUTERS for route in router.routes}
    for route in every_route():
        if id(route) not in open_ones:
            assert isinstance(route, APIRoute)
            assert signed_in in [each.dependency for each in route.dependencies], route.path


def test_the_framework_takes_each_route_as_it_was_made(application: FastAPI) -> None:
    assert application.router.routes == every_route()


def test_64_clients_at_once_are_all_answered(service: Served) -> None:
    answers: list[int] = []

    def ask() -> None:
        with service.client() as client:
            answers.extend(client.get("/api/v1/me").status_code for _ in range(3))

    threads = [threading.Thread(target=ask) for _ in range(64)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert answers == [200] * 64 * 3


def test_the_workshop_is_made_once_however_many_ask(database: Database) -> None:
    made, ready = set(), threading.Barrier(8)

    def ask() -> None:
        ready.wait()
        with database.writing() as session:
            made.add(people.open_workshop(session, time_zone="UTC", currency="EUR").workshop_id)

    threads = [threading.Thread(target=ask) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(made) == 1


def test_the_pages_of_the_framework_are_off(visitor: httpx.Client, client: httpx.Client) -> None:
    for path in ("/docs", "/redoc", "/openapi.json"):
        assert (visitor.get(path).status_code, client.get(path).status_code) == (404, 404)


def test_the_description_is_openapi_3_1_and_names_every_problem(document: dict[str, Any], client: httpx.Client) -> None:
    assert document["openapi"].startswith("3.1.")
    assert client.get("/api/v1/openapi.json").json() == document
    assert not [name for name in document["components"]["schemas"] if name.endswith("ValidationError")]
    for path, operations in document["paths"].items():
        for method, operation in operations.items():
            refused = {status: answer for status, answer in operation["responses"].items() if status >= "400"}
            assert {"401", "421", "500", "503"} <= set(refused), (method, path)
            assert all(set(answer["content"]) == {"application/problem+json"} for answer in refused.values())
            assert all("/problems/" in answer["description"] for answer in refused.values())


def test_every_operation_has_a_name_of_verb_and_noun_and_a_summary(document: dict[str, Any]) -> None:
    operations = [each for path in document["paths"].values() for each in path.values()]
    names = [operation["operationId"] for operation in operations]
    assert len(names) == len(set(names))
    assert [name for name in names if "_" not in name] == []
    assert [operation["operationId"] for operation in operations if not operation.get("summary")] == []
