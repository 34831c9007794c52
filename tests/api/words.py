"""What the tests of the API say over HTTP, in a few words each."""

from datetime import UTC, datetime, timedelta
from typing import Any

import httpx
import pytest

API = "/api/v1"
ONE_DATABASE = pytest.mark.parametrize("database", ["sqlite"], indirect=True)
"""For what is refused or described before any database is asked: one kind of it is enough."""
NOON = datetime(2026, 5, 4, 12, tzinfo=UTC)


def ok(answer: httpx.Response, status: int = 200) -> Any:
    """The body of an answer of this status."""
    assert answer.status_code == status, answer.text
    return answer.json() if answer.content else None


def refused(answer: httpx.Response, status: int, *words: str, pointer: str | None = None) -> dict[str, Any]:
    """The problem document of a refusal that says all these words, with a pointer to the wrong field."""
    problem = ok(answer, status)
    assert answer.headers["content-type"] == "application/problem+json"
    said = problem["detail"] + " ".join(each["detail"] for each in problem.get("errors", []))
    assert [word for word in words if word not in said] == [], said
    if pointer is not None:
        assert pointer in [each["pointer"] for each in problem.get("errors", [])], problem
    return dict(problem)


def made(client: httpx.Client, path: str, **sent: Any) -> dict[str, Any]:
    """What a POST stored."""
    return dict(ok(client.post(API + path, json=sent), 201))


def got(client: httpx.Client, path: str, **query: Any) -> Any:
    """What a GET answers."""
    return ok(client.get(API + path, params=query))


def build(client: httpx.Client, name: str = "Grey all-road", **sent: Any) -> str:
    """A build's id."""
    return str(made(client, "/builds", name=name, **sent)["id"])


def part(client: httpx.Client, category: str, name: str = "", **sent: Any) -> str:
    """A part's id."""
    return str(made(client, "/parts", category=category, name=name or category, **sent)["id"])


def specs(**facts: float | str | list[float]) -> dict[str, Any]:
    """Facts as they are sent: numbers or words."""
    kinds = {float: "number", int: "number", str: "words", list: "numbers"}
    return {key: {kinds[type(fact)]: fact} for key, fact in facts.items()}


def fit(client: httpx.Client, on: str, part_id: str, place: str = "", **sent: Any) -> dict[str, Any]:
    """A part on a build, or in a part."""
    return made(client, f"/builds/{on}/fittings", part=part_id, place=place, **sent)


def plan(client: httpx.Client, on: str, part_id: str, place: str = "", **sent: Any) -> dict[str, Any]:
    """A part chosen for a place."""
    return dict(ok(client.put(f"{API}/builds/{on}/plan/{part_id}", json={"place": place, **sent})))


def ride(client: httpx.Client, on: str, km: float, at: datetime | str, **sent: Any) -> dict[str, Any]:
    """A ride, at an instant or on a day."""
    when = {"day": at} if isinstance(at, str) else {"started_at": at.isoformat()}
    return made(client, "/rides", build=on, km=km, **when, **sent)


def km_of(client: httpx.Client, part_id: str) -> float:
    """What a part has run for certain, km."""
    return float(got(client, f"/parts/{part_id}")["km"]["least"])


def start(client: httpx.Client, on: str, job: str = "assemble", **sent: Any) -> dict[str, Any]:
    """A started job, drawn up."""
    return made(client, f"/builds/{on}/checklists", job=job, **sent)


def step_of(checklist: dict[str, Any], step_id: str) -> dict[str, Any]:
    """One step of a checklist."""
    [found] = [step for step in checklist["steps"] if step["id"] == step_id]
    return dict(found)


def tick(client: httpx.Client, checklist: str, step: dict[str, Any], **sent: Any) -> httpx.Response:
    """Ticks a step as it was shown."""
    body = {"fingerprint": step["fingerprint"], **sent}
    return client.put(f"{API}/checklists/{checklist}/marks/{step['id']}", json=body)


def days(number: float) -> timedelta:
    """So many days."""
    return timedelta(days=number)
