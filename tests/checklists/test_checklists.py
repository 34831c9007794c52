"""The whole checklists of the test bicycles, as committed text: a change of what is known shows in review.

Rewritten with LOCKNUT_WRITE_CHECKLISTS=1; then read the difference as a mechanic would before it is committed.
"""

import os
from typing import Any

import httpx
import pytest

from service.domain.procedure import Library
from tests.api.words import NOON, got, start
from tests.checklists.bicycle import BICYCLES, FOLDER, Entered
from tests.checklists.printed import printed
from tests.conftest import Served


def drawn(client: httpx.Client, library: Library, name: str) -> str:
    """One bicycle's findings, checklist, tasks and taking apart, as text."""
    bicycle = Entered(client, library, name)
    bicycle.plan()
    assemble = start(client, bicycle.build)
    findings = got(client, f"/builds/{bicycle.build}/findings")["items"]
    bicycle.fit()
    strip = start(client, bicycle.build, "strip")
    [due] = got(client, "/due", build=bicycle.build)["items"]
    for checklist in (assemble, strip):
        in_words(checklist, library)
    return printed(bicycle.title, assemble, strip, due["items"], findings)


def in_words(checklist: dict[str, Any], library: Library) -> None:
    """What is used up by its title instead of its id, as a page shows it."""
    for used in (*checklist["consumables"], *(each for step in checklist["steps"] for each in step["consumables"])):
        used["what"] = library.consumables[used["what"]].title


@pytest.mark.parametrize("name", BICYCLES)
def test_a_bicycle_gets_the_checklist_that_was_read(
    name: str, client: httpx.Client, service: Served, library: Library
) -> None:
    service.now = NOON
    text, file = drawn(client, library, name), FOLDER / f"{name}.txt"
    if os.environ.get("LOCKNUT_WRITE_CHECKLISTS"):
        file.write_text(text, "utf-8")
    assert text.splitlines() == file.read_text("utf-8").splitlines()
