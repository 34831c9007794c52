"""The page of reminders: a channel added, tried, switched off; a key shown once; why nothing arrives."""

import re

import httpx
import pytest

from service.sending import Post, remind
from tests.api.words import NOON, got
from tests.conftest import Served
from tests.web.browser import Browser

pytestmark = pytest.mark.parametrize("database", ["sqlite"], indirect=True)


def test_a_webhook_is_added_its_key_shown_once_and_a_trial_says_why_it_fails(
    browser: Browser, client: httpx.Client, service: Served
) -> None:
    service.now = NOON
    page = browser.open("/reminders")
    sent = {"kind": "webhook", "address": "http://127.0.0.1:9/hook", "weekly_on": "1"}
    key = re.search(r"[0-9a-f]{64}", browser.send(page.form("/reminders"), sent).main)
    assert key is not None
    [channel] = got(client, f"/people/{service.who.person_id}/channels")["items"]
    page = browser.open("/reminders")
    assert key[0] not in page.main
    assert "weekly on Tuesday" in page.main
    own = f"/reminders/{channel['id']}"
    page = browser.send(page.form(own), {"do": "trial"})
    assert "1 waiting" in page.main
    assert remind(service.database, service.app.state.library, Post(), lambda: NOON).failed == 1
    page = browser.open("/reminders")
    assert "does not arrive" in page.main
    assert "127.0.0.1 is a private address" in page.main
    page = browser.send(page.form(own), {"do": "off"})
    assert "switched off" in page.main
    page = browser.send(page.form(own), {"do": "on"})
    assert "switched off" not in page.main.partition("Where they go")[2].partition("Add one")[0]
    assert "http://127.0.0.1:9/hook" not in browser.send(page.form(own), {"do": "remove"}).main


def test_what_is_no_address_is_said_at_its_field(browser: Browser) -> None:
    page = browser.open("/reminders")
    shown = browser.send(page.form("/reminders"), {"kind": "mail", "address": "nobody"}, status=422)
    assert "should be one address for mail" in shown.main
