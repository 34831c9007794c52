"""What stands before every request: host, origin, media, size; and the headers of every answer."""

import httpx
import pytest
from starlette.datastructures import Headers

from service.errors import CrossSite, WrongHost
from service.guard import LARGEST_BODY, check_host, check_origin
from tests.conftest import Served

OUTSIDE = "https://workshop.example"


@pytest.mark.parametrize(
    ("host", "address", "right"),
    [
        ("localhost:8417", None, True),
        ("127.0.0.1:8417", None, True),
        ("127.0.0.2", None, True),
        ("[::1]:8417", None, True),
        ("LOCALHOST", None, True),
        ("workshop.example", None, False),  # a name made to point here: DNS rebinding
        ("localhost.workshop.example", None, False),
        ("127.0.0.1.workshop.example", None, False),
        ("192.0.2.2:8417", None, False),
        ("[::1", None, False),
        ("", None, False),
        (None, None, False),
        ("workshop.example", OUTSIDE, True),
        ("workshop.example:443", OUTSIDE, True),
        ("workshop.example:8417", OUTSIDE, False),
        ("workshop.example:x", OUTSIDE, False),
        ("localhost", OUTSIDE, False),
        (None, OUTSIDE, False),
    ],
)
def test_only_our_own_host_is_answered(host: str | None, address: str | None, right: bool) -> None:
    if right:
        assert check_host(host, address) is None  # type: ignore[func-returns-value]
    else:
        with pytest.raises(WrongHost):
            check_host(host, address)


HERE = "http://127.0.0.1:8417"


@pytest.mark.parametrize(
    ("origin", "site", "right"),
    [
        (HERE, None, True),
        (HERE, "same-origin", True),
        (None, "same-origin", True),
        ("null", "same-origin", True),
        (None, None, False),
        ("null", None, False),
        ("http://127.0.0.1:8418", None, False),
        ("https://127.0.0.1:8417", None, False),
        ("http://workshop.example", None, False),
        ("http://workshop.example", "cross-site", False),
        ("http://workshop.example", "same-origin", False),
        (HERE, "cross-site", False),
        (HERE, "same-site", False),
        (None, "none", False),
        ("nonsense", None, False),
        ("http://[", None, False),
    ],
)
def test_a_change_comes_from_our_own_pages(origin: str | None, site: str | None, right: bool) -> None:
    sent = {"host": "127.0.0.1:8417", "cookie": "locknut=x"}
    sent |= ({"origin": origin} if origin else {}) | ({"sec-fetch-site": site} if site else {})
    for method, path in (("POST", "/api/v1/rides"), ("DELETE", "/api/v1/rides/1"), ("POST", "/rides")):
        scope = {"type": "http", "method": method, "path": path, "scheme": "http"}
        if right:
            assert check_origin(scope, Headers(sent), None) is None  # type: ignore[func-returns-value]
        else:
            with pytest.raises(CrossSite):
                check_origin(scope, Headers(sent), None)
        tokens = Headers(sent | {"authorization": "Bearer x"})  # a browser never sends it of its own accord
        assert check_origin(scope, tokens, None) is None  # type: ignore[func-returns-value]
    reading = {"type": "http", "method": "GET", "path": "/rides", "scheme": "http"}
    assert check_origin(reading, Headers(sent), None) is None  # type: ignore[func-returns-value]


def test_behind_a_proxy_the_outer_address_is_the_origin() -> None:
    scope = {"type": "http", "method": "POST", "path": "/rides", "scheme": "http"}
    sent = {"host": "workshop.example", "cookie": "locknut=x"}
    right = Headers(sent | {"origin": OUTSIDE})
    assert check_origin(scope, right, OUTSIDE) is None  # type: ignore[func-returns-value]
    with pytest.raises(CrossSite):
        check_origin(scope, Headers(sent | {"origin": "http://workshop.example"}), OUTSIDE)


def test_a_foreign_host_is_answered_421_and_told_no_more(client: httpx.Client) -> None:
    answer = client.get("/api/v1/me", headers={"Host": "workshop.example"})
    assert (answer.status_code, answer.json()["type"]) == (421, "/problems/wrong-host")


def test_every_answer_has_the_security_headers(visitor: httpx.Client) -> None:
    for path in ("/sign-in", "/nowhere", "/api/v1/me", "/api/v1/nowhere", "/problems/stale"):
        headers = visitor.get(path).headers
        assert headers["content-security-policy"].startswith("default-src 'none'")
        assert "unsafe" not in headers["content-security-policy"]
        assert headers["referrer-policy"] == "same-origin"
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["cache-control"] == "private, no-cache"


def test_a_body_of_another_kind_is_415(client: httpx.Client) -> None:
    answer = client.patch("/api/v1/workshop", content="name=Shed", headers={"Content-Type": "text/plain"})
    assert (answer.status_code, answer.json()["type"]) == (415, "/problems/media-unknown")
    assert "application/json" in answer.json()["detail"]


@pytest.mark.parametrize("announced", [True, False])
def test_a_body_over_1_mib_is_413(client: httpx.Client, announced: bool) -> None:
    body = b'{"name": "' + b"x" * LARGEST_BODY + b'"}'
    pieces = body if announced else iter([body[: len(body) // 2], body[len(body) // 2 :]])
    headers = {"Content-Type": "application/json", "If-Match": '"1"'}
    answer = client.patch("/api/v1/workshop", content=pieces, headers=headers)
    assert (answer.status_code, answer.json()["type"]) == (413, "/problems/too-large")
    assert answer.headers["content-type"] == "application/problem+json"


def test_head_is_answered_as_get_without_a_body(client: httpx.Client) -> None:
    """RFC 9110, 9.3.2: the header fields of GET, no content. Source: https://www.rfc-editor.org/rfc/rfc9110#section-9.3.2"""
    got, head = client.get("/api/v1/workshop"), client.head("/api/v1/workshop")
    assert (head.status_code, head.content, head.headers["etag"]) == (200, b"", got.headers["etag"])
    assert head.headers["content-length"] == str(len(got.content))


def test_the_static_files_are_kept_for_ever_under_names_of_their_content(visitor: httpx.Client) -> None:
    page = visitor.get("/sign-in").text
    address = page.partition('rel="stylesheet" href="')[2].partition('"')[0]
    file = visitor.get(address)
    assert (file.status_code, file.headers["content-type"]) == (200, "text/css; charset=utf-8")
    assert "immutable" in file.headers["cache-control"]
    assert visitor.get("/static/../app.py").status_code == 404
    assert visitor.get("/static/..%2f..%2fapp.py").status_code == 404


def test_a_long_answer_is_compressed(service: Served, client: httpx.Client) -> None:
    assert client.get("/api/v1/openapi.json").headers["content-encoding"] == "gzip"
