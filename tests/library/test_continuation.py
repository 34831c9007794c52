"""A long category in two files: the second goes on where the first ends, and each mistake names its own file."""

import shutil
from pathlib import Path

from service.library.check import check
from service.library.read import load

TINY = Path(__file__).parent / "tiny"
STEP = '[[steps]]\nkey = "{key}"\ntitle = "Wipe"\ntext = "Dry."\nminutes = 1\n'


def folder_with(tmp_path: Path, text: str) -> Path:
    folder = tmp_path / "procedures"
    shutil.copytree(TINY, folder)
    (folder / "categories" / "fork-more.toml").write_text(text)
    return folder


def test_its_entries_come_after_those_of_the_first_file(tmp_path: Path) -> None:
    library = load(folder_with(tmp_path, 'continues = "fork"\n' + STEP.format(key="wipe")))
    first = [step.key for step in load(TINY).categories["fork"].steps]
    assert [step.key for step in library.categories["fork"].steps] == [*first, "wipe"]
    assert "fork-more" not in library.categories


def test_a_mistake_in_it_names_its_own_file_and_line(tmp_path: Path) -> None:
    text = 'continues = "fork"\n' + STEP.format(key="wipe") + 'tools = ["spoon"]\n'
    (mistake,) = [each for each in check(folder_with(tmp_path, text)) if not each.warning and "spoon" in each.what]
    assert (mistake.file.name, mistake.line) == ("fork-more.toml", 7)


def test_a_key_that_the_first_file_has_is_a_mistake(tmp_path: Path) -> None:
    known = load(TINY).categories["fork"].steps[0].key
    found = check(folder_with(tmp_path, 'continues = "fork"\n' + STEP.format(key=known)))
    assert [(each.file.name, each.line) for each in found if "already in its first file" in each.what] == [
        ("fork-more.toml", 3)
    ]


def test_it_holds_tables_alone_and_continues_a_category_that_exists(tmp_path: Path) -> None:
    found = check(folder_with(tmp_path, 'continues = "fork"\ntitle = "Other"\n'))
    assert [each.line for each in found if "has only" in each.what] == [2]
    (tmp_path / "procedures" / "categories" / "fork-more.toml").write_text('continues = "fokr"\n')
    assert [each.line for each in check(tmp_path / "procedures") if "no category 'fokr'" in each.what] == [1]
