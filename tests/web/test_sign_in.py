"""Signing a browser in and out."""

import re
import threading
from datetime import timedelta

import httpx
import pytest

from service.records import people
from tests.conftest import NOW, Served


def _link(service: Served) -> str:
    with service.database.writing() as session:
        return f"/sign-in/{people.make_link(session, service.who.person_id, service.clock())}"


def _browser(service: Served) -> httpx.Client:
    return httpx.Client(base_url=service.address, headers={"Origin": service.address}, verify=False)


def test_looking_at_a_link_spends_nothing(service: Served) -> None:
    link = _link(service)
    with _browser(service) as browser:
        for _ in range(3):
            page = browser.get(link)
            assert page.status_code == 200
            assert f'action="{link}"' in page.text
        assert browser.head(link).status_code == 200
        assert browser.post(link).status_code == 303


def test_a_link_signs_one_browser_in_once(service: Served) -> None:
    link = _link(service)
    with _browser(service) as browser, _browser(service) as second:
        signed_in = browser.post(link, data={"title": "Phone at the stand"})
        assert (signed_in.status_code, signed_in.headers["location"]) == (303, "/")
        cookie = signed_in.headers["set-cookie"]
        assert all(word in cookie for word in ("HttpOnly", "SameSite=lax", "Path=/", "Max-Age=7776000"))  # 90 days
        assert browser.get("/api/v1/me").json()["person"]["id"] == str(service.who.person_id)
        titles = [device["title"] for device in browser.get("/api/v1/devices").json()["items"]]
        assert titles == ["tests", "Phone at the stand"]
        again = second.post(link)
        assert again.status_code == 410
        assert "locknut person link" in again.text
        assert second.get(link).status_code == 410


def test_of_two_at_once_one_is_signed_in(service: Served) -> None:
    for _ in range(5):
        link, ready = _link(service), threading.Barrier(4)
        answers: list[int] = []

        def spend(link: str = link, ready: threading.Barrier = ready, answers: list[int] = answers) -> None:
            with _browser(service) as browser:
                ready.wait()
                answers.append(browser.post(link).status_code)

        threads = [threading.Thread(target=spend) for _ in range(4)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert sorted(answers) == [303, 410, 410, 410]


@pytest.mark.parametrize(("minutes", "status"), [(14, 200), (15, 410), (16, 410)])
def test_a_link_lives_for_15_minutes(service: Served, minutes: int, status: int) -> None:
    service.now = NOW
    link = _link(service)
    service.now = NOW + timedelta(minutes=minutes)
    with _browser(service) as browser:
        assert browser.get(link).status_code == status


def test_a_browser_stays_for_90_days_from_its_last_day(service: Served) -> None:
    service.now = NOW
    with _browser(service) as browser:
        browser.post(_link(service))
        for days in (80, 160):
            service.now = NOW + timedelta(days=days)
            answer = browser.get("/api/v1/me")
            assert answer.status_code == 200
            assert "Max-Age=7776000" in answer.headers["set-cookie"]
            assert "set-cookie" not in browser.get("/api/v1/me").headers  # at most one write a day
        secret = browser.cookies["locknut"]
    service.now = NOW + timedelta(days=160 + 91)
    late = httpx.get(f"{service.address}/api/v1/me", headers={"Cookie": f"locknut={secret}"}, verify=False)
    assert late.status_code == 401


def test_signing_out_ends_this_browser_alone(service: Served, client: httpx.Client) -> None:
    with _browser(service) as browser:
        browser.post(_link(service))
        secret = browser.cookies["locknut"]
        assert browser.post("/sign-out").headers["location"] == "/sign-in"
        assert "locknut" not in browser.cookies
        kept = browser.get("/api/v1/me", headers={"Cookie": f"locknut={secret}"})
        assert kept.status_code == 401
    assert client.get("/api/v1/me").status_code == 200


def test_a_revoked_browser_opens_nothing(service: Served, client: httpx.Client) -> None:
    with _browser(service) as browser:
        browser.post(_link(service))
        device = client.get("/api/v1/devices").json()["items"][-1]
        assert client.delete(f"/api/v1/devices/{device['id']}").status_code == 204
        assert browser.get("/api/v1/me").status_code == 401


def test_a_change_with_the_cookie_but_from_elsewhere_is_refused(service: Served) -> None:
    with _browser(service) as browser:
        browser.post(_link(service))
        for origin in ("http://workshop.example", "null", ""):
            sent = {"Origin": origin, "If-Match": '"1"'}
            answer = browser.patch("/api/v1/workshop", json={"name": "Taken"}, headers=sent)
            assert (answer.status_code, answer.json()["type"]) == (403, "/problems/cross-site")
        assert browser.get("/api/v1/workshop").json()["name"] == "Workshop"


def test_the_secrets_are_kept_as_hashes_alone(service: Served) -> None:
    link = _link(service)
    with _browser(service) as browser:
        browser.post(link)
        secrets = [link.rpartition("/")[2], browser.cookies["locknut"], service.token]
    with service.database.reading() as session:
        tables = ("device", "sign_in", "journal")
        stored = str([session.connection().exec_driver_sql(f"SELECT * FROM {name}").all() for name in tables])
    assert not [secret for secret in secrets if secret in stored]
    assert all(len(secret) >= 43 for secret in secrets)  # 256 bits in base 64
    assert re.search(r"[0-9a-f]{64}", stored)


def test_behind_tls_the_cookie_is_bound_to_the_host(service: Served) -> None:
    from starlette.responses import Response

    from service.context import set_cookie

    answer = Response()
    set_cookie(answer, "https://workshop.example", "secret")
    cookie = answer.headers["set-cookie"]
    # A name with __Host- is kept only with Secure, Path=/ and no Domain: RFC 6265bis, 4.1.3.2
    assert cookie.startswith("__Host-locknut=")
    assert "Secure" in cookie
    assert "Domain" not in cookie
