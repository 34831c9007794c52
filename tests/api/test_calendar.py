"""The calendar feed over HTTP: who may read it, what stands in it, that it does not move by itself."""

from datetime import date
from typing import Any

import httpx
import icalendar

from tests.api.test_care import in_service
from tests.api.words import API, NOON, days, got, made, ok, ride
from tests.conftest import Served


def read(client: httpx.Client, address: str) -> dict[str, tuple[date, str]]:
    """Day and summary by UID, asked for without cookie or token."""
    answer = httpx.get(address)
    assert answer.status_code == 200
    assert answer.headers["content-type"] == "text/calendar; charset=utf-8"
    events: list[Any] = icalendar.Calendar.from_ical(answer.content).walk("VEVENT")
    found = {str(each["UID"]): (each["DTSTART"].dt, str(each["SUMMARY"])) for each in events}
    assert len(found) == len(events)
    return found


def of(found: dict[str, tuple[date, str]], words: str) -> list[str]:
    """The UIDs of what says these words."""
    return [uid for uid, (_, summary) in found.items() if words in summary]


def ridden(client: httpx.Client, service: Served) -> tuple[str, str, str]:
    """A build with a chain that is ridden for a month; the chain; the address of a calendar."""
    service.now = NOON
    on, [chain] = in_service(client, "chain")
    for week in range(1, 5):
        service.now = NOON + days(7 * week)
        ride(client, on, 40, service.now - days(1))
    ride(client, on, 5, NOON + days(4))  # so that there are three whole weeks
    address = made(client, "/calendars", title="Phone")["address"]
    return on, chain, address


def test_events_stand_on_saturdays_and_do_not_move_while_nothing_is_ridden(
    client: httpx.Client, service: Served
) -> None:
    _, _, address = ridden(client, service)
    first = read(client, address)
    assert first
    assert {day.weekday() for day, _ in first.values()} == {5}
    whole = httpx.get(address).content
    for later in (1, 2, 3, 10, 40):
        service.now = NOON + days(28 + later)
        assert httpx.get(address).content == whole


def test_an_occurrence_keeps_its_uid_over_a_ride_and_the_next_round_has_another(
    client: httpx.Client, service: Served
) -> None:
    on, chain, address = ridden(client, service)
    [before] = of(read(client, address), "Oil the chain")
    service.now = NOON + days(30)
    ride(client, on, 30, service.now - days(1))
    assert of(read(client, address), "Oil the chain") == [before]
    made(client, "/maintenance-events", part=chain, kind="lubricated", tasks=["chain.lubricate"])
    service.now = NOON + days(31)
    [after] = of(read(client, address), "Oil the chain")
    assert after != before


def test_an_unchanged_feed_is_not_sent_again(client: httpx.Client, service: Served) -> None:
    _, _, address = ridden(client, service)
    tag = httpx.get(address).headers["etag"]
    again = httpx.get(address, headers={"If-None-Match": tag})
    assert (again.status_code, again.content) == (304, b"")
    assert httpx.get(address, headers={"If-None-Match": '"other"'}).status_code == 200


def test_a_wrong_or_ended_address_opens_nothing_and_a_calendar_is_no_token(
    client: httpx.Client, service: Served
) -> None:
    _, _, address = ridden(client, service)
    secret = address.rpartition("/")[2].removesuffix(".ics")
    assert httpx.get(address.replace(secret, "x" * len(secret))).status_code == 404
    assert httpx.get(f"{service.address}{API}/me", headers={"Authorization": f"Bearer {secret}"}).status_code == 401
    token = httpx.get(f"{service.address}/calendar/{service.token}.ics")
    assert token.status_code == 404  # nor is a token a calendar
    [device] = [each for each in got(client, "/devices")["items"] if each["kind"] == "calendar"]
    assert (device["title"], device["may"], device["seen_on"]) == ("Phone", "read", None)
    ok(client.delete(f"{API}/devices/{device['id']}"), 204)
    assert httpx.get(address).status_code == 404
