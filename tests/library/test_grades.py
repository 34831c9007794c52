"""How far each file of the procedures is: complete, or read through in a printed checklist that is committed."""

import re
import tomllib
from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from service.library.read import procedures_folder

CHECKLISTS = Path(__file__).parents[1] / "checklists"
FILES = sorted((procedures_folder() / "categories").glob("*.toml"))
STEP = re.compile(r"^\d+\. .*  \[([a-z0-9-]+)\.([a-z0-9-]+)[@ ]", re.MULTILINE)
"""The line of a step in a printed checklist: its number and title, then category.step, and @place where it has one."""


@cache
def heads() -> Mapping[str, Any]:
    """Every file that begins a category, as it stands; those that go on with one have no grade of their own."""
    read = {path.name: tomllib.loads(path.read_text("utf-8")) for path in FILES}
    return {name: each for name, each in read.items() if "continues" not in each}


@cache
def printed() -> frozenset[str]:
    """The categories of which a step or a look stands in a checklist that is committed."""
    texts = [path.read_text("utf-8") for path in sorted(CHECKLISTS.glob("*.txt"))]
    return frozenset(category for text in texts for category, _ in STEP.findall(text))


def unread(files: Mapping[str, Any]) -> Iterator[str]:
    """Files that say they were read through, though no checklist shows a step of theirs."""
    for name, each in files.items():
        if each.get("grade") == "read through" and each["category"] not in printed():
            yield name


@pytest.mark.parametrize("name", sorted(heads()))
def test_a_file_is_at_least_complete(name: str) -> None:
    assert heads()[name].get("grade") in ("complete", "read through")


def test_a_file_that_goes_on_with_another_has_no_grade_of_its_own() -> None:
    rest = {path.name for path in FILES} - set(heads())
    assert rest
    assert [path.name for path in FILES if path.name in rest and "\ngrade =" in path.read_text("utf-8")] == []


def test_a_file_that_was_read_through_stands_in_a_printed_checklist() -> None:
    assert len(printed()) > 40
    assert list(unread(heads())) == []


def test_a_file_that_no_checklist_shows_cannot_have_been_read_through() -> None:
    mirror, frame = ({"category": name, "grade": "read through"} for name in ("mirror", "frame"))
    assert list(unread({"mirror.toml": mirror, "frame.toml": frame})) == ["mirror.toml"]


def test_what_is_rightly_missing_says_why_in_a_sentence() -> None:
    reasons = {f"{name}: {each}": why for name, head in heads().items() for each, why in head.get("exempt", {}).items()}
    assert len(reasons) > 50
    assert [where for where, why in reasons.items() if len(why.split()) < 3] == []
