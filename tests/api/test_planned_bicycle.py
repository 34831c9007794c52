"""A whole bicycle before anything is bought: what meets, what to measure, what to buy, what a candidate changes."""

from typing import Any

import httpx
import pytest

from service.domain.procedure import Library
from tests.api.words import API, ONE_DATABASE, got, ok
from tests.planned_bicycle import (
    HAND_SUM_MINOR,
    NOT_MEASURED,
    PRICES,
    TO_BUY,
    TO_BUY_MINOR,
    WITHOUT_PRICE,
    Planned,
)

pytestmark = ONE_DATABASE


@pytest.fixture
def planned(client: httpx.Client, library: Library) -> Planned:
    """The bicycle, stored."""
    return Planned(client, library)


def test_a_planned_bicycle_tells_all_in_one_answer(planned: Planned, client: httpx.Client) -> None:
    assert len(planned.parts) == 35
    path = f"{API}/builds/{planned.build}/what-if"
    told = ok(client.post(path, json={"chosen": [{"part": planned.closer}]}))
    now, then = told["before"], told["after"]
    check_measure(now["measure"], planned)
    check_cost(now["cost"], then["cost"])
    # the part off its maker's recommendation needs care, and would not with the other candidate
    over = next(each for each in told["findings"] if each["join"] == "rear-derailleur.largest-sprocket@rear")
    assert (over["before"]["answer"], over["after"]["answer"]) == ("needs care", "meets")
    assert "teeth over" in over["before"]["say"]
    assert now["gears"]["not_enough"] == ["rear derailleur, largest sprocket: 36 wanted, 34 taken"]
    assert then["gears"]["not_enough"] == []
    # 40 x 11 is the highest gear of both; the lowest 40 x 36 against 40 x 34
    assert now["gears"]["highest_m"] == then["gears"]["highest_m"]
    assert then["gears"]["lowest_m"] / now["gears"]["lowest_m"] == pytest.approx(36 / 34)
    assert now["gears"]["range_percent"] == pytest.approx(36 / 11 * 100)
    assert then["mass"]["mass_g"] - now["mass"]["mass_g"] == pytest.approx(355 - 420)
    assert now["findings"]["conflicts"] == 0
    assert told["small_parts"] == [
        {"what": "longer gap screw", "unit": "piece", "amount_before": 1, "amount_after": 0, "undecided": False}
    ]


def check_measure(asked: list[dict[str, Any]], planned: Planned) -> None:
    """The six facts that nobody measured are asked for, each with how, and for which joins."""
    by_fact = {(each["part"], each["field"]): each for each in asked}
    wanted = {(planned.parts[key], field) for key, field in NOT_MEASURED}
    assert wanted <= by_fact.keys()
    assert all(by_fact[fact]["how"] and by_fact[fact]["settles"] for fact in wanted)


def check_cost(now: dict[str, Any], then: dict[str, Any]) -> None:
    """The sum is that of hand, and names what it leaves out; the candidate costs 31.50 in place of 28.00."""
    assert now["total"] == {"minor": HAND_SUM_MINOR, "currency": "EUR"}
    assert now["to_buy"] == {"minor": TO_BUY_MINOR, "currency": "EUR"}
    assert then["total"]["minor"] == HAND_SUM_MINOR - 2800 + 3150
    assert then["to_buy"]["minor"] == TO_BUY_MINOR + 3150
    assert [key for key in PRICES if f"The {key}" in now["leaves_out"]] == [
        key for key in PRICES if key in WITHOUT_PRICE
    ]
    assert "Pedals" in now["leaves_out"]  # nothing is chosen there yet


def test_what_else_to_buy_is_told_by_kind_and_by_visit(planned: Planned, client: httpx.Client) -> None:
    told = got(client, f"/builds/{planned.build}/shopping")
    names = {part: key for key, part in planned.parts.items()}
    assert {names[each["part"]] for each in told["parts"]} == set(TO_BUY)
    assert told["price"] == {"minor": TO_BUY_MINOR, "currency": "EUR"}
    assert {"pedals", "headset", "grips"} <= {each["slot"] for each in told["missing"]}
    assert {"sealant", "longer gap screw"} <= {each["what"] for each in told["small_parts"]}
    assert "grease" in {each["what"] for each in told["consumables"]}
    assert all(each["amount"] > 0 for each in told["consumables"])
    assert told["bench_known"] is False
    first = told["visits"][0]
    assert "frame" in {each["category"] for each in first["bring"]}
    assert first["steps"] != []
    kits = {tuple(tool["tool"] for tool in each["tools"]): each for each in told["instead_of_a_shop"]}
    assert kits["tension-meter",]["steps"] != []
    needed = next(each for each in told["tools"] if each["tool"] == "hex" and each["size"])
    assert needed["steps"] != []
    ok(client.put(f"{API}/tools/hex:{needed['size']}"), 204)
    owned = got(client, f"/builds/{planned.build}/shopping")
    assert ("hex", needed["size"]) not in {(each["tool"], each["size"]) for each in owned["tools"]}
    assert owned["bench_known"] is True
