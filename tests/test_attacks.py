"""What somebody hostile, or a broken client, sends: it is refused as badly formed, stored nowhere, never a 500."""

import base64
import json
import logging
from datetime import date
from pathlib import Path
from typing import Any

import httpx
import pytest
from starlette.datastructures import Headers

from service.domain.lists import Source
from service.domain.procedure import Library
from service.errors import CrossSite
from service.guard import check_origin
from service.ids import new_id
from service.library.read import load, procedures_folder
from service.web.pages import render
from tests.api.others import stranger
from tests.api.words import API, NOON, build, fit, got, made, ok, part, plan, refused, ride, start, tick
from tests.conftest import Served

EVIL = """category = "mirror"
title = EVIL
into = ["build"]
stage = "finish"
small_parts = [{ what = EVIL }]
wanted = "always"
wanted_because = EVIL
[[specs]]
key = "fixing"
title = EVIL
kind = "choice"
choices = { band = EVIL, plug = EVIL }
measure = EVIL
[[joins]]
key = "bar"
title = EVIL
with = ["handlebar"]
meets_if = [{ mine = "handlebar.grip_mm", is = "equal", than = 22.2 }]
say = EVIL
basis = "common practice"
[[fastenings]]
key = "band"
title = EVIL
between = ["mirror"]
feel = EVIL
note = EVIL
dressing = EVIL
basis = "common practice"
[[steps]]
key = "fit"
title = EVIL
text = EVIL
reject = EVIL
cautions = [EVIL]
fits = true
fastenings = ["band"]
records = [{ into = "check:play", title = EVIL, otherwise = EVIL, choices = { yes = EVIL } }]
safety = true
minutes = 1
[[steps]]
key = "close"
title = EVIL
text = EVIL
when = { fixing = "band" }
minutes = 1
[[tasks]]
key = "hold"
title = EVIL
say = EVIL
every = { days = 1 }
weight = "safety"
basis = "common practice"
[[wear]]
key = "play_mm"
title = EVIL
direction = "grows"
measure = EVIL
limits = [{ action = "replace", value = 3, basis = "common practice" }]
"""
ANY_ID = "00000000-0000-0000-0000-000000000000"


def cursor(*members: Any) -> str:
    """A cursor that was not made here."""
    return base64.urlsafe_b64encode(json.dumps(members).encode()).decode()


@pytest.mark.parametrize(
    ("path", "members"),
    [
        ("/journal", [float("inf")]),
        ("/journal", ["99999999999999999999"]),  # more than 64 bits
        ("/journal", ["4294967296"]),  # more than 32 bits: PostgreSQL refuses the comparison
        ("/journal", ["9" * 90]),
        ("/builds", [None, None, ANY_ID]),
        ("/builds", ["1", None, None]),
        ("/due", [1e308, None, ANY_ID]),
        ("/parts", ["chain\x00", ANY_ID]),  # PostgreSQL keeps no NUL
        ("/parts", ["\ud800", ANY_ID]),  # no UTF-8 spells half a surrogate pair
        ("/parts", [None, ANY_ID]),
        ("/rides", [None, ANY_ID]),
        ("/rides", ["0001-01-01T00:00:00+14:00", ANY_ID]),  # in UTC before the first year
        ("/wear-measurements", ["9999-12-31T23:59:59-14:00", ANY_ID]),
    ],
)
def test_a_forged_cursor_is_refused(client: httpx.Client, path: str, members: list[Any]) -> None:
    answer = client.get(API + path, params={"cursor": cursor(*members)})
    refused(answer, 422, "was not made here")


@pytest.mark.parametrize("path", ["/", "/due"])
@pytest.mark.parametrize("rank", ["9" * 30, "-" + "9" * 30, "9999999999"])
def test_a_forged_address_of_further_builds_is_refused(client: httpx.Client, path: str, rank: str) -> None:
    assert client.get(path, params={"after": f"{rank}~~{ANY_ID}"}).status_code == 422


@pytest.mark.parametrize("km", ["9" * 5000, "9" * 400 + ".5"])
def test_a_number_without_end_is_a_mistake_beside_its_field(client: httpx.Client, km: str) -> None:
    on = build(client)
    answer = client.post(f"/builds/{on}/ride", data={"km": km})
    assert (answer.status_code, "should be a number" in answer.text) == (422, True)
    assert got(client, "/rides", build=on)["items"] == []


@pytest.mark.parametrize("charset", ["unicode_escape", "punycode", "utf-16", '"UTF-7"'])
def test_a_form_in_another_charset_is_415(client: httpx.Client, charset: str) -> None:
    """Read by such a codec it would hold half a surrogate pair, which no page and no database can write."""
    body = '--B\r\nContent-Disposition: form-data; name="name"\r\n\r\n\\ud800\r\n--B--\r\n'
    kind = f"multipart/form-data; boundary=B; charset={charset}"
    origin = str(client.base_url)
    answer = client.post("/builds", content=body, headers={"Content-Type": kind, "Origin": origin})
    assert answer.status_code == 415
    plain = {"Content-Type": "multipart/form-data; boundary=B; charset=UTF-8", "Origin": origin}
    assert client.post("/builds", content=body, headers=plain).status_code == 303


@pytest.mark.parametrize("answer", ["nan", "inf", "-inf", "1e400", "2e6"])
def test_a_record_that_no_instrument_shows_is_refused(client: httpx.Client, service: Served, answer: str) -> None:
    service.now = NOON
    on = build(client)
    fit(client, on, part(client, "chain"))
    job = start(client, on, "service", task="chain.measure", about_part=got(client, "/parts")["items"][0]["id"])
    [step, key] = next(
        [step, record["key"]] for step in job["steps"] for record in step["records"] if not record["text"]
    )
    refused(tick(client, job["id"], step, records={key: answer}), 400, "is a number")


def test_of_many_mistakes_the_first_are_told(client: httpx.Client) -> None:
    """The answer must not be many times as long as what was sent."""
    body = {"name": "Many"} | {f"k{number}": number for number in range(1000)}
    problem = refused(client.post(f"{API}/builds", json=body), 422, "and 999 more")
    assert len(problem["errors"]) == 100


def test_an_address_that_is_no_origin_is_not_ours() -> None:
    """Neither can be read, and nothing is not equal to nothing."""
    scope = {"type": "http", "method": "POST", "path": "/rides", "scheme": "http"}
    with pytest.raises(CrossSite):
        check_origin(scope, Headers({"host": "127.0.0.1:x", "origin": "http://["}), None)


def test_the_log_of_a_mistake_does_not_hold_the_secret_of_a_link(
    visitor: httpx.Client, service: Served, caplog: pytest.LogCaptureFixture
) -> None:
    kept = service.app.state.database
    service.app.state.database = None
    try:
        with caplog.at_level(logging.ERROR, logger="locknut"):
            answer = visitor.get("/sign-in/a-secret-of-a-link")
    finally:
        service.app.state.database = kept
    assert answer.status_code == 500
    assert "/sign-in/{secret}" in caplog.text
    assert "a-secret-of-a-link" not in caplog.records[0].getMessage()


def test_an_undo_does_not_take_along_what_came_later(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    chain = part(client, "chain")
    first = next(line["request"] for line in got(client, "/journal", noun="part")["items"])
    ok(client.put(f"{API}/parts/{chain}/specs/links_count", json={"number": 114}))
    refused(client.post(f"{API}/journal/{first}/undo"), 409, "has been changed since")
    assert got(client, f"/parts/{chain}")["specs"]["links_count"]["number"] == 114


def test_an_undo_takes_back_what_the_same_request_brought(client: httpx.Client) -> None:
    chain = part(client, "chain", specs={"links_count": {"number": 114}})
    request = next(line["request"] for line in got(client, "/journal", noun="part")["items"])
    ok(client.post(f"{API}/journal/{request}/undo"))
    assert client.get(f"{API}/parts/{chain}").status_code == 404


def test_an_undo_makes_the_version_that_was_read_old(client: httpx.Client) -> None:
    chain = part(client, "chain")
    ok(client.put(f"{API}/parts/{chain}/specs/links_count", json={"number": 114}))
    read = client.get(f"{API}/parts/{chain}").headers["etag"]
    request = next(line["request"] for line in got(client, "/journal", noun="spec")["items"])
    ok(client.post(f"{API}/journal/{request}/undo"))
    answer = client.patch(f"{API}/parts/{chain}", json={"note": "114 links"}, headers={"If-Match": read})
    assert answer.status_code == 412


def test_a_foreign_id_is_told_nothing_of_what_is_stored_under_it(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    chain, row = part(client, "chain"), str(new_id())
    made(client, "/maintenance-events", id=row, part=chain, kind="cleaned", note="ours")
    with service.client(stranger(service)) as foreign:
        sent = {"id": row, "part": part(foreign, "chain"), "kind": "trued", "note": "ours"}
        problem = refused(foreign.post(f"{API}/maintenance-events", json=sent), 409)
    assert "errors" not in problem


def test_a_foreign_build_is_404_on_every_page(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    on, chain = build(client), part(client, "chain")
    fit(client, on, chain)
    job = start(client, on)["id"]
    ride(client, on, 5, "2026-05-01")
    pages = [f"/builds/{on}{end}" for end in ("", "/change", "/fit", "/jobs", "/ride", "/log", "/due", "/put-off")]
    pages += [f"/parts/{chain}{end}" for end in ("", "/facts", "/swap", "/take-off")]
    pages += [f"/checklists/{job}", f"/checklists/{job}/list"]
    with service.client(stranger(service)) as foreign:
        assert {page: foreign.get(page).status_code for page in pages} == dict.fromkeys(pages, 404)
    assert {page: client.get(page).status_code for page in pages} == dict.fromkeys(pages, 200)


def test_what_people_typed_is_text_on_every_page(client: httpx.Client, service: Served) -> None:
    service.now = NOON
    evil = "<script>alert(1)</script>\"'><img src=x onerror=alert(1)>"
    on = build(client, evil, note=evil)
    chain = part(client, "chain", evil, tag="<b>x</b>", note=evil)
    made(client, "/wrenches", title=evil, low_nm=2, high_nm=20)
    plan(client, on, part(client, "stem", evil))
    fit(client, on, chain)
    job = start(client, on)["id"]
    made(client, "/maintenance-events", part=chain, kind="cleaned", note=evil)
    ride(client, on, 5, "2026-05-01", note=evil)
    pages = ["/", "/due", "/parts", "/bench", f"/checklists/{job}", f"/checklists/{job}/list"]
    pages += [f"/builds/{on}{end}" for end in ("", "/change", "/fit?slot=stem", "/jobs", "/ride", "/log", "/due")]
    pages += [f"/parts/{chain}{end}" for end in ("", "/facts", "/swap", "/take-off")]
    for page in pages:
        answer = client.get(page)
        assert answer.status_code == 200, page
        assert "<script>alert" not in answer.text, page
        assert "<img src=x" not in answer.text, page
        assert "<b>x</b>" not in answer.text, page


def test_a_source_that_is_no_web_address_is_text() -> None:
    """A folder of one's own may have come from somebody else."""
    day = date(2026, 5, 4)
    found = [
        ("own", Source(title="Own", address="javascript:alert(1)", read_on=day)),
        ("page", Source(title="Page", address="https://workshop.example/", read_on=day)),
    ]
    page = bytes(render("sources.html", sources=found, bases=()).body).decode()
    assert 'href="javascript' not in page
    assert "javascript:alert(1)" in page
    assert 'href="https://workshop.example/"' in page


def test_what_a_folder_of_ones_own_says_is_text_on_every_page(
    client: httpx.Client, service: Served, library: Library, tmp_path: Path
) -> None:
    """It may have come from somebody else."""
    service.now = NOON
    evil = "<script>alert(1)</script>\"'><img src=x onerror=alert(1)> (a+)+$"
    file = tmp_path / "categories/mirror.toml"
    file.parent.mkdir()
    file.write_text(EVIL.replace("EVIL", f"'''{evil}'''"))
    service.app.state.library = load(procedures_folder(), tmp_path)
    try:
        on, mirror = build(client), part(client, "mirror", "Plain")
        fit(client, on, mirror)
        fit(client, on, part(client, "handlebar"))
        job = start(client, on)
        made(client, "/maintenance-events", part=mirror, kind="inspected", tasks=["mirror.hold"])
        steps = [f"/checklists/{job['id']}?step={step['id']}" for step in job["steps"] if "mirror." in step["id"]]
        assert len(steps) == 2
        pages = ["/", "/due", "/parts", "/bench", "/sources", f"/checklists/{job['id']}/list", *steps]
        pages += [f"/builds/{on}{end}" for end in ("", "/fit?slot=mirror", "/jobs", "/log", "/due")]
        pages += [f"/parts/{mirror}{end}" for end in ("", "/facts", "/swap", "/take-off")]
        for page in pages:
            answer = client.get(page)
            assert answer.status_code == 200, page
            assert "<script>alert" not in answer.text, page
            assert "<img src=x" not in answer.text, page
    finally:
        service.app.state.library = library
