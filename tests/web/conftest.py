"""What tests of the pages are given: a browser without scripts, signed in by its cookie."""

from collections.abc import Iterator
from datetime import UTC, datetime

import pytest

from service.records import people
from tests.conftest import Served
from tests.web.browser import Browser


@pytest.fixture
def browser(service: Served) -> Iterator[Browser]:
    """The owner's browser."""
    with service.database.writing() as session:
        secret = people.add_device(
            session, service.who.person_id, title="browser", kind="browser", now=datetime.now(UTC)
        )
    signed_in = Browser(service.address, secret)
    yield signed_in
    signed_in.client.close()
