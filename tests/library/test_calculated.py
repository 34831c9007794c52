"""A join that names a calculation names exactly what it reads and answers; each calculation is named by a join."""

import shutil
from pathlib import Path

import pytest

from service.library.check import check
from service.library.mistakes import Mistake
from service.library.read import procedures_folder

TINY = Path(__file__).parent / "tiny"
JOIN = """
[[joins]]
key = "brakes"
title = "Brakes"
by = "two_brakes"
inputs = ["brake-lever.works_brake", "fork.brake_mount"]
care_keys = ["fixed-gear", "never"]
say = "Two."
basis = "common practice"
"""


def found(folder: Path, joins: str) -> list[str]:
    """What is wrong with the tiny library once these joins stand in it, with the line."""
    shutil.copytree(TINY, folder / "tiny")
    whole = folder / "tiny" / "categories" / "whole-bicycle.toml"
    lines = whole.read_text("utf-8")
    at = lines.index("[[steps]]")
    whole.write_text(lines[:at] + joins + "\n" + lines[at:], "utf-8")
    return [_told(each) for each in check(folder / "tiny") if not each.warning]


def _told(mistake: Mistake) -> str:
    line = mistake.file.read_text("utf-8").splitlines()[mistake.line - 1]
    return f"{mistake.what} | {line}"


@pytest.mark.parametrize(
    ("what", "line"),
    [
        ("two_brakes does not read fork.brake_mount", "inputs = "),
        ("two_brakes never answers 'never'", "care_keys = "),
        ("two_brakes reads hub-brake.kind too: name it in `inputs`", "by = "),
        ("two_brakes reads single-sprocket.kind too: name it in `inputs`", "by = "),
    ],
)
def test_inputs_and_keys_are_those_of_the_calculation(what: str, line: str, tmp_path: Path) -> None:
    told = [each for each in found(tmp_path, JOIN) if what in each]
    assert len(told) == 1
    assert f"| {line}" in told[0]


def test_a_key_that_the_join_does_not_list_is_missed(tmp_path: Path) -> None:
    told = found(tmp_path, JOIN.replace('"fixed-gear", ', ""))
    assert any("two_brakes answers 'fixed-gear' too: name it in `care_keys`" in each for each in told)


def test_an_unknown_calculation_is_a_mistake_with_a_guess(tmp_path: Path) -> None:
    told = found(tmp_path, JOIN.replace('"two_brakes"', '"two_brake"'))
    assert any("no calculation 'two_brake'; did you mean 'two_brakes'?" in each for each in told)


def test_a_calculation_that_no_join_names_is_a_mistake(tmp_path: Path) -> None:
    shutil.copytree(procedures_folder(), tmp_path / "procedures")
    whole = tmp_path / "procedures" / "categories" / "whole-bicycle.toml"
    whole.write_text(whole.read_text("utf-8").replace('by = "reflectors"', 'by = "chain_guard"'), "utf-8")
    told = [each.what for each in check(tmp_path / "procedures") if not each.warning]
    assert any("no join names the calculation reflectors" in each for each in told)
