"""`check` finds each kind of mistake, on its line; the tiny library beside this file has none."""

import shutil
from pathlib import Path

import pytest

from service.library.check import check, write_order
from service.library.mistakes import Mistake
from tests.library.planted import MISTAKES, WHOLE, Planted
from tests.library.planted_doubts import WARNINGS

TINY = Path(__file__).parent / "tiny"


def test_the_tiny_library_has_no_mistake() -> None:
    assert check(TINY) == []


@pytest.mark.parametrize("planted", MISTAKES.values(), ids=MISTAKES)
def test_a_mistake_is_found_on_its_line(planted: Planted, tmp_path: Path) -> None:
    found = [each for each in _checked(planted, tmp_path) if planted[4] in each.what]
    assert [each.warning for each in found[:1]] == [False], found
    assert planted[3] in _line(found[0])


@pytest.mark.parametrize("planted", WARNINGS.values(), ids=WARNINGS)
def test_a_doubt_is_found_on_its_line(planted: Planted, tmp_path: Path) -> None:
    found = [each for each in _checked(planted, tmp_path) if planted[4] in each.what]
    assert [each.warning for each in found[:1]] == [True], found
    assert any(planted[3] in _line(each) for each in found)


def test_a_cycle_is_named_with_each_of_its_edges_and_their_lines(tmp_path: Path) -> None:
    whole = _copied(tmp_path) / WHOLE
    whole.write_text(whole.read_text().replace('after = ["clean"]', 'after = ["clean"]\nneeds = ["brake-set"]'))
    found = [each for each in check(tmp_path / "tiny") if each.what.startswith("cycle")]
    said = [f"{each.what.split(': ')[1]} | {_line(each).strip()}" for each in found if not each.warning]
    assert len(said) == len(found) == 5, found
    assert any("whole-bicycle.position comes after cable-disc-caliper.tighten@" in each for each in said)
    assert (
        'fork.cut comes after whole-bicycle.position (whole-bicycle.toml:15), as it needs "position-set" '
        '| needs = ["position-set"]'
    ) in said


def test_a_missing_file_is_named(tmp_path: Path) -> None:
    folder = _copied(tmp_path)
    (folder / "tools.toml").unlink()
    assert [each.shown(folder) for each in check(folder) if each.file.name == "tools.toml"] == [
        "tools.toml:1: this file is missing"
    ]


def test_all_mistakes_are_found_at_once(tmp_path: Path) -> None:
    folder = _copied(tmp_path)
    for file, old, new, *_ in (MISTAKES["an unknown tool"], MISTAKES["a wrong type"], MISTAKES["an unknown stage"]):
        path = folder / file
        path.write_text(path.read_text().replace(old, new, 1))
    assert {each.file.name for each in check(folder)} >= {"cable-disc-caliper.toml", "fork.toml"}


def test_the_written_order_is_what_check_compares_with(tmp_path: Path) -> None:
    folder = _copied(tmp_path)
    (folder / "reference-order.txt").unlink()
    assert [each.warning for each in check(folder)] == [True]
    write_order(folder)
    assert check(folder) == []
    assert (folder / "reference-order.txt").read_text() == (TINY / "reference-order.txt").read_text()


def _copied(tmp_path: Path) -> Path:
    return Path(shutil.copytree(TINY, tmp_path / "tiny"))


def _checked(planted: Planted, tmp_path: Path) -> list[Mistake]:
    file, old, new, *_ = planted
    path = _copied(tmp_path) / file
    text = path.read_text()
    assert old in text, "what is to be replaced is not there"
    path.write_text(text.replace(old, new, 1))
    return check(tmp_path / "tiny")


def _line(mistake: Mistake) -> str:
    return mistake.file.read_text().splitlines()[mistake.line - 1]
