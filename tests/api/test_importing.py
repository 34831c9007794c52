"""Rides out of files over HTTP: stored once however often they are sent, all or nothing, every row's problem told."""

import gzip
import hashlib
import hmac
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from datetime import timedelta
from http.client import HTTPConnection
from typing import Any

import httpx
import pytest
from sqlmodel import col, select

from service.records import journal
from service.tables import Journal, Ride, Workshop
from tests.api.words import API, NOON, ONE_DATABASE, build, got, ok, refused, ride
from tests.conftest import Served

SPACE = 'xmlns="http://www.topografix.com/GPX/1/1"'
SHEET = "Date,Distance (km)\n2026-05-01,42.1\n2026-05-02 07:05,18.25\n"


def track(*points: str) -> str:
    """A file with these points."""
    return f'<gpx version="1.1" {SPACE}><trk><trkseg>{"".join(points)}</trkseg></trk></gpx>'


def timed(at: str = "2026-05-03T22:05:00Z", then: str = "2026-05-03T22:06:00Z") -> str:
    """Some 111 m, 20 m up, in a minute before midnight by Greenwich, after it in Berlin."""
    return track(
        f'<trkpt lat="47.5" lon="8.7"><ele>400</ele><time>{at}</time></trkpt>',
        f'<trkpt lat="47.501" lon="8.7"><ele>420</ele><time>{then}</time></trkpt>',
    )


UNTIMED = track('<trkpt lat="47.5" lon="8.7"/>', '<trkpt lat="47.501" lon="8.7"/>')


def sent_track(client: httpx.Client, on: str, text: str = "", **query: Any) -> httpx.Response:
    """A track as a file is sent."""
    headers = {"Content-Type": "application/gpx+xml"}
    return client.post(
        f"{API}/rides/gpx", content=(text or timed()).encode(), headers=headers, params={"build": on, **query}
    )


def sent_sheet(client: httpx.Client, on: str, text: str | bytes = SHEET, **query: Any) -> httpx.Response:
    """A list as a file is sent."""
    data = text if isinstance(text, bytes) else text.encode()
    return client.post(
        f"{API}/imports/rides", content=data, headers={"Content-Type": "text/csv"}, params={"build": on, **query}
    )


def count(client: httpx.Client) -> int:
    """How many rides are stored."""
    return len(got(client, "/rides", limit=200)["items"])


# 0.001 degrees of latitude at 47.5: 111.18 m on WGS 84 (Karney's method, as the tests of the track have it)
def test_a_track_becomes_one_ride_and_no_place_of_it_is_kept(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    on = build(client)
    shown = ok(sent_track(client, on, conditions="gritty", loaded=True), 201)
    assert shown["km"] == pytest.approx(0.11118, abs=1e-3)
    assert (shown["climb_m"], shown["moving_s"], shown["source"]) == (20, 60, "gpx")
    assert (shown["started_at"], shown["day"]) == ("2026-05-03T22:05:00Z", "2026-05-04")  # Berlin's day
    assert (shown["conditions"], shown["loaded"], shown["descents"]) == ("gritty", True, False)
    with service.database.reading() as session:
        kept = str(session.scalars(select(Journal)).all()) + str(session.scalars(select(Ride)).all())
    assert "47.5" not in kept
    assert got(client, f"/builds/{on}")["km"] == shown["km"]


def test_the_same_file_twice_is_once_and_on_another_build_another_ride(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    on, other = build(client), build(client, "Other")
    first = ok(sent_track(client, on), 201)
    ok(client.patch(f"{API}/rides/{first['id']}", json={"km": 0.2}, headers={"If-Match": "*"}))
    again = ok(sent_track(client, on))
    assert (again["id"], again["km"]) == (first["id"], 0.2)  # as it is now
    assert ok(sent_track(client, other), 201)["id"] != first["id"]
    refused(sent_track(client, on, conditions="wet"), 409, pointer="/conditions")
    assert count(client) == 2


def test_a_file_whose_ride_was_removed_does_not_come_back(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    on = build(client)
    first = ok(sent_track(client, on), 201)
    ok(client.delete(f"{API}/rides/{first['id']}", headers={"If-Match": "*"}), 204)
    refused(sent_track(client, on), 410, "removed", "journal")
    request = got(client, "/journal")["items"][0]["request"]
    ok(client.post(f"{API}/journal/{request}/undo"))
    assert ok(sent_track(client, on))["id"] == first["id"]


def test_the_hash_of_a_file_is_made_with_a_key_of_the_workshop(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    ok(sent_track(client, build(client)), 201)
    with service.database.reading() as session:
        stored = session.scalars(select(Ride)).one().file_hash
        key = session.scalars(select(Workshop).where(col(Workshop.id) == service.who.workshop_id)).one().file_key
        lines = str([line.after for line in session.scalars(select(Journal))])
    digest = hashlib.sha256(timed().encode()).digest()
    assert stored == hmac.new(bytes.fromhex(key), digest, "sha256").hexdigest()
    assert len(key) == 64
    assert key not in lines


def test_a_track_without_times_needs_its_day(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    on = build(client)
    refused(sent_track(client, on, UNTIMED), 400, "no times", pointer="/day")
    shown = ok(sent_track(client, on, UNTIMED, day="2026-05-01"), 201)
    assert (shown["day"], shown["started_at"], shown["moving_s"]) == ("2026-05-01", "2026-05-01T10:00:00Z", None)
    refused(sent_track(client, on, UNTIMED, day="2026-05-02"), 409, pointer="/day")
    refused(sent_track(client, on, UNTIMED, day="2026-06-02"), 400, "has not come yet", pointer="/day")


def test_a_track_of_more_than_two_thousand_km_is_asked_about(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    on = build(client)
    far = timed().replace('"47.501"', '"27.4"')
    refused(sent_track(client, on, far), 409, "2,000 km in a day is unlikely", pointer="/km")
    assert count(client) == 0
    assert ok(sent_track(client, on, far, sure=True), 201)["km"] > 2000


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("<!DOCTYPE gpx><gpx/>", "DOCTYPE"),
        ('<!DOCTYPE gpx [<!ENTITY a "aa"><!ENTITY b "&a;&a;">]><gpx>&b;</gpx>', "DOCTYPE"),
        (UNTIMED.replace("/1/1", "/1/0"), "it should begin with gpx in"),
        (track('<trkpt lat="47.5" lon="8.7"/>'), "only one point"),
        (timed(then="2026-05-03T22:04:59Z"), "no earlier than"),
        (UNTIMED.replace('"47.5"', '"NaN"'), "lat is 'NaN'"),
        (UNTIMED.replace('"8.7"', '"180"'), "180 itself is -180"),
        ("\x1f\x8b", "not well-formed"),
        (UNTIMED[:-20], "ends too early"),
        (track('<trkpt lat="47.5" lon="8.7"/>' * 2), "is 0 km long"),
        (timed("0001-01-01T00:00:00+14:00", "0001-01-01T00:00:00Z"), "in the year 1"),
        (timed("2027-01-01T00:00:00Z", "2027-01-01T00:00:00Z"), "has not come yet"),
    ],
)
@ONE_DATABASE
def test_a_file_that_is_no_ride_is_refused_and_nothing_is_stored(
    client: httpx.Client, service: Served, text: str, words: str
) -> None:
    service.now = NOON
    refused(sent_track(client, build(client), text, day="2026-05-01"), 400, words)
    assert count(client) == 0


@ONE_DATABASE
def test_a_packed_track_is_told_to_be_unpacked(client: httpx.Client) -> None:
    headers = {"Content-Type": "application/gpx+xml"}
    data = gzip.compress(timed().encode())
    refused(
        client.post(f"{API}/rides/gpx", content=data, headers=headers, params={"build": build(client)}), 400, "gzip"
    )


@ONE_DATABASE
def test_a_hundred_megabytes_are_refused_by_their_announced_length_and_by_count(client: httpx.Client) -> None:
    asked = {"build": build(client)}

    def endless() -> Iterator[bytes]:
        yield f'<gpx version="1.1" {SPACE}>'.encode()
        for _ in range(1700):
            yield b" " * 65536

    headers = {"Content-Type": "application/gpx+xml", "Authorization": str(client.headers["Authorization"])}
    announcing = HTTPConnection(client.base_url.host, client.base_url.port, timeout=30)
    with closing(announcing):
        path = f"{API}/rides/gpx?build={asked['build']}"
        announcing.request("POST", path, headers=headers | {"Content-Length": "100000001"})  # and not a byte of it
        assert announcing.getresponse().status == 413
    refused(client.post(f"{API}/rides/gpx", content=endless(), headers=headers, params=asked), 413)


@ONE_DATABASE
def test_sixteen_that_send_one_file_at_once_store_it_once(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    on = build(client)
    with ThreadPoolExecutor(16) as threads:
        answers = list(threads.map(lambda _: sent_track(client, on), range(16)))
    assert sorted(answer.status_code for answer in answers) == [200] * 15 + [201]
    assert len({answer.json()["id"] for answer in answers}) == 1


def test_a_dry_run_tells_everything_and_stores_nothing(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    on = build(client)
    shown = ok(sent_sheet(client, on, SHEET + "2026-05-02,x\n31.13.2026,5\n", dry_run=True))
    assert (shown["dry_run"], shown["rows_count"], shown["rides_count"], shown["km"]) == (True, 4, 2, 60.35)
    assert (shown["first_day"], shown["last_day"]) == ("2026-05-01", "2026-05-02")
    assert [(each["line"], each["column"]) for each in shown["problems"]] == [(4, "Distance (km)"), (5, "Date")]
    assert (shown["columns"]["when"], shown["columns"]["distance_unit"], shown["columns"]["climb"]) == (
        "Date",
        "km",
        "",
    )
    assert [each["started_at"] for each in shown["first_rides"]] == ["2026-05-01T10:00:00Z", "2026-05-02T05:05:00Z"]
    assert count(client) == 0


def test_an_import_is_all_or_nothing_and_says_every_problem(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    on = build(client)
    wrong = SHEET + "2026-05-02,x\n31.13.2026,5\n"
    said = refused(sent_sheet(client, on, wrong), 400, "Nothing was stored", pointer="/lines/4")
    assert [each["pointer"] for each in said["errors"]] == ["/lines/4", "/lines/5"]
    assert count(client) == 0
    assert ok(sent_sheet(client, on, wrong, leave_out_wrong=True), 201)["rides_count"] == 2
    assert got(client, f"/builds/{on}")["km"] == 60.35


def test_importing_twice_is_once_and_a_removed_ride_stays_removed(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    on = build(client)
    assert ok(sent_sheet(client, on), 201)["rides_count"] == 2
    again = ok(sent_sheet(client, on, "Bemerkung;" + SHEET.replace(",", ";").replace("2026-05", "x;2026-05")))
    assert (again["rides_count"], again["stored_already_count"]) == (0, 2)
    gone = got(client, "/rides")["items"][0]
    ok(client.delete(f"{API}/rides/{gone['id']}", headers={"If-Match": "*"}), 204)
    more = ok(sent_sheet(client, on, SHEET + "2026-05-03,5\n"), 201)
    assert (more["rides_count"], more["stored_already_count"], more["removed_since_count"]) == (1, 1, 1)
    assert [each["line"] for each in more["left_out"]] == [2, 3]


def test_rows_that_look_alike_are_asked_about_and_kept_or_left_out(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    on = build(client)
    ride(client, on, 5.02, "2026-05-03")
    twice = SHEET + "2026-05-01,42.1\n2026-05-03,5\n"
    said = refused(sent_sheet(client, on, twice), 400, "same ride as line 2", "left out or kept")
    assert [each["pointer"] for each in said["errors"]] == ["/lines/4", "/lines/5"]
    assert ok(sent_sheet(client, on, twice, repeats="leave-out"), 201)["rides_count"] == 2
    assert ok(sent_sheet(client, on, twice, repeats="keep"), 201)["rides_count"] == 2
    assert ok(sent_sheet(client, on, twice, repeats="keep"))["rides_count"] == 0
    assert count(client) == 5


@ONE_DATABASE
def test_what_the_file_does_not_say_is_asked_with_its_field(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    on = build(client)
    unclear = 'Date,Distance\n4/5/2026,"1,240"\n'
    said = refused(sent_sheet(client, on, unclear), 400, pointer="/date_order")
    assert [each["pointer"] for each in said["errors"]] == ["/distance_unit", "/date_order", "/decimal"]
    answered = {"distance_unit": "km", "date_order": "month-first", "decimal": "comma"}
    shown = ok(sent_sheet(client, on, unclear, **answered), 201)
    assert (shown["first_day"], shown["km"]) == ("2026-04-05", 1.24)
    refused(sent_sheet(client, on, unclear, distance="Way"), 400, "no such column", pointer="/distance")
    refused(sent_sheet(client, on, unclear, distance_unit="furlong"), 422)
    refused(sent_sheet(client, on, b"PK\x03\x04"), 400, "save it as CSV")
    refused(client.post(f"{API}/imports/rides", json={}, params={"build": on}), 415, "text/csv")
    refused(sent_sheet(client, on, b"x" * 10_000_001), 413)


@ONE_DATABASE
def test_the_lines_of_many_rows_are_those_that_one_row_leaves(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    on = build(client)
    ok(sent_sheet(client, on), 201)
    with service.database.reading() as session:
        rows = {str(row.id): row for row in session.scalars(select(Ride))}
        lines = session.scalars(select(Journal).where(col(Journal.noun) == "ride")).all()
        assert [line.after for line in lines] == [journal.content_of(rows[line.row_id]) for line in lines]
        assert {(line.verb, line.before, line.by_id) for line in lines} == {("added", None, service.who.person_id)}
        assert {line.workshop_id for line in lines} == {service.who.workshop_id}
        assert len({line.request_id for line in lines}) == 1
        request = lines[0].request_id
    assert ok(client.post(f"{API}/journal/{request}/undo"))["lines"] == 2
    assert count(client) == 0


@ONE_DATABASE
@pytest.mark.slow
def test_a_hundred_thousand_rows_are_imported_and_known_again(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    on = build(client)
    first = NOON - timedelta(hours=2 * 100_000)
    rows = [f"{first + timedelta(hours=2 * number):%Y-%m-%d %H:%M},5.{number % 10}" for number in range(100_000)]
    text = "Date,Distance (km)\n" + "\n".join(rows) + "\n"
    with service.client() as patient:
        patient.timeout = httpx.Timeout(300)
        shown = ok(sent_sheet(patient, on, text), 201)
        assert (shown["rides_count"], shown["problems"]) == (100_000, [])
        assert ok(sent_sheet(patient, on, text))["stored_already_count"] == 100_000
        refused(sent_sheet(patient, on, text + "2026-05-01,5\n"), 400, "more than 100000 rows")
