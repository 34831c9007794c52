"""docs/procedures.md tells the truth: its example is taken out of the page, checked, and does what is said."""

import re
from dataclasses import MISSING, fields
from pathlib import Path

import pytest

from service.cli import main
from service.domain.procedure import Category, Fastening, Join, SpecField, Step, Task, Wear
from service.library.check import check
from service.library.known import NEEDS_SOURCE
from service.library.read import load, procedures_folder

GUIDE = (Path(__file__).parents[2] / "docs/procedures.md").read_text("utf-8")
KINDS = {"specs": SpecField, "joins": Join, "fastenings": Fastening, "steps": Step, "tasks": Task, "wear": Wear}


def examples() -> dict[str, str]:
    """Every example of the guide, by the name of its file."""
    found = {}
    for block in re.findall(r"^```toml\n(.*?)^```$", GUIDE, re.MULTILINE | re.DOTALL):
        named = re.match(r'(?:changes|category) = "([a-z-]+)"', block)
        found[f"categories/{named[1]}.toml" if named else "sources.toml"] = block
    return found


@pytest.fixture
def own(tmp_path: Path) -> Path:
    """A folder as the guide has it written."""
    for name, text in examples().items():
        file = tmp_path / "own" / name
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(text)
    return tmp_path / "own"


def said(own: Path) -> list[str]:
    """What the check says of the files in this folder, warnings too."""
    return [each.what for each in check(procedures_folder(), own) if each.file.is_relative_to(own)]


def test_the_example_is_of_three_files_that_the_guide_names() -> None:
    assert set(examples()) == {"categories/rotor.toml", "categories/mirror.toml", "sources.toml"}
    assert [name for name in examples() if f"`{name}`" not in GUIDE] == []


def test_the_example_has_neither_mistakes_nor_warnings(own: Path) -> None:
    assert said(own) == []
    assert [each for each in check(procedures_folder(), own) if not each.warning] == []


def test_the_check_would_see_a_mistake_in_it(own: Path) -> None:
    file = own / "categories/mirror.toml"
    file.write_text(file.read_text().replace('needs = ["grips-on"]', 'needs = ["grips-om"]'))
    [mistake] = said(own)
    assert "did you mean 'grips-on'" in mistake


def test_the_torque_is_corrected_and_the_category_added(own: Path) -> None:
    plain, laid = load(procedures_folder()), load(procedures_folder(), own)
    bolts = {each.key: each for each in laid.categories["rotor"].fastenings}
    before = {each.key: each for each in plain.categories["rotor"].fastenings}
    assert (bolts["rotor-bolts"].low_nm, bolts["rotor-bolts"].high_nm) == (5, 6)
    assert len(laid.categories["rotor"].fastenings) == len(plain.categories["rotor"].fastenings)  # replaced, not added
    assert (before["rotor-bolts"].low_nm, before["rotor-bolts"].high_nm) != (5, 6)
    assert set(laid.categories) - set(plain.categories) == {"mirror"}
    assert ("mirror", "fit", "") in laid.order


@pytest.mark.parametrize("when", ["", 'when = { fixing = ["six_bolt", "splined_lockring"] }\n'])
def test_another_condition_adds_a_second_figure_and_the_check_warns_as_the_guide_says(own: Path, when: str) -> None:
    file = own / "categories/rotor.toml"
    file.write_text(re.sub(r"^when = .*\n", when, file.read_text(), flags=re.MULTILINE))
    keys = [each.key for each in load(procedures_folder(), own).categories["rotor"].fastenings]
    assert keys.count("rotor-bolts") == 2
    [warning] = [each for each in check(procedures_folder(), own) if each.file.is_relative_to(own)]
    assert warning.warning
    assert warning.what.endswith("rotor has 'rotor-bolts' under another `when`; both will be shown")
    assert (warning.file, file.read_text().splitlines()[warning.line - 1][:19]) == (file, 'key = "rotor-bolts"')


def test_a_condition_that_never_holds_beside_the_other_is_no_second_figure(own: Path) -> None:
    file = own / "categories/rotor.toml"
    file.write_text(file.read_text().replace('fixing = "six_bolt"', 'fixing = "splined_lockring"'))
    assert said(own) == []


def test_the_three_commands_end_as_the_guide_says(own: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert "until it says: 0 mistakes, 0 warnings." in GUIDE
    assert main(["check", "--own", str(own)]) == 0
    assert capsys.readouterr().out.startswith("0 mistakes, 0 warnings.\n")


@pytest.mark.parametrize("table", KINDS)
def test_what_an_entry_needs_is_what_the_guide_says(table: str) -> None:
    [told] = re.findall(rf"^\| `\[\[{table}\]\]` \|.*\| `([a-z ]+)`[^|]*\|$", GUIDE, re.MULTILINE)
    needed = {each.name for each in fields(KINDS[table]) if each.default is MISSING and each.default_factory is MISSING}
    assert set(told.split()) == needed


def test_every_table_and_basis_is_told() -> None:
    tables = {each.name for each in fields(Category) if each.name in (*KINDS, "used")}
    assert set(re.findall(r"^\| `\[\[([a-z_]+)\]\]`", GUIDE, re.MULTILINE)) == tables
    [basis] = re.findall(r"^- \*\*Basis\.\*\* (.*) \(these name a `source`\)", GUIDE, re.MULTILINE)
    assert tuple(basis.split(", ")) == NEEDS_SOURCE
