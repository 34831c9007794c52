"""What somebody hostile, or a broken client, asks of plans and lists: an answer or a sentence, never a 500."""

from typing import Any

import httpx
import pytest

from service.api.parts import MOST_FACTS
from service.schemas.fields import LARGEST_ROW_NUMBER
from tests.api.words import API, ONE_DATABASE, build, got, made, ok, part, plan, refused, specs

MOST = {"minor": LARGEST_ROW_NUMBER, "currency": "EUR"}


def test_sums_of_the_largest_amounts_are_shown_whole(client: httpx.Client) -> None:
    """No column keeps a sum; by hand: twice the largest amount, then thrice with the supposed part."""
    on = build(client)
    for category in ("seatpost", "saddle"):
        plan(client, on, part(client, category, price=MOST, state="planned"))
    assert got(client, f"/builds/{on}/shopping")["price"]["minor"] == 2 * LARGEST_ROW_NUMBER
    made(client, f"/builds/{on}/expenses", kind="shop", amount=MOST)
    supposed = {"parts": [{"category": "stem", "place": "", "price": MOST}]}
    told = ok(client.post(f"{API}/builds/{on}/what-if", json=supposed))
    assert [told[side]["cost"]["total"]["minor"] for side in ("before", "after")] == [
        3 * LARGEST_ROW_NUMBER,
        4 * LARGEST_ROW_NUMBER,
    ]
    sides = ok(client.post(f"{API}/builds/compare", json={"sides": [{"build": on}, {"build": on}]}))["sides"]
    assert sides[0]["cost"] == sides[1]["cost"] == told["before"]["cost"]


@pytest.mark.parametrize("times", [MOST_FACTS + 1, 1500])
def test_parts_are_not_looked_for_by_facts_without_end(client: httpx.Client, times: int) -> None:
    """A thousand of them are a deeper expression than SQLite takes."""
    asked = ["spec.length_mm=350"] * times
    refused(client.get(f"{API}/parts?{'&'.join(asked)}"), 422, f"at most {MOST_FACTS}", pointer="/spec.KEY")
    post = part(client, "seatpost", specs=specs(length_mm=350))
    most = client.get(f"{API}/parts?{'&'.join(asked[:MOST_FACTS])}")
    assert [each["id"] for each in ok(most)["items"]] == [post]


def test_a_label_is_found_as_it_stands_there(client: httpx.Client) -> None:
    belt = part(client, "belt", specs=specs(family="Größe ÖL 5"))
    for asked in ("Größe ÖL 5", "GRößE ÖL 5"):
        assert [each["id"] for each in got(client, "/parts", **{"spec.family": asked})["items"]] == [belt]


@ONE_DATABASE
def test_a_spoke_without_a_length_is_refused(client: httpx.Client) -> None:
    sent: dict[str, Any] = {"hole_circle_mm": 0.1, "flange_offset_mm": 0, "effective_rim_mm": 1, "spoke_hole_mm": 6}
    answer = client.post(f"{API}/calculations/spoke-length", json=sent | {"spokes_count": 8, "crosses": 0})
    refused(answer, 400, "no spoke goes between them", pointer="/effective_rim_mm")


@ONE_DATABASE
def test_a_long_circle_is_told_in_short(client: httpx.Client) -> None:
    steps = [{"key": f"{i}", "minutes": 1, "after": [f"{(i + 1) % 2000}"]} for i in range(2000)]
    problem = refused(client.post(f"{API}/calculations/critical-path", json={"steps": steps}), 400, "(1990 more)")
    assert len(problem["detail"]) < 200
    few = [{"key": f"{i}", "minutes": 1, "after": [f"{(i + 1) % 11}"]} for i in range(11)]
    problem = refused(
        client.post(f"{API}/calculations/critical-path", json={"steps": few}), 400, "wait for one another"
    )
    assert problem["detail"].count("→") == 11
    assert "more" not in problem["detail"]


@ONE_DATABASE
def test_an_id_that_is_taken_by_an_expense_says_so(client: httpx.Client) -> None:
    on = build(client)
    first = made(
        client, f"/builds/{on}/expenses", kind="shop", amount={"minor": 5, "currency": "EUR"}, day="2026-05-01"
    )
    other = {"id": first["id"], "kind": "tool", "amount": {"minor": 5, "currency": "EUR"}, "day": "2026-05-01"}
    refused(client.post(f"{API}/builds/{on}/expenses", json=other), 409, "another expense", pointer="/kind")
