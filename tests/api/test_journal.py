"""The journal: every change leaves a line, and a request can be undone whole."""

from typing import Any

import httpx
from sqlmodel import select

from service.ids import new_id
from service.tables import Journal
from tests.conftest import Served


def _build(client: httpx.Client) -> str:
    found: str = client.post("/api/v1/builds", json={"name": "Undone"}).json()["id"]
    return found


def _part(client: httpx.Client, category: str, **more: Any) -> str:
    found: str = client.post("/api/v1/parts", json={"category": category, "name": category, **more}).json()["id"]
    return found


def _last_request(client: httpx.Client) -> str:
    found: str = client.get("/api/v1/journal?limit=1").json()["items"][0]["request"]
    return found


def test_a_ride_leaves_a_line_and_undoing_it_takes_the_ride_away(client: httpx.Client) -> None:
    build = _build(client)
    ride = str(new_id())
    client.post("/api/v1/rides", json={"id": ride, "build": build, "day": "2026-05-01", "km": 12})
    line = client.get(f"/api/v1/journal?noun=ride&id={ride}").json()["items"][0]
    assert (line["verb"], line["after"]["metres"]) == ("added", 12_000)
    assert client.post(f"/api/v1/journal/{line['request']}/undo").json() == {"lines": 1}
    assert client.get(f"/api/v1/rides/{ride}").status_code == 404


def test_an_undone_ride_stays_away_when_the_phone_sends_it_again(client: httpx.Client) -> None:
    build = _build(client)
    ride = {"id": str(new_id()), "build": build, "day": "2026-05-01", "km": 12}
    client.post("/api/v1/rides", json=ride)
    client.post(f"/api/v1/journal/{_last_request(client)}/undo")
    assert client.post("/api/v1/rides", json=ride).status_code == 410


def test_undoing_a_swap_puts_the_old_part_back_where_it_was(client: httpx.Client) -> None:
    build, old = _build(client), _part(client, "chain")
    first = client.post(f"/api/v1/builds/{build}/fittings", json={"part": old, "day": "2026-01-02"}).json()
    swapped = client.post(f"/api/v1/builds/{build}/swaps", json={"off": old, "same_again": True})
    assert swapped.status_code == 201, swapped.text
    assert client.post(f"/api/v1/journal/{_last_request(client)}/undo").status_code == 200
    on = client.get(f"/api/v1/parts/{old}").json()["on"]
    assert (on["build"], on["fitting"]) == (build, first["id"])
    assert client.get(f"/api/v1/parts/{swapped.json()['part']}").status_code == 404


def test_undoing_a_removal_brings_the_row_back_whole(client: httpx.Client) -> None:
    build = _build(client)
    ride = client.post("/api/v1/rides", json={"build": build, "day": "2026-05-01", "km": 7.5, "note": "to town"}).json()
    client.delete(f"/api/v1/rides/{ride['id']}", headers={"If-Match": f'"{ride["version"]}"'})
    client.post(f"/api/v1/journal/{_last_request(client)}/undo")
    back = client.get(f"/api/v1/rides/{ride['id']}").json()
    assert {**back, "version": 0} == {**ride, "version": 0}


def test_a_change_that_moved_on_is_not_undone(client: httpx.Client) -> None:
    part = _part(client, "chain")
    client.patch(f"/api/v1/parts/{part}", json={"name": "first"}, headers={"If-Match": "*"})
    request = _last_request(client)
    client.patch(f"/api/v1/parts/{part}", json={"name": "second"}, headers={"If-Match": "*"})
    refused = client.post(f"/api/v1/journal/{request}/undo")
    assert (refused.status_code, client.get(f"/api/v1/parts/{part}").json()["name"]) == (409, "second")


def test_a_request_of_another_workshop_is_not_found(client: httpx.Client, service: Served) -> None:
    assert client.post(f"/api/v1/journal/{new_id()}/undo").status_code == 404
    assert service.who.may == "own"


def test_the_journal_keeps_no_secret(client: httpx.Client, service: Served) -> None:
    assert client.get("/api/v1/me").status_code == 200
    with service.database.reading() as session:
        lines = [(line.noun, str(line.after)) for line in session.scalars(select(Journal))]
    assert "device" in {noun for noun, _ in lines}
    assert not [noun for noun, after in lines if "secret_hash" in after]
