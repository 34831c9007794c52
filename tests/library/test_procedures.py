"""Every file of the procedures that come with the program is without mistakes, and their order is the written one."""

from collections import defaultdict
from collections.abc import Mapping
from functools import cache
from pathlib import Path

import pytest

from service.library.check import check
from service.library.mistakes import Mistake
from service.library.read import load, procedures_folder

FOLDER = procedures_folder()
FILES = sorted(path.relative_to(FOLDER).as_posix() for path in FOLDER.rglob("*.toml"))


@cache
def _mistakes() -> Mapping[Path, list[Mistake]]:
    met: dict[Path, list[Mistake]] = defaultdict(list)
    for mistake in check(FOLDER):
        if not mistake.warning:
            met[mistake.file].append(mistake)
    return met


@pytest.mark.parametrize("name", FILES)
def test_a_file_has_no_mistake(name: str) -> None:
    assert [mistake.shown() for mistake in _mistakes().get(FOLDER / name, [])] == []


def test_the_reference_order_is_the_written_one() -> None:
    written = (FOLDER / "reference-order.txt").read_text("utf-8").split()
    order = load(FOLDER).order
    assert [category + f".{step}" + (f"@{place}" if place else "") for category, step, place in order] == written


def test_every_step_of_every_place_has_a_rank_of_its_own() -> None:
    library = load(FOLDER)
    assert sorted(library.order.values()) == list(range(len(library.order)))
    steps = {(name, step.key) for name, c in library.categories.items() for step in (*c.used, *c.steps)}
    assert steps <= {(category, step) for category, step, _ in library.order}


def test_a_file_begins_with_a_comment_that_says_what_it_owns() -> None:
    assert [name for name in FILES if not (FOLDER / name).read_text("utf-8").startswith("# ")] == []
