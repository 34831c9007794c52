"""The same history entered in any order, with corrections, removals and retries, gives the same list of what is due.

A property of ours: no outside source.
"""

from collections.abc import Callable
from datetime import timedelta
from random import Random
from typing import Any
from uuid import UUID

import httpx
import pytest

from tests.api.words import API, NOON, ONE_DATABASE, build, fit, got, ok, part
from tests.conftest import Served

pytestmark = ONE_DATABASE
Send = Callable[[httpx.Client], None]


def an_id(number: int) -> str:
    """An id of a fixed time, so that each order gives the rows the same ones."""
    return str(UUID(int=(0x0199F2A17C007000 << 64) | (0x8000 << 48) | number))


class Garage:
    """A bicycle with the parts whose history is entered, and the rows of that history."""

    def __init__(self, client: httpx.Client) -> None:
        self.build = build(client, state="in service")
        self.parts = {name: part(client, name) for name in ("chain", "tyre", "wheel", "cassette", "cable-disc-caliper")}
        first = NOON.isoformat()
        fit(client, self.build, self.parts["chain"], at=first)
        fit(client, self.build, self.parts["wheel"], "rear", at=first)
        fit(client, self.build, self.parts["cable-disc-caliper"], "rear", at=first)
        for name in ("tyre", "cassette"):
            fit(client, self.build, self.parts[name], at=first, into_part=self.parts["wheel"])

    def history(self, first: int) -> list[tuple[str, dict[str, Any], dict[str, Any]]]:
        """Each row: where it is sent, what, and what is wrong in it at first; ids from `first`."""
        rows: list[tuple[str, dict[str, Any], dict[str, Any]]] = []
        for number in range(24):
            at = (NOON + timedelta(days=8 * number, hours=5)).isoformat()
            kind = ("dry", "wet", "gritty", "dry", "indoor")[number % 5]
            sent = {"build": self.build, "started_at": at, "km": 40 + number, "conditions": kind}
            rows.append(("/rides", sent, {"km": 4, "conditions": "dry"}))
        for number, reading in enumerate((0.1, 0.2, 0.35, 0.3, 0.5)):
            at = (NOON + timedelta(days=20 + 40 * number)).isoformat()
            sent = {"part": self.parts["chain"], "dimension": "elongation_percent", "reading": reading, "at": at}
            rows.append(("/wear-measurements", sent, {}))
        for number, (name, kind, tasks) in enumerate((
            ("chain", "lubricated", ["chain.lubricate"]),
            ("chain", "cleaned", ["chain.clean"]),
            ("cable-disc-caliper", "adjusted", []),
            ("tyre", "inspected", []),
        )):  # fmt: skip
            at = (NOON + timedelta(days=30 + 35 * number)).isoformat()
            sent = {"part": self.parts[name], "kind": kind, "at": at, "tasks": tasks}
            rows.append(("/maintenance-events", sent, {"at": NOON.isoformat()}))
        for number, km in enumerate((0, 500, 1500)):
            at = (NOON + timedelta(days=1 + 80 * number)).isoformat()
            rows.append(("/odometer-readings", {"build": self.build, "km": km, "at": at}, {}))
        return [(path, {"id": an_id(first + number), **sent}, wrong) for number, (path, sent, wrong) in enumerate(rows)]


def straight(row: tuple[str, dict[str, Any], dict[str, Any]]) -> list[Send]:
    """Sent once, as it is."""
    path, sent, _ = row
    return [lambda client: _post(client, path, sent, 201)]


def troubled(row: tuple[str, dict[str, Any], dict[str, Any]], chance: Random) -> list[Send]:
    """Sent twice; or wrongly at first and then corrected; or after another row that is taken back again."""
    path, sent, wrong = row
    once: list[Send] = [lambda client: _post(client, path, sent, 201)]
    if wrong and chance.random() < 0.5:
        first = {**sent, **wrong}
        return [lambda client: _post(client, path, first, 201), lambda client: _correct(client, path, sent, wrong)]
    if path != "/odometer-readings" and chance.random() < 0.5:
        other = {**sent, "id": an_id(chance.getrandbits(40) + 1000)}
        return [lambda client: _post(client, path, other, 201), *once, lambda client: _remove(client, path, other)]
    return [*once, lambda client: _post(client, path, sent, 200)]


def _post(client: httpx.Client, path: str, sent: dict[str, Any], status: int) -> None:
    ok(client.post(f"{API}{path}", json=sent | ({"sure": True} if path == "/rides" else {})), status)


def _correct(client: httpx.Client, path: str, sent: dict[str, Any], wrong: dict[str, Any]) -> None:
    right = {name: sent[name] for name in wrong}
    ok(client.patch(f"{API}{path}/{sent['id']}", json=right, headers={"If-Match": "*"}))


def _remove(client: httpx.Client, path: str, sent: dict[str, Any]) -> None:
    ok(client.delete(f"{API}{path}/{sent['id']}", headers={"If-Match": "*"}), 204)


def send_all(client: httpx.Client, steps: list[list[Send]], chance: Random | None) -> None:
    """Sends each row's steps, those of one row in their order, rows mixed as chance has it."""
    waiting = [list(each) for each in steps]
    while waiting:
        row = chance.choice(waiting) if chance else waiting[0]
        row.pop(0)(client)
        waiting = [each for each in waiting if each]


def due_list(client: httpx.Client, garage: Garage, first: int) -> list[dict[str, Any]]:
    """What is due; a round that a row of the history began is named by that row's number."""
    numbers = {an_id(first + number): str(number) for number in range(100)}
    items = got(client, "/due", build=garage.build)["items"][0]["items"]
    return [{**each, "cycle": numbers.get(each["cycle"], each["cycle"])} for each in items]


@pytest.mark.parametrize("seed", range(2))
def test_the_same_history_in_any_order_gives_the_same_due_list(
    seed: int, client: httpx.Client, service: Served
) -> None:
    service.now = NOON + timedelta(days=200)
    chance = Random(seed)
    garage = Garage(client)
    empty = due_list(client, garage, 0)
    send_all(client, [straight(row) for row in garage.history(0)], None)
    expected = due_list(client, garage, 0)
    assert expected != empty
    for path, sent, _ in garage.history(0):
        _remove(client, path, sent)
    assert due_list(client, garage, 0) == empty
    send_all(client, [troubled(row, chance) for row in garage.history(500)], chance)
    assert due_list(client, garage, 500) == expected
