"""Reminders over a real mail server and a real receiver: once each, never lost, repeated only under the same id."""

import hashlib
import hmac
import socket
import threading
import time
from collections.abc import Iterator
from contextlib import closing
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

import httpx
import pytest

from service.domain.procedure import Library
from service.records import reminders
from service.sending import NotSent, Post, Reminding, is_here, is_open, look_up, mail_of, remind, send
from service.settings import MailServer
from tests.api.words import API, NOON, build, fit, got, made, ok, part, ride
from tests.conftest import Served
from tests.receivers import Calls, Letters, calls, letters

MONDAY = 0
"""NOON is a Monday."""


@pytest.fixture
def mail() -> Iterator[Letters]:
    with letters() as kept:
        yield kept


@pytest.fixture
def hook() -> Iterator[Calls]:
    with calls() as kept:
        yield kept


def post(mail: Letters | None = None, **more: Any) -> Post:
    """How the tests send: to loopback, without waiting long."""
    server = MailServer("127.0.0.1", mail.port, False) if mail else None
    return Post(server, "locknut@test.example", **({"may_be_private": True, "seconds": 2.0} | more))


def channel(client: httpx.Client, service: Served, kind: str, address: str, **more: Any) -> dict[str, Any]:
    """A channel of the owner, its digest on Mondays."""
    sent = {"kind": kind, "address": address, "weekly_on": MONDAY, **more}
    return made(client, f"/people/{service.who.person_id}/channels", **sent)


def overdue_chain(client: httpx.Client, service: Served, name: str = "Grey all-road") -> tuple[str, str]:
    """A bicycle whose chain wants oil since long; and a part that a digest tells of."""
    service.now = NOON - timedelta(days=40)
    on = build(client, name, state="in service")
    chain = part(client, "chain")
    fit(client, on, chain, at=service.now.isoformat())
    service.now = NOON
    ride(client, on, 900, NOON - timedelta(days=20))
    for each in got(client, "/due", build=on)["items"][0]["items"]:
        if each["weight"] == "safety" and each["done_by"]:  # nothing of it is to be told at once
            subject = {"part": each["part"]} if each["part"] else {"build": on}
            made(client, "/maintenance-events", kind=each["done_by"][0], tasks=[each["task"]], **subject)
    return on, chain


def run(service: Served, library: Library, how: Post, now: datetime = NOON) -> Any:
    return remind(service.database, library, how, lambda: now)


def test_the_weekly_mail_comes_once_on_its_day_in_words(
    client: httpx.Client, service: Served, library: Library, mail: Letters
) -> None:
    overdue_chain(client, service)
    channel(client, service, "mail", "rider@home.example")
    run(service, library, post(mail), NOON - timedelta(days=1))  # a Sunday
    run(service, library, post(mail), NOON.replace(hour=3))  # too early
    assert mail.mails == []
    assert run(service, library, post(mail)).sent == 1
    assert run(service, library, post(mail), NOON + timedelta(hours=1)).sent == 0
    run(service, library, post(mail), NOON + timedelta(days=7))
    first, *later = mail.mails
    assert first["To"] == "rider@home.example"
    assert "Grey all-road" in str(first["Subject"])
    said = first.get_payload(decode=True).decode()  # type: ignore[union-attr]
    assert "Oil the chain" in said
    assert "900 of 300 km" in said
    assert "min, at home." in said
    assert "switch these messages off" in said
    told_again = [each.get_payload(decode=True).decode() for each in later]  # type: ignore[union-attr]
    assert not any("Oil the chain" in each for each in told_again)  # once a round


def test_a_service_that_was_off_on_the_day_makes_up_for_it_once(
    client: httpx.Client, service: Served, library: Library, mail: Letters
) -> None:
    overdue_chain(client, service)
    channel(client, service, "mail", "rider@home.example")
    channel(client, service, "mail", "other@home.example", weekly_on=6)  # made since its last day
    assert run(service, library, post(mail), NOON + timedelta(days=2)).sent == 1
    assert [str(each["To"]) for each in mail.mails] == ["rider@home.example"]
    assert run(service, library, post(mail), NOON + timedelta(days=3)).sent == 0


def test_nothing_due_is_no_message_and_what_is_put_off_stays_out(
    client: httpx.Client, service: Served, library: Library, mail: Letters
) -> None:
    _, chain = overdue_chain(client, service)
    channel(client, service, "mail", "rider@home.example")
    items = got(client, f"/parts/{chain}/due")["items"]
    for each in items:
        sent = {"until_on": "2026-05-25", "reason": "Waits for the stand."}
        ok(client.put(f"{API}/parts/{chain}/tasks/{each['task']}/put-off", json=sent))
    run(service, library, post(mail))
    assert not any("chain" in each.get_payload(decode=True).decode().lower().split("part maker")[0]  # type: ignore[union-attr]
                   for each in mail.mails)  # fmt: skip


def test_safety_is_told_at_once_and_not_again_on_the_day_of_the_digest(
    client: httpx.Client, service: Served, library: Library, hook: Calls
) -> None:
    on, _ = overdue_chain(client, service)
    channel(client, service, "webhook", hook.address, weekly_on=1)
    assert run(service, library, post()).sent == 0  # a chain without oil is no safety
    made(client, "/maintenance-events", build=on, kind="crashed")
    ok(client.get(f"{API}/builds"))
    done = run(service, library, post(), NOON + timedelta(minutes=5))
    assert done.sent == 1
    [(_, body)] = hook.calls
    assert body["kind"] == "at once"
    told = {each["task"] for each in body["bicycles"][0]["items"]}
    assert "whole-bicycle.after-crash" in told
    run(service, library, post(), NOON + timedelta(minutes=9))
    assert len(hook.calls) == 1
    run(service, library, post(), NOON + timedelta(days=1))
    digest = hook.calls[-1][1]
    assert digest["kind"] == "weekly"
    assert "whole-bicycle.after-crash" not in {each["task"] for each in digest["bicycles"][0]["items"]}


def test_a_call_is_signed_and_says_its_id(client: httpx.Client, service: Served, library: Library, hook: Calls) -> None:
    overdue_chain(client, service)
    key = channel(client, service, "webhook", hook.address)["signing_key"]
    run(service, library, post())
    [(headers, _)] = hook.calls
    message_id = headers["idempotency-key"].strip('"')
    told = f"{message_id}.{headers['locknut-time']}.{headers['raw']}".encode()
    signature = hmac.new(key.encode(), told, hashlib.sha256).hexdigest()
    assert headers["locknut-signature"] == f"sha256={signature}"
    assert UUID(message_id).version == 7
    listed = got(client, f"/people/{service.who.person_id}/channels")["items"]
    assert [each["signing_key"] for each in listed] == [None]


@pytest.mark.parametrize(
    ("spoil", "why"),
    [
        ({"answer": "451 try later"}, "answered 451"),
        ({"refuse": "550 nobody here"}, "refused the address"),
        ({"answer": "554 no"}, "answered 554"),
    ],
)
def test_what_a_mail_server_refuses_is_kept_and_comes_later_under_the_same_id(
    spoil: dict[str, str], why: str, client: httpx.Client, service: Served, library: Library, mail: Letters
) -> None:
    overdue_chain(client, service)
    channel(client, service, "mail", "rider@home.example")
    for name, worth in spoil.items():
        setattr(mail, name, worth)
    assert run(service, library, post(mail)).failed == 1
    [shown] = got(client, f"/people/{service.who.person_id}/channels")["items"]
    assert why in shown["last_error"]
    assert shown["failing_since"] is not None
    mail.answer, mail.refuse = "250 OK", ""
    assert run(service, library, post(mail), NOON + timedelta(minutes=4)).sent == 0  # not yet again
    assert run(service, library, post(mail), NOON + timedelta(minutes=6)).sent == 1
    assert len({str(each["Message-ID"]) for each in mail.mails}) == 1
    assert len({each.get_payload() for each in mail.mails}) == 1
    [shown] = got(client, f"/people/{service.who.person_id}/channels")["items"]
    assert (shown["failing_since"], shown["last_error"]) == (None, None)


def test_a_mail_server_that_is_not_there_or_hangs_loses_nothing(
    client: httpx.Client, service: Served, library: Library, mail: Letters
) -> None:
    overdue_chain(client, service)
    channel(client, service, "mail", "rider@home.example")
    assert run(service, library, post()).failed == 1  # none is set
    with closing(socket.socket()) as silent:
        silent.bind(("127.0.0.1", 0))
        silent.listen(1)
        hanging = Post(MailServer("127.0.0.1", silent.getsockname()[1], False), "locknut@test.example", seconds=0.3)
        assert run(service, library, hanging, NOON + timedelta(minutes=6)).failed == 1
    [shown] = got(client, f"/people/{service.who.person_id}/channels")["items"]
    assert "did not answer in time" in shown["last_error"]
    assert run(service, library, post(mail), NOON + timedelta(hours=2)).sent == 1


def test_a_connection_lost_after_the_data_repeats_it_under_the_same_id(
    client: httpx.Client, service: Served, library: Library, mail: Letters
) -> None:
    overdue_chain(client, service)
    channel(client, service, "mail", "rider@home.example")
    mail.cut = True
    assert run(service, library, post(mail)).failed == 1
    mail.cut = False
    assert run(service, library, post(mail), NOON + timedelta(minutes=6)).sent == 1
    first, second = mail.mails
    assert (first["Message-ID"], first.get_payload()) == (second["Message-ID"], second.get_payload())


def test_a_password_is_not_sent_in_the_clear(mail: Letters, monkeypatch: pytest.MonkeyPatch) -> None:
    here = socket.getaddrinfo("127.0.0.1", mail.port)
    monkeypatch.setattr(socket, "getaddrinfo", lambda *_, **__: here)  # a name elsewhere that leads to our server
    named = MailServer("mail.home.example", mail.port, False, "me", "s3cret")
    with pytest.raises(NotSent, match=r"offers no encryption, and the password of LOCKNUT_SMTP is not sent"):
        send(claimed("rider@home.example"), Post(named, "locknut@test.example", seconds=2))
    assert mail.mails == []
    assert is_here("127.0.0.1")
    assert is_here("localhost")
    assert not is_here("mail.home.example")


def test_a_webhook_that_hangs_is_let_go(client: httpx.Client, service: Served, library: Library, hook: Calls) -> None:
    overdue_chain(client, service)
    channel(client, service, "webhook", hook.address)
    hook.before = lambda _: time.sleep(1)
    assert run(service, library, post(seconds=0.2)).failed == 1
    [shown] = got(client, f"/people/{service.who.person_id}/channels")["items"]
    assert "did not answer in time" in shown["last_error"]


@pytest.mark.parametrize(("status", "location"), [(302, "http://127.0.0.1:9/"), (500, ""), (404, "")])
def test_a_webhook_that_does_not_take_it_is_called_again_under_the_same_key(
    status: int, location: str, client: httpx.Client, service: Served, library: Library, hook: Calls
) -> None:
    overdue_chain(client, service)
    channel(client, service, "webhook", hook.address)
    hook.status, hook.location = status, location
    assert run(service, library, post()).failed == 1
    [shown] = got(client, f"/people/{service.who.person_id}/channels")["items"]
    assert f"answered {status}" in shown["last_error"]
    hook.status, hook.location = 204, ""
    assert run(service, library, post(), NOON + timedelta(minutes=6)).sent == 1
    (first, _), (second, _) = hook.calls
    assert first["idempotency-key"] == second["idempotency-key"]
    assert first["raw"] == second["raw"]
    assert first["locknut-signature"] == second["locknut-signature"]


def test_a_private_address_is_not_called_unless_that_is_allowed(
    client: httpx.Client, service: Served, library: Library, hook: Calls
) -> None:
    overdue_chain(client, service)
    channel(client, service, "webhook", hook.address)
    assert run(service, library, post(may_be_private=False)).failed == 1
    assert hook.calls == []
    [shown] = got(client, f"/people/{service.who.person_id}/channels")["items"]
    assert "is a private address (127.0.0.1); LOCKNUT_WEBHOOK_PRIVATE=allowed" in shown["last_error"]


@pytest.mark.parametrize(
    "number",
    [
        *("127.0.0.1", "10.1.2.3", "172.16.0.1", "192.168.1.1", "169.254.169.254", "100.64.0.1", "0.0.0.0"),  # noqa: S104
        *("::1", "fe80::1", "fd00::1", "::ffff:127.0.0.1", "::ffff:10.0.0.1", "2002:7f00:1::", "224.0.0.1", "::"),
        *("64:ff9b::7f00:1", "64:ff9b::a00:1", "::127.0.0.1", "64:ff9b:1::10.0.0.1"),
    ],
)
def test_addresses_inside_are_no_open_ones(number: str) -> None:
    assert not is_open(number)


@pytest.mark.parametrize("number", ["8.8.8.8", "2606:4700:4700::1111", "::ffff:8.8.8.8", "64:ff9b::808:808"])
def test_addresses_of_the_internet_are_open(number: str) -> None:
    assert is_open(number)


def test_a_name_that_leads_inside_is_refused_and_one_that_leads_nowhere_is_said() -> None:
    with pytest.raises(NotSent, match="localhost is a private address"):
        look_up("localhost", 80, may_be_private=False)
    with pytest.raises(NotSent, match="is not known by that name"):
        look_up("nowhere.invalid", 80, may_be_private=True)


def claimed(address: str) -> reminders.Claimed:
    """A message that is about to be sent."""
    words = ("3 things: Räd ✓", "Grüße", "{}")
    return reminders.Claimed(UUID(int=7), UUID(int=8), "weekly", address, "mail", None, *words, NOON, 0)


def test_a_bicycles_name_or_an_address_cannot_write_headers() -> None:
    mail = mail_of(claimed("rider@home.example"), "locknut@test.example")
    assert mail["Subject"] == "3 things: Räd ✓"
    assert bytes(mail).isascii()
    with pytest.raises(ValueError, match="linefeed or carriage return"):
        mail_of(claimed("a@b.example\r\nBcc: c@d.example"), "locknut@test.example")


def test_an_address_that_no_library_takes_is_a_message_that_did_not_arrive() -> None:
    odd = replace(claimed("http://127.0.0.1:9/a\x01"), channel_kind="webhook")
    with pytest.raises(NotSent, match="could not be reached"):
        send(odd, post())


def test_a_lease_that_ran_out_is_taken_over_and_the_first_can_mark_nothing_any_more(
    client: httpx.Client, service: Served, library: Library, hook: Calls
) -> None:
    overdue_chain(client, service)
    channel(client, service, "webhook", hook.address)
    hook.status = 500
    run(service, library, post())
    later = NOON + timedelta(hours=1)
    with service.database.writing() as session:
        first = reminders.claim(session, later)
        assert first is not None
        assert reminders.claim(session, later + timedelta(minutes=4)) is None
        second = reminders.claim(session, later + timedelta(minutes=6))
        assert second is not None
        assert second.id == first.id
        assert not reminders.mark_sent(session, first, later)
        assert reminders.mark_sent(session, second, later)
        assert reminders.claim(session, later + timedelta(days=9)) is None


def test_a_service_reminds_every_few_minutes_until_it_ends() -> None:
    turned = threading.Event()
    reminding = Reminding(turned.set, every=timedelta(seconds=0.01))
    assert not turned.is_set()
    reminding.start()
    assert turned.wait(5)
    reminding.end()
