"""Parts over HTTP: facts, makers' figures, lists, and what is refused with what would be right."""

from typing import Any
from uuid import uuid4

import httpx
import pytest

from tests.api.others import member
from tests.api.words import API, NOON, ONE_DATABASE, build, days, fit, got, km_of, made, ok, part, refused, ride, specs
from tests.conftest import Served


def test_a_part_keeps_its_facts_and_says_how_they_are_known(client: httpx.Client) -> None:
    sent = {"inner_mm": {"number": 2.18, "known_by": "printed"}, "links_count": {"number": 114}}
    shown = made(client, "/parts", category="chain", name="Chain", tag="B7", origin="second-hand", specs=sent)
    assert shown["specs"]["inner_mm"] | {"note": ""} == {
        "number": 2.18, "words": None, "numbers": None, "choices": None, "known_by": "printed", "note": "",
    }  # fmt: skip
    assert (shown["km"], shown["km_before"], shown["on"]) == ({"least": 0.0, "known": False}, None, None)
    assert got(client, f"/parts/{shown['id']}") == shown


def test_an_unknown_category_is_refused_with_those_there_are(client: httpx.Client) -> None:
    answer = client.post(f"{API}/parts", json={"category": "chian", "name": "Chain"})
    refused(answer, 400, "chian", "chain", pointer="/category")


@ONE_DATABASE
def test_parts_of_an_unknown_category_are_refused_and_not_none(client: httpx.Client) -> None:
    refused(client.get(f"{API}/parts?category=chian"), 400, "chian", "chain", pointer="/category")
    assert got(client, "/parts", category="chain")["items"] == []


@ONE_DATABASE
@pytest.mark.parametrize("day", ["2026-02-30", "2026-5-2", "tomorrow", 20260502, True, []])
def test_a_day_that_is_none_is_told_with_one(client: httpx.Client, day: object) -> None:
    sent = {"category": "chain", "name": "Chain", "made_on": day}
    refused(client.post(f"{API}/parts", json=sent), 422, "should be a day such as 2026-", pointer="/made_on")


def test_an_unknown_spec_is_refused_with_those_there_are(client: httpx.Client) -> None:
    answer = client.post(f"{API}/parts", json={"category": "chain", "name": "Chain", "specs": specs(colour="grey")})
    refused(answer, 400, "colour", "links_count", pointer="/specs/colour")


def test_a_choice_that_does_not_exist_is_refused_with_those_there_are(client: httpx.Client) -> None:
    sent = {"category": "cable-disc-caliper", "name": "Calliper", "specs": specs(mount="flatt")}
    refused(client.post(f"{API}/parts", json=sent), 400, "flatt", "flat", "post", pointer="/specs/mount")


def test_text_where_a_number_belongs_is_refused(client: httpx.Client) -> None:
    sent = {"category": "chain", "name": "Chain", "specs": specs(links_count="many")}
    refused(client.post(f"{API}/parts", json=sent), 400, "number", pointer="/specs/links_count")
    sent["specs"] = {"links_count": {"number": "114"}}
    refused(client.post(f"{API}/parts", json=sent), 422, "number", pointer="/specs/links_count/number")
    assert got(client, "/parts")["items"] == []


@ONE_DATABASE
@pytest.mark.parametrize("number", ["NaN", "Infinity", "-Infinity", "1e400", "1e7"])
def test_a_number_that_is_none_or_absurd_is_refused(client: httpx.Client, number: str) -> None:
    body = f'{{"category": "chain", "name": "Chain", "specs": {{"inner_mm": {{"number": {number}}}}}}}'
    answer = client.post(f"{API}/parts", content=body, headers={"Content-Type": "application/json"})
    refused(answer, 422, pointer="/specs/inner_mm/number")


def test_an_unlikely_number_is_asked_for_again_and_taken_when_sure(client: httpx.Client) -> None:
    rotor = part(client, "rotor")
    path = f"{API}/parts/{rotor}/specs/diameter_mm"
    asked = refused(client.put(path, json={"number": 16}), 409, "120 to 240", "sure", pointer="/specs/diameter_mm")
    assert (asked["type"], asked["confirm"]) == ("/problems/asks", "sure")
    assert got(client, f"/parts/{rotor}")["specs"] == {}
    assert ok(client.put(path, json={"number": 16, "sure": True}))["specs"]["diameter_mm"]["number"] == 16


def test_a_fact_is_replaced_and_taken_back(client: httpx.Client) -> None:
    bottom = part(client, "bottom-bracket", specs=specs(shell_widths_mm=[68, 73]))
    assert got(client, f"/parts/{bottom}")["specs"]["shell_widths_mm"]["numbers"] == [68, 73]
    path = f"{API}/parts/{bottom}/specs/shell_widths_mm"
    assert ok(client.put(path, json={"numbers": [68]}))["specs"]["shell_widths_mm"]["numbers"] == [68]
    refused(client.put(path, json={"number": 68}), 400, "list", pointer="/specs/shell_widths_mm")
    ok(client.delete(path), 204)
    assert got(client, f"/parts/{bottom}")["specs"] == {}
    refused(client.delete(path), 404, "shell_widths_mm")


def test_a_makers_figure_is_for_a_fastening_of_the_part(client: httpx.Client) -> None:
    stem = part(client, "stem")
    sent = {"high_nm": 5.0, "as_printed": "max 5 N·m"}
    path = f"{API}/parts/{stem}/torque-figures"
    shown = ok(client.put(f"{path}/steerer-clamp", json=sent))["torque_figures"]
    assert shown["stem.steerer-clamp"] == sent | {"low_nm": None, "dressing": None}
    refused(client.put(f"{path}/mount-bolt", json=sent), 400, "steerer-clamp")
    backwards = client.put(f"{path}/steerer-clamp", json={"low_nm": 6, "high_nm": 5})
    refused(backwards, 422, "low_nm: is above high_nm", pointer="/low_nm")
    ok(client.delete(f"{path}/steerer-clamp"), 204)
    refused(client.delete(f"{path}/steerer-clamp"), 404)


def test_a_makers_figure_out_of_all_reason_is_asked_for_again(client: httpx.Client) -> None:
    stem = part(client, "stem")
    path = f"{API}/parts/{stem}/torque-figures/steerer-clamp"
    asked = refused(client.put(path, json={"high_nm": 50}), 409, "2 to 10.35 N·m", '"sure": true', pointer="/high_nm")
    assert (asked["type"], asked["confirm"]) == ("/problems/asks", "sure")
    assert got(client, f"/parts/{stem}")["torque_figures"] == {}
    shown = ok(client.put(path, json={"high_nm": 50, "sure": True}))["torque_figures"]["stem.steerer-clamp"]
    assert shown == {"low_nm": None, "high_nm": 50, "as_printed": "", "dressing": None}
    refused(client.put(path, json={"high_nm": 0.5}), 409, pointer="/high_nm")
    sent: dict[str, Any] = {
        "category": "stem",
        "name": "Stem",
        "torque_figures": {"handlebar.faceplate": {"high_nm": 50}},
    }
    pointer = "/torque_figures/handlebar.faceplate/high_nm"
    refused(client.post(f"{API}/parts", json=sent), 409, "face plate", pointer=pointer)
    sent["torque_figures"]["handlebar.faceplate"]["sure"] = True
    ok(client.post(f"{API}/parts", json=sent), 201)


def test_a_fastening_of_other_parts_is_refused_with_all_that_are_taken(client: httpx.Client) -> None:
    path = f"{API}/parts/{part(client, 'stem')}/torque-figures"
    refused(client.put(f"{path}/mount-bolt", json={"high_nm": 5}), 400, "stem.steerer-clamp", "handlebar.faceplate")
    ok(client.put(f"{path}/handlebar.faceplate", json={"high_nm": 5}))


def test_a_tag_is_on_one_box(client: httpx.Client) -> None:
    part(client, "chain", "Old chain", tag="B7")
    answer = client.post(f"{API}/parts", json={"category": "chain", "name": "New chain", "tag": "B7"})
    refused(answer, 409, "B7", "Old chain", pointer="/tag")


def test_another_currency_is_refused(client: httpx.Client) -> None:
    price = {"minor": 900, "currency": "GBP"}
    answer = client.post(f"{API}/parts", json={"category": "chain", "name": "Chain", "price": price})
    refused(answer, 400, "EUR", pointer="/price/currency")


def test_a_change_leaves_what_it_does_not_name_and_empties_with_null(client: httpx.Client) -> None:
    chain = part(client, "chain", "Chain", tag="B7", km_before=120.5)
    tag = client.get(f"{API}/parts/{chain}").headers["etag"]
    shown = ok(client.patch(f"{API}/parts/{chain}", json={"tag": None, "note": "oiled"}, headers={"If-Match": tag}))
    assert (shown["name"], shown["tag"], shown["note"], shown["km_before"]) == ("Chain", None, "oiled", 120.5)
    tag = f'"{shown["version"]}"'
    answer = client.patch(f"{API}/parts/{chain}", json={"name": None}, headers={"If-Match": tag})
    refused(answer, 422, "leave it out", pointer="/name")


def test_a_part_with_a_history_goes_but_is_not_removed(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    on, chain, loose = build(client), part(client, "chain"), part(client, "chain")
    fitting = fit(client, on, chain)["id"]
    anything = {"If-Match": "*"}
    refused(client.delete(f"{API}/parts/{chain}", headers=anything), 409, "gone")
    refused(client.patch(f"{API}/parts/{chain}", json={"state": "gone"}, headers=anything), 409, "take it off")
    service.now = NOON + days(1)
    ok(client.patch(f"{API}/fittings/{fitting}", json={"end_at": (NOON + days(0.5)).isoformat()}))
    gone = ok(client.patch(f"{API}/parts/{chain}", json={"state": "gone", "gone_how": "worn out"}, headers=anything))
    assert gone["gone_on"]
    refused(client.post(f"{API}/builds/{on}/fittings", json={"part": chain}), 409, "gone")
    ok(client.delete(f"{API}/parts/{loose}", headers=anything), 204)
    refused(client.get(f"{API}/parts/{loose}"), 404)


def test_parts_are_found_by_category_state_bin_and_fact(client: httpx.Client) -> None:
    on = build(client)
    thin, thick = (part(client, "seatpost", specs=specs(diameter_mm=size)) for size in (27.2, 31.6))
    tyre, ordered = part(client, "tyre"), part(client, "chain", state="ordered")
    fit(client, on, tyre, "front")

    def found(**query: object) -> set[str]:
        return {each["id"] for each in got(client, "/parts", **query)["items"]}

    assert found(category="seatpost") == {thin, thick}
    assert found(**{"spec.diameter_mm": "27,2"}) == {thin}
    assert found(state="ordered") == {ordered}
    assert tyre not in found(in_bin=True)
    assert tyre in found(in_bin=False)
    [line] = [each for each in got(client, "/parts")["items"] if each["id"] == tyre]
    assert line["on_build"] == on  # through the wheel it sits in


def test_an_unknown_part_is_404_on_what_hangs_on_it(client: httpx.Client) -> None:
    nowhere = f"{API}/parts/{uuid4()}"
    for answer in (
        client.get(nowhere),
        client.get(f"{nowhere}/due"),
        client.put(f"{nowhere}/specs/inner_mm", json={"number": 2.2}),
        client.delete(nowhere, headers={"If-Match": "*"}),
    ):
        refused(answer, 404, "There is no part")


def test_what_a_part_ran_counts_its_former_life(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    on, chain = build(client), part(client, "chain", origin="second-hand", km_before=1000)
    fit(client, on, chain, at=NOON.isoformat())
    service.now = NOON + days(3)
    ride(client, on, 40.5, NOON + days(1))
    assert got(client, f"/parts/{chain}")["km"] == {"least": 1040.5, "known": True}
    assert km_of(client, part(client, "chain", origin="owned")) == 0


def test_due_of_one_part_is_what_concerns_it(client: httpx.Client) -> None:
    on, chain = build(client), part(client, "chain")
    fit(client, on, chain)
    fit(client, on, part(client, "frame"))
    tasks = {each["task"] for each in got(client, f"/parts/{chain}/due")["items"]}
    assert "chain.lubricate" in tasks
    assert all(task.startswith("chain.") for task in tasks)


def test_a_reader_sees_no_money(service: Served, client: httpx.Client) -> None:
    price = {"minor": 900, "currency": "EUR"}
    part = ok(client.post(f"{API}/parts", json={"category": "chain", "name": "Chain", "price": price}), 201)
    assert part["price"] == price
    with service.client(member(service, "read")) as reader:
        assert ok(reader.get(f"{API}/parts/{part['id']}"))["price"] is None
