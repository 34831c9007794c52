"""The page of calendar addresses: made, shown once, ended."""

import httpx
import pytest

from tests.web.browser import Browser

pytestmark = pytest.mark.parametrize("database", ["sqlite"], indirect=True)


def test_an_address_is_shown_once_and_can_be_ended(browser: Browser) -> None:
    page = browser.open("/calendar")
    assert "mute" in page.main
    made = browser.send(page.form("/calendar"), {"title": "Phone"})
    address = next(word for word in made.main.split() if word.endswith(".ics"))
    assert httpx.get(address).status_code == 200
    page = browser.open("/calendar")
    assert address not in page.main
    assert "Phone" in page.main
    [ending] = [form for form in page.forms if form.action.endswith("/end")]
    browser.send(ending)
    assert httpx.get(address).status_code == 404
