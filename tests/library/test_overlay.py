"""A person's own folder: new categories, changed and dropped tables, and mistakes named in the right file."""

import shutil
from pathlib import Path

import pytest

from service.library.check import check
from service.library.mistakes import LibraryMistakes
from service.library.read import load

TINY = Path(__file__).parent / "tiny"
CALLIPER = "cable-disc-caliper"
BOLT = """
[[fastenings]]
key = "mount-bolt"
title = "Mounting bolts"
between = ["cable-disc-caliper", "host"]
low_nm = 5
high_nm = 6
basis = "maker"
source = "a-table"
"""


def own(tmp_path: Path, text: str, name: str = f"categories/{CALLIPER}.toml") -> Path:
    file = tmp_path / "own" / name
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_text(text)
    return tmp_path / "own"


def test_a_table_with_the_same_key_replaces_the_whole_one(tmp_path: Path) -> None:
    library = load(TINY, own(tmp_path, f'changes = "{CALLIPER}"\n{BOLT}'))
    (bolt,) = library.categories[CALLIPER].fastenings
    assert (bolt.low_nm, bolt.high_nm, bolt.thread) == (5, 6, None)


def test_what_is_changed_is_remembered_as_an_own_figure(tmp_path: Path) -> None:
    library = load(TINY, own(tmp_path, f'changes = "{CALLIPER}"\n{BOLT}'))
    assert library.own_figures == {f"{CALLIPER}.fastenings.mount-bolt"}
    assert load(TINY).own_figures == frozenset()


def test_a_fastening_with_another_condition_is_added(tmp_path: Path) -> None:
    text = f'changes = "{CALLIPER}"\n{BOLT}when = {{ mount = "flat" }}\n'
    library = load(TINY, own(tmp_path, text))
    assert [bolt.low_nm for bolt in library.categories[CALLIPER].fastenings] == [6, 5]


def test_a_new_key_is_added_behind_the_others(tmp_path: Path) -> None:
    step = '\n[[steps]]\nkey = "wipe"\ntitle = "Wipe"\ntext = "Dry."\nminutes = 1\n'
    library = load(TINY, own(tmp_path, f'changes = "{CALLIPER}"\n{step}'))
    assert [step.key for step in library.categories[CALLIPER].steps][-2:] == ["tighten", "wipe"]
    assert (CALLIPER, "wipe", "front") in library.order


def test_what_is_dropped_is_gone_and_the_programs_own_is_kept_beside_it(tmp_path: Path) -> None:
    text = f'changes = "{CALLIPER}"\ndrop = ["steps.tighten", "tasks.take-up-pads", "used.arm"]\n'
    library = load(TINY, own(tmp_path, text))
    assert not library.categories[CALLIPER].used
    assert library.program is not None
    assert library.program.categories == load(TINY).categories
    assert load(TINY).program is None


def test_what_only_adds_keeps_no_second_library(tmp_path: Path) -> None:
    text = 'category = "rotor"\ntitle = "Rotor"\ninto = ["build"]\nstage = "brakes"\n'
    text += '[[steps]]\nkey = "fit"\ntitle = "Fit"\ntext = "On."\nfits = true\nminutes = 5\n'
    assert load(TINY, own(tmp_path, text, "categories/rotor.toml")).program is None


def test_what_is_not_changed_is_the_same_value_in_both(tmp_path: Path) -> None:
    library = load(TINY, own(tmp_path, f'changes = "{CALLIPER}"\n{BOLT}'))
    assert library.program is not None
    same = {name for name, each in library.categories.items() if library.program.categories[name] is each}
    assert same == set(library.categories) - {CALLIPER}


def test_who_still_names_what_was_dropped_is_said_in_the_line_that_drops_it(tmp_path: Path) -> None:
    folder = own(tmp_path, f'changes = "{CALLIPER}"\n\ndrop = ["steps.tighten"]\n')
    found = [each for each in check(TINY, folder) if each.file.is_relative_to(folder)]
    assert {(each.line, each.warning) for each in found} == {(3, True)}
    said = " ".join(each.what for each in found)
    assert f"{CALLIPER}.take-up-pads, trouble rubs: it is passed over there" in said
    assert f"{CALLIPER}.tighten gave the milestone 'brake-set', which nothing gives now" in said


def test_a_fact_that_is_still_asked_for_cannot_be_dropped(tmp_path: Path) -> None:
    folder = own(tmp_path, f'changes = "{CALLIPER}"\ndrop = ["specs.moving_pads"]\n')
    (found,) = [each for each in check(TINY, folder) if not each.warning]
    assert (found.file.parent.parent, found.line) == (folder, 2)
    assert f"specs.moving_pads of {CALLIPER} is still named by {CALLIPER}.steps.2, {CALLIPER}.steps.3" in found.what


def test_a_group_that_a_drop_leaves_alone_is_said_in_the_line_that_drops_it(tmp_path: Path) -> None:
    folder = own(tmp_path, f'changes = "{CALLIPER}"\ndrop = ["steps.centre-pads"]\n')
    (found,) = [each for each in check(TINY, folder) if not each.warning]
    assert (found.line, found.what) == (2, "drop: without it: the group 'pad setting' has one step only")


def test_one_limit_is_changed_without_repeating_the_dimension(tmp_path: Path) -> None:
    limit = '\n[[wear]]\nkey = "lining_mm"\nlimits = [{ action = "replace", value = 1.4, basis = "from memory" }]\n'
    library = load(TINY, own(tmp_path, f'changes = "{CALLIPER}"\n{limit}'))
    (lining,) = library.categories[CALLIPER].wear
    assert [(limit.action, limit.value) for limit in lining.limits] == [("replace", 1.4), ("stop", 0.5)]
    assert lining.title == "Lining on the thinner pad"


def test_a_new_category_brings_its_joins_and_changes_no_other_file(tmp_path: Path) -> None:
    text = 'category = "rotor"\ntitle = "Rotor"\ninto = ["build"]\nstage = "brakes"\n'
    text += '[[steps]]\nkey = "fit"\ntitle = "Fit"\ntext = "On."\nfits = true\nminutes = 5\n'
    library = load(TINY, own(tmp_path, text, "categories/rotor.toml"))
    assert set(library.categories) - set(load(TINY).categories) == {"rotor"}
    assert library.digest != load(TINY).digest


def test_own_tools_and_sources_are_added(tmp_path: Path) -> None:
    library = load(TINY, own(tmp_path, '[tools.anvil]\ntitle = "Anvil"\n', "tools.toml"))
    assert set(library.tools) == {"hex", "torque-wrench", "facer", "anvil"}


@pytest.mark.parametrize(
    ("text", "line", "what"),
    [
        (f'category = "{CALLIPER}"\n', 1, "begin with changes"),
        ('\nchanges = "calliper"\n', 2, "there is no category 'calliper'"),
        (f'changes = "{CALLIPER}"\ndrop = ["steps.tightens"]\n', 2, "has no 'steps.tightens'"),
        (f'changes = "{CALLIPER}"\n{BOLT}note = 5\n', 11, "should be words in quotes"),
        (f'changes = "{CALLIPER}"\n{BOLT.replace("a-table", "b-table")}', 10, "no source 'b-table'"),
        (f'changes = "{CALLIPER}"\n\n\ndisturbs = ["brake-sat"]\n', 4, "no milestone 'brake-sat'"),
    ],
)
def test_a_mistake_names_the_own_file_and_its_line(tmp_path: Path, text: str, line: int, what: str) -> None:
    folder = own(tmp_path, text)
    found = [each for each in check(TINY, folder) if what in each.what]
    assert [(each.file, each.line) for each in found] == [(folder / f"categories/{CALLIPER}.toml", line)]
    with pytest.raises(LibraryMistakes, match="mistakes"):
        load(TINY, folder)


def test_a_mistake_behind_a_replaced_table_keeps_its_own_line(tmp_path: Path) -> None:
    base = Path(shutil.copytree(TINY, tmp_path / "tiny"))
    file = base / f"categories/{CALLIPER}.toml"
    file.write_text(file.read_text().replace('tools = ["hex:5", "torque-wrench"]', 'tools = ["hex:6"]'))
    step = '\n[[steps]]\nkey = "hang"\ntitle = "Hang"\ntext = "By hand."\nfits = true\nminutes = 1\n'
    (wrong,) = [each for each in check(base, own(tmp_path, f'changes = "{CALLIPER}"\n{step}')) if "hex" in each.what]
    assert file.read_text().splitlines()[wrong.line - 1] == 'tools = ["hex:6"]'
