"""Every refusal has the same shape, on every route. Facts of RFC 9457 and RFC 9110, each beside its check."""

import re
from uuid import uuid4

import httpx
import pytest
from fastapi.routing import APIRoute

from service.app import every_route, make_app
from service.domain.procedure import Library
from service.errors import every_refusal
from tests.conftest import Served
from tests.serving import Door

API = [route for route in every_route() if isinstance(route, APIRoute) and route.path.startswith("/api/")]
WITH_BODY = [route for route in API if route.body_field is not None]
one_database = pytest.mark.parametrize("database", ["sqlite"], indirect=True)  # nothing here depends on its kind
METHODS = ("GET", "POST", "PUT", "PATCH", "DELETE")


def check_problem(answer: httpx.Response) -> None:
    """RFC 9457, 3 and 3.1: https://www.rfc-editor.org/rfc/rfc9457#section-3"""
    assert answer.headers["content-type"] == "application/problem+json"
    document = answer.json()
    assert isinstance(document, dict)
    # all five members are optional there; ours are always present
    assert {"type", "title", "status", "detail", "instance"} <= set(document)
    assert document["status"] == answer.status_code  # 3.1.2: the same as the actual status
    known = {f"/problems/{kind.code}": kind for kind in every_refusal()}
    assert document["title"] == known[document["type"]].title  # 3.1.3: the same for each occurrence
    assert re.fullmatch(r"urn:uuid:[0-9a-f-]{36}", document["instance"])
    assert document["detail"].strip().endswith((".", ")", "?", "token`)."))
    extensions = set(document) - {"type", "title", "status", "detail", "instance"}
    # 3.2: names begin with a letter and have three or more of letters, digits, underscore
    assert all(re.fullmatch(r"[A-Za-z][A-Za-z0-9_]{2,}", name) for name in extensions)
    for error in document.get("errors", []):
        assert re.fullmatch(r"(/([^~/]|~[01])*)*", error["pointer"])  # RFC 6901, 3
        assert error["detail"]


def _path(route: APIRoute) -> str:
    return (
        re.sub(r"{[^}]*_id}", str(uuid4()), re.sub(r"{[a-z_]+:path}", "x", route.path))
        .replace("{", "")
        .replace("}", "")
    )


@one_database
@pytest.mark.parametrize("route", API, ids=lambda route: f"{sorted(route.methods)[0]} {route.path}")
def test_every_route_answers_nobody_with_401_and_a_wrong_method_with_405(route: APIRoute, service: Served) -> None:
    path = _path(route)
    there = {method for other in every_route() for method in other.methods or () if other.path_regex.match(path)}
    with httpx.Client(base_url=service.address, verify=False) as visitor:
        for method in METHODS:
            answer = visitor.request(method, path, headers={"Authorization": "Bearer nobody's"})
            check_problem(answer)
            if method in there:
                assert answer.status_code in (401, 422)  # 422 where no body came with it
                assert answer.status_code == 422 or answer.headers["www-authenticate"]  # RFC 9110, 11.6.1
            else:
                assert answer.status_code == 405
                # RFC 9110, 15.5.6: Allow lists the methods that the target has, all of them
                allow = {name.strip() for name in answer.headers["allow"].split(",")}
                assert allow == there | ({"HEAD"} if "GET" in there else set())


@one_database
@pytest.mark.parametrize("route", WITH_BODY, ids=lambda route: f"{sorted(route.methods)[0]} {route.path}")
def test_every_route_with_a_body_names_what_is_wrong_in_it(route: APIRoute, client: httpx.Client) -> None:
    method = min(route.methods or set())
    for body in (b'{"nonsense": 1}', b"[]", b"{", b'{"name": NaN}', b'{"name": "\xff"}', b"\x00", b"nul"):
        headers = {"Content-Type": "application/json", "If-Match": '"1"'}
        answer = client.request(method, _path(route), content=body, headers=headers)
        check_problem(answer)
        assert answer.status_code in (404, 422)


def test_a_wrong_field_is_pointed_at(client: httpx.Client) -> None:
    sent = {"name": "", "time_zone": "Berlin", "colour": "grey"}
    answer = client.patch("/api/v1/workshop", json=sent, headers={"If-Match": '"1"'})
    assert answer.status_code == 422
    faults = {error["pointer"]: error["detail"] for error in answer.json()["errors"]}
    assert set(faults) == {"/name", "/time_zone", "/colour"}
    assert "Europe/Berlin" in faults["/time_zone"]


def test_a_wrong_word_in_the_address_is_pointed_at_and_told_apart(client: httpx.Client) -> None:
    answer = client.delete("/api/v1/devices/tomorrow")
    check_problem(answer)
    assert (answer.status_code, answer.json()["errors"][0]["in"]) == (422, "path")


def test_an_unknown_address_is_404(client: httpx.Client) -> None:
    answer = client.get("/api/v1/nowhere")
    check_problem(answer)
    assert answer.status_code == 404


def test_a_page_says_the_same_in_words(visitor: httpx.Client) -> None:
    answer = visitor.get("/nowhere")
    assert (answer.status_code, answer.headers["content-type"]) == (404, "text/html; charset=utf-8")
    assert "There is no page /nowhere." in answer.text
    assert '<script>"' not in visitor.get("/<script>").text


@one_database
@pytest.mark.parametrize("kind", every_refusal(), ids=lambda kind: kind.code)
def test_every_kind_of_problem_has_its_page(kind: type, visitor: httpx.Client) -> None:
    page = visitor.get(f"/problems/{kind.code}")  # type: ignore[attr-defined]
    assert page.status_code == 200
    assert kind.__doc__ is not None
    assert kind.title in page.text  # type: ignore[attr-defined]


def test_kinds_of_problem_are_told_apart() -> None:
    codes = [kind.code for kind in every_refusal()]
    assert len(codes) == len(set(codes))


@pytest.mark.parametrize(
    ("tag", "status"),
    [
        (None, 428),  # RFC 6585, 3: https://www.rfc-editor.org/rfc/rfc6585#section-3
        ('"1"', 200),
        ('"1.c2d4.2026-05-03.w"', 200),
        ("*", 200),  # RFC 9110, 13.1.1: true where there is any representation
        ('"2"', 412),
        ('W/"1"', 412),  # RFC 9110, 13.1.1: compared strongly; 8.8.3.2: a weak tag then matches nothing
        ('"elsewhere"', 412),
        ('"99999999999999999999"', 412),
        ("1", 422),  # RFC 9110, 8.8.3: an entity tag is quoted
        ('w/"1"', 422),  # RFC 9110, 8.8.3: W/ is case-sensitive
    ],
)
def test_if_match_decides_whether_a_change_is_made(client: httpx.Client, tag: str | None, status: int) -> None:
    headers = {"If-Match": tag} if tag else {}
    answer = client.patch("/api/v1/workshop", json={"name": "Shed"}, headers=headers)
    assert answer.status_code == status
    assert client.get("/api/v1/workshop").json()["name"] == ("Shed" if status == 200 else "Workshop")


def test_what_nobody_foresaw_is_500_and_logged(
    service: Served, library: Library, door: Door, caplog: pytest.LogCaptureFixture
) -> None:
    door.app = app = make_app(service.database, library)

    @app.get("/api/v1/broken")
    def broken() -> None:
        raise ZeroDivisionError("planted")

    with service.client() as client:
        answer = client.get("/api/v1/broken")
    check_problem(answer)
    assert answer.status_code == 500
    assert "planted" not in answer.text
    assert "ZeroDivisionError: planted" in caplog.text
    assert answer.json()["instance"].removeprefix("urn:uuid:") in caplog.text
    assert answer.headers["x-content-type-options"] == "nosniff"
