"""Accepting a conflict with a reason: what may be accepted, for what it counts, what it adds, and taking it back."""

from typing import Any

import httpx
import pytest

from tests.api.others import member, stranger
from tests.api.words import API, build, fit, got, made, ok, part, plan, refused, specs, start
from tests.conftest import Served

TOE = "crankset.toe-room"
WHY = "Tried it: my feet are small."


class Tight:
    """A bicycle whose pedal comes 39 mm near its front wheel (a conflict that may be accepted): 560 − 170 − 351."""

    def __init__(self, client: httpx.Client, *, planned: bool = False, arm_mm: float = 170) -> None:
        self.client, self.on = client, build(client)
        self.frame = part(client, "frame", specs=specs(front_centre_mm=560, head_tube_length_mm=150))
        self.crank = part(client, "crankset", specs=specs(arm_length_mm=arm_mm))
        self.tyre = part(client, "tyre", specs=specs(bsd_mm=622, width_marked_mm=40))
        fit(client, self.on, self.frame)
        if planned:
            plan(client, self.on, self.crank)
        else:
            fit(client, self.on, self.crank)
        fit(client, self.on, self.tyre, "front")

    def finding(self, join: str = TOE) -> dict[str, Any]:
        (met,) = [each for each in got(self.client, f"/builds/{self.on}/findings")["items"] if each["join"] == join]
        return dict(met)

    def accept(self, join: str = TOE, **instead: Any) -> httpx.Response:
        sent = {"reason": WHY, "fingerprint": self.finding(join)["fingerprint"]} | instead
        sent = {key: said for key, said in sent.items() if said is not None}
        return self.client.put(f"{API}/builds/{self.on}/findings/{join}/acceptance", json=sent)

    def take_back(self, join: str = TOE) -> httpx.Response:
        return self.client.delete(f"{API}/builds/{self.on}/findings/{join}/acceptance")

    def counts(self) -> dict[str, int]:
        return dict(got(self.client, f"/builds/{self.on}")["findings"])

    def undo(self) -> None:
        (line,) = got(self.client, "/journal", noun="acceptance", limit=1)["items"]
        ok(self.client.post(f"{API}/journal/{line['request']}/undo"))


def steps(client: httpx.Client, checklist: str) -> set[str]:
    return {each["id"] for each in got(client, f"/checklists/{checklist}")["steps"]}


def test_a_conflict_is_accepted_with_a_reason_and_no_longer_counts_as_one(client: httpx.Client) -> None:
    on = Tight(client)
    before = on.counts()
    shown = on.finding()
    assert (shown["answer"], shown["acceptable"], shown["acceptance"]) == ("conflicts", True, None)
    assert shown["say"].startswith("39 mm from pedal to front wheel.")
    assert shown["accepting_adds"] == "crankset.toe-again"
    accepted = ok(on.accept())
    assert accepted["acceptance"]["reason"] == WHY
    assert on.finding() == accepted
    assert on.counts() == before | {"conflicts": before["conflicts"] - 1, "accepted": before["accepted"] + 1}


def test_accepting_adds_its_look_to_the_checklist_and_taking_it_back_takes_it_off(client: httpx.Client) -> None:
    on = Tight(client)
    job = str(start(client, on.on)["id"])
    assert "crankset.toe-again" not in steps(client, job)
    ok(on.accept())
    assert "crankset.toe-again" in steps(client, job)
    ok(on.take_back(), 204)
    assert "crankset.toe-again" not in steps(client, job)
    assert on.finding()["acceptance"] is None
    refused(on.take_back(), 404, "acceptance of crankset.toe-room")


@pytest.mark.parametrize(
    ("reason", "say"), [(None, "needed"), ("", "character"), ("   ", "character"), ("x" * 401, "400")]
)
def test_a_reason_is_asked_for(reason: str | None, say: str, client: httpx.Client) -> None:
    on = Tight(client)
    refused(on.accept(reason=reason), 422, pointer="/reason")
    assert on.counts()["accepted"] == 0


def test_a_conflict_of_the_steering_is_never_accepted(client: httpx.Client) -> None:
    on = Tight(client)
    fit(client, on.on, part(client, "fork", specs=specs(steerer_length_mm=160, steerer_material="steel")))
    headset = specs(steerer_kind="threadless", stack_upper_mm=10, stack_lower_mm=10)
    fit(client, on.on, part(client, "headset", specs=headset))
    fit(client, on.on, part(client, "stem", specs=specs(clamp_height_mm=40)))
    shown = on.finding("headset.stack")
    assert (shown["answer"], shown["acceptable"]) == ("conflicts", False)
    refused(on.accept("headset.stack"), 409, "never accepted", "too short for a full clamp", "Change a part")
    assert on.counts()["accepted"] == 0


@pytest.mark.parametrize(("arm_mm", "answer"), [(100, "meets"), (150, "needs care"), (None, "not measured yet")])
def test_only_a_conflict_is_accepted(arm_mm: float | None, answer: str, client: httpx.Client) -> None:
    on = Tight(client)
    centre = {"meets": 660.0, "needs care": 570.0}.get(answer)
    if centre is None:
        ok(client.delete(f"{API}/parts/{on.frame}/specs/front_centre_mm"), 204)
    else:
        ok(client.put(f"{API}/parts/{on.frame}/specs/front_centre_mm", json={"number": centre}))
        ok(client.put(f"{API}/parts/{on.crank}/specs/arm_length_mm", json={"number": arm_mm}))
    assert on.finding()["answer"] == answer
    refused(on.accept(), 409, answer, "Only a conflict is accepted")


def test_it_is_for_the_parts_and_facts_that_were_seen(client: httpx.Client) -> None:
    on = Tight(client)
    seen = on.finding()["fingerprint"]
    ok(client.put(f"{API}/parts/{on.crank}/specs/arm_length_mm", json={"number": 172.5}))
    problem = refused(on.accept(fingerprint=seen), 409, "changed", pointer="/fingerprint")
    assert problem["type"] == "/problems/parts-changed"
    assert problem["current"]["fingerprint"] == on.finding()["fingerprint"] != seen


def test_another_fact_or_another_fitting_makes_it_a_conflict_again(client: httpx.Client) -> None:
    on = Tight(client)
    ok(on.accept())
    ok(client.put(f"{API}/parts/{on.crank}/specs/arm_length_mm", json={"number": 172.5}))
    assert on.finding()["acceptance"] is None
    ok(client.put(f"{API}/parts/{on.crank}/specs/arm_length_mm", json={"number": 170}))
    assert on.finding()["acceptance"] is not None
    other = part(client, "crankset", specs=specs(arm_length_mm=170))
    made(client, f"/builds/{on.on}/swaps", off=on.crank, on=other)
    assert (on.finding()["answer"], on.finding()["acceptance"]) == ("conflicts", None)


def test_what_was_accepted_in_the_plan_stays_accepted_when_it_is_fitted(client: httpx.Client) -> None:
    on = Tight(client, planned=True)
    ok(on.accept())
    fit(client, on.on, on.crank)
    assert on.finding()["acceptance"]["reason"] == WHY


def test_accepted_twice_is_once_and_another_reason_replaces_the_first(client: httpx.Client, service: Served) -> None:
    on = Tight(client)
    first = ok(on.accept())
    assert ok(on.accept()) == first
    assert ok(on.accept(reason="Shorter shoes."))["acceptance"]["reason"] == "Shorter shoes."
    assert on.counts()["accepted"] == 1
    lines = got(client, "/journal", noun="acceptance")["items"]
    assert [each["verb"] for each in lines] == ["changed", "added"]


def test_accepting_and_taking_back_can_be_undone(client: httpx.Client) -> None:
    on = Tight(client)
    ok(on.accept())
    on.undo()
    assert on.finding()["acceptance"] is None
    ok(on.accept())
    ok(on.take_back(), 204)
    on.undo()
    assert on.finding()["acceptance"]["reason"] == WHY


def test_nobody_accepts_what_is_not_there_or_not_theirs(client: httpx.Client, service: Served) -> None:
    on = Tight(client)
    sent = {"reason": WHY, "fingerprint": on.finding()["fingerprint"]}
    findings = f"{API}/builds/{on.on}/findings"
    path = f"{findings}/{TOE}/acceptance"
    refused(client.put(f"{findings}/crankset.nothing/acceptance", json=sent), 404, "crankset.nothing")
    ok(on.accept())
    for token, status in ((member(service, "read"), 403), (stranger(service), 404)):
        with service.client(token) as other:
            refused(other.put(path, json=sent), status)
            refused(other.delete(path), status)
    assert on.counts()["accepted"] == 1
