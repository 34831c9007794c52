"""The pages of files with rides, without a script: a track is stored at once, a list by its columns."""

import base64
import zlib
from typing import Any

import httpx
import pytest

from tests.api.test_importing import SHEET, count, timed
from tests.api.words import NOON, build, got
from tests.conftest import Served
from tests.web.browser import Browser, Page, PageForm

pytestmark = pytest.mark.parametrize("database", ["sqlite"], indirect=True)


def sent(
    browser: Browser, form: PageForm, name: str = "", data: str | bytes = b"", status: int = 200, **changes: Any
) -> Page:
    """What a form with a file leads to."""
    fields: dict[str, Any] = {**form.fields, **changes}
    assert changes.keys() <= form.names
    content = data if isinstance(data, bytes) else data.encode()
    # without a file a browser still sends the form in parts
    files = {"file": (name, content)} if "file" in form.names else {"none": (None, "")}
    fields.pop("file", None)
    answer = browser.client.post(form.action, data=fields, files=files)
    assert answer.status_code == status, Page(answer).main
    return Page(answer)


def opened(browser: Browser, on: str) -> PageForm:
    """The form that asks for a file."""
    return browser.open(f"/builds/{on}/ride-files").form(f"/builds/{on}/ride-files")


def test_a_track_is_stored_and_the_same_again_is_said(browser: Browser, client: httpx.Client, service: Served) -> None:
    service.now = NOON
    on = build(client)
    form = opened(browser, on)
    page = sent(browser, form, "ride.gpx", timed(), conditions="wet")
    assert "Stored:" in page.main
    assert "stored before and counts once" in sent(browser, form, "ride.gpx", timed(), conditions="wet").main
    [ride] = got(client, "/rides")["items"]
    assert (ride["conditions"], ride["source"]) == ("wet", "gpx")


def test_a_track_that_is_too_long_for_a_day_is_asked_about(
    browser: Browser, client: httpx.Client, service: Served
) -> None:
    service.now = NOON
    on = build(client)
    far = timed().replace('"47.501"', '"27.4"')
    page = sent(browser, opened(browser, on), "ride.gpx", far, status=409)
    assert "Please confirm" in page.main
    assert count(client) == 0
    assert "Stored:" in sent(browser, page.form(f"/builds/{on}/ride-files"), "ride.gpx", far, sure="yes").main


def test_a_list_is_shown_and_stored_with_the_columns_as_found(
    browser: Browser, client: httpx.Client, service: Served
) -> None:
    service.now = NOON
    on = build(client)
    page = sent(browser, opened(browser, on), "rides.csv", SHEET, loaded="yes")
    assert "2 of 2 rows would be stored" in page.main
    assert "Store 2 rides" in page.main
    assert count(client) == 0
    form = page.form(f"/builds/{on}/ride-files/rows")
    assert (form.fields["when"], form.fields["distance"]) == (["Date"], ["Distance (km)"])
    assert "Stored: 2 rides" in sent(browser, form, do="store").main
    assert [each["loaded"] for each in got(client, "/rides")["items"]] == [True, True]
    again = sent(browser, opened(browser, on), "rides.csv", SHEET)
    assert "2 stored already" in again.main
    assert "Store " not in again.main


def test_what_is_unclear_is_asked_at_its_field_and_answered_there(
    browser: Browser, client: httpx.Client, service: Served
) -> None:
    service.now = NOON
    on = build(client)
    unclear = "Date;Way\n4/5/2026;1,240\n"
    page = sent(browser, opened(browser, on), "rides.csv", unclear, status=400)
    assert "with the distance" in page.main
    rows = f"/builds/{on}/ride-files/rows"
    page = sent(browser, page.form(rows), status=400, do="look", distance="Way")
    assert "point or comma" in page.main
    assert "day-first or month-first" in page.main
    chosen = {"distance_unit": "km", "date_order": "day-first", "decimal": "comma"}
    page = sent(browser, page.form(rows), "", b"", 200, do="look", **chosen)
    assert "1 of 1 rows would be stored" in page.main
    assert "Stored: 1 ride." in sent(browser, page.form(rows), do="store").main
    [ride] = got(client, "/rides")["items"]
    assert (ride["day"], ride["km"]) == ("2026-05-04", 1.24)


def test_every_wrong_row_is_shown_and_nothing_is_stored_unless_it_may_be_left_out(
    browser: Browser, client: httpx.Client, service: Served
) -> None:
    service.now = NOON
    on = build(client)
    page = sent(browser, opened(browser, on), "rides.csv", SHEET + "x,5\n2026-05-03,<b>\n")
    assert "Line 4, Date" in page.main
    assert "Line 5, Distance (km)" in page.main
    rows = f"/builds/{on}/ride-files/rows"
    assert "Nothing was stored" in sent(browser, page.form(rows), status=400, do="store").main
    assert count(client) == 0
    assert "Stored: 2 rides" in sent(browser, page.form(rows), do="store", leave_out_wrong="yes").main


@pytest.mark.parametrize(
    ("name", "data", "words"),
    [
        ("ride.gpx", b"<!DOCTYPE gpx><gpx/>", "DOCTYPE"),
        ("ride.gpx", b"\x1f\x8b\x08", "unpack it"),
        ("rides.xlsx", b"PK\x03\x04", "save it as CSV"),
        ("rides.csv", b"", "nothing in the file"),
        ("", b"", "choose a file"),
    ],
)
def test_a_file_that_cannot_be_read_is_said_on_the_page(
    browser: Browser, client: httpx.Client, name: str, data: bytes, words: str
) -> None:
    page = sent(browser, opened(browser, build(client)), name, data, status=400)
    assert words in page.main
    assert "file" in page.form(page.path.partition("?")[0]).names  # to choose another file


def test_what_the_page_carries_along_may_be_nonsense_or_a_bomb(browser: Browser, client: httpx.Client) -> None:
    rows = f"/builds/{build(client)}/ride-files/rows"
    bomb = base64.b64encode(zlib.compress(bytes(50_000_000))).decode()
    for packed, words in (
        ("%%%", "did not come along"),
        ("QUJD", "did not come along"),
        (base64.b64encode(zlib.compress(SHEET.encode())[:-9]).decode(), "did not come along"),
        (bomb, "10 MB"),
        ("", "did not come along"),
    ):
        answer = browser.client.post(rows, data={"packed": packed, "do": "store"})
        assert answer.status_code in (400, 413)
        assert words in Page(answer).main


def test_a_build_of_somebody_else_is_not_found(browser: Browser) -> None:
    nobodys = "/builds/0199f2a1-7c00-7000-8000-0000000000ff/ride-files"
    assert browser.client.get(nobodys).status_code == 404
    for address in (nobodys, f"{nobodys}/rows"):
        assert browser.client.post(address, files={"file": ("r.gpx", timed().encode())}).status_code == 404


@pytest.mark.parametrize(
    ("media", "body"),
    [
        ("multipart/form-data", b"--x"),
        ("multipart/form-data; boundary=x", b"--y\r\n\r\n"),
        (
            "multipart/form-data; boundary=x",
            b'--x\r\nContent-Disposition: form-data; name="file"; filename="a.gpx"\r\n\r\n<gpx',
        ),
        (
            "multipart/form-data; boundary=x",
            b'--x\r\nContent-Disposition: form-data; name="packed"\r\n\r\n%%%\r\n--x--\r\n',
        ),
        ("application/x-www-form-urlencoded", b"file=%3Cgpx&day=never"),
    ],
)
# the framework's reader leaves the file of a part that never ends to the collector
@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")
def test_a_form_that_is_broken_is_refused(browser: Browser, client: httpx.Client, media: str, body: bytes) -> None:
    for end in ("", "/rows"):
        address = f"/builds/{build(client)}/ride-files{end}"
        answer = browser.client.post(address, content=body, headers={"Content-Type": media})
        assert 400 <= answer.status_code < 500, answer.text
    assert count(client) == 0
