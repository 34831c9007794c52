"""A folder of a person's own with every kind of mistake: each named with file and line, all at once, and quickly."""

import os
import socket
import subprocess
import sys
import time
from pathlib import Path

import pytest

from service.cli import main
from service.library.check import check
from service.library.mistakes import LibraryMistakes, Mistake
from service.library.read import load, procedures_folder
from tests.library.planted_own import MIRROR, MISTAKES, WARNINGS, Planted

TINY = Path(__file__).parent / "tiny"
SECONDS = 2.0
"""Far more than `check` needs over the tiny library; what grows with the square of a file takes minutes."""


def own(tmp_path: Path, name: str = "categories/mirror.toml", text: str | bytes = MIRROR) -> Path:
    file = tmp_path / "own" / name
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_bytes(text if isinstance(text, bytes) else text.encode())
    return tmp_path / "own"


def mistakes(folder: Path, base: Path = TINY) -> list[Mistake]:
    began = time.process_time()
    found = [each for each in check(base, folder) if not each.warning]
    assert time.process_time() - began < SECONDS
    if found:
        with pytest.raises(LibraryMistakes) as refused:
            load(base, folder)
        assert list(refused.value.mistakes) == found
    else:
        load(base, folder)
    return found


def line(mistake: Mistake) -> str:
    return mistake.file.read_text("utf-8").splitlines()[mistake.line - 1]


def planted(planted: Planted) -> str:
    old, new, *_ = planted
    assert old in MIRROR, "what is to be replaced is not there"
    return MIRROR.replace(old, new, 1)


def test_the_category_that_mistakes_are_planted_in_has_none(tmp_path: Path) -> None:
    assert [each.shown() for each in check(TINY, own(tmp_path))] == []


@pytest.mark.parametrize("each", MISTAKES.values(), ids=MISTAKES)
def test_a_mistake_is_named_with_its_own_file_and_line(each: Planted, tmp_path: Path) -> None:
    folder = own(tmp_path, text=planted(each))
    found = [mistake for mistake in mistakes(folder) if each[3] in mistake.what]
    assert found, [mistake.shown() for mistake in check(TINY, folder)]
    assert found[0].file == folder / "categories/mirror.toml"
    assert each[2] in line(found[0])


@pytest.mark.parametrize("each", WARNINGS.values(), ids=WARNINGS)
def test_a_doubt_is_named_with_its_own_file_and_line(each: Planted, tmp_path: Path) -> None:
    found = [mistake for mistake in check(TINY, own(tmp_path, text=planted(each))) if each[3] in mistake.what]
    assert [(mistake.warning, each[2] in line(mistake)) for mistake in found] == [(True, True)]


def test_mistakes_of_every_kind_are_told_at_once(tmp_path: Path) -> None:
    """Those of shape do not hide those of meaning, nor one file those of another."""
    kinds = (
        *("a missing key", "an empty title", "an interval of nothing", "a join of an unknown kind"),
        *("a record upside down", "a most of itself", "takes of a step that does not exist", "an unknown table"),
    )
    text = MIRROR
    for old, new, *_ in map(MISTAKES.__getitem__, kinds):
        assert old in text
        text = text.replace(old, new, 1)
    own(tmp_path, "tools.toml", "[tools.anvil]\n")
    own(tmp_path, "categories/lamp.toml", "category = = 1\n")
    said = [each.what for each in mistakes(own(tmp_path, text=text))]
    words = [MISTAKES[kind][3] for kind in kinds] + ["the key `title` is missing", "is not TOML"]
    assert [word for word in words if not any(word in each for each in said)] == []


def test_each_missing_key_is_a_mistake_of_its_own(tmp_path: Path) -> None:
    said = [each.shown(tmp_path / "own") for each in mistakes(own(tmp_path, text='into = ["build"]\n'))]
    first = "categories/mirror.toml:1: categories/mirror: the key"
    assert said == [f"{first} `category` is missing", f"{first} `stage` is missing", f"{first} `title` is missing"]


def test_an_entry_of_the_wrong_shape_is_not_blamed_on_those_who_name_it(tmp_path: Path) -> None:
    text = MIRROR.replace('text = "It stays."', "text = 5")
    assert [each.what for each in mistakes(own(tmp_path, text=text))] == ["steps.3.text: should be words in quotes"]


@pytest.mark.parametrize("end", ["\r\n", "\n"])
@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
def test_a_byte_order_mark_and_the_ends_of_lines_do_not_matter(tmp_path: Path, mark: bytes, end: str) -> None:
    assert mistakes(own(tmp_path, text=mark + MIRROR.replace("\n", end).encode())) == []
    wrong = MIRROR.replace('stage = "brakes"', 'stage = "brake"').replace("\n", end)
    found = mistakes(own(tmp_path, text=mark + wrong.encode()))
    assert [(each.line, line(each)) for each in found] == [(5, 'stage = "brake"')]


def test_a_line_is_counted_as_editors_count_it(tmp_path: Path) -> None:
    """U+2028 parts lines for Python, in no editor and not for TOML."""
    text = MIRROR.replace("Glass upright.", "Glass \u2028 upright.").replace('tools = ["hex:4"]', 'tools = ["hexx:4"]')
    (found,) = mistakes(own(tmp_path, text=text))
    assert text.split("\n")[found.line - 1] == 'tools = ["hexx:4"]'


@pytest.mark.parametrize(
    ("text", "at", "what"),
    [
        (MIRROR.encode("utf-16"), 1, "is not UTF-8"),
        (
            MIRROR.encode().replace(b"Glass", b"Gl\xffss"),
            MIRROR[: MIRROR.index("Glass")].count("\n") + 1,
            "is not UTF-8",
        ),
        (b"#" * 10_000_000, 1, "is over 128 kB"),
        (b"\0" * 10_000_000, 1, "is over 128 kB"),
        (MIRROR.replace("\n", "\r").encode(), 1, "is not TOML"),
        (b"", 1, "the key `category` is missing"),
    ],
)
def test_a_file_that_is_no_procedure_is_named(tmp_path: Path, text: bytes, at: int, what: str) -> None:
    found = mistakes(own(tmp_path, text=text))
    assert [(each.line, what in each.what) for each in found][:1] == [(at, True)]


def test_what_is_no_file_is_named_and_never_waited_for(tmp_path: Path) -> None:
    folder = own(tmp_path)
    categories = folder / "categories"
    (categories / "folder.toml").mkdir()
    (categories / "loop.toml").symlink_to("loop.toml")
    (categories / "nowhere.toml").symlink_to("/nowhere")
    (categories / "endless.toml").symlink_to("/dev/zero")
    os.mkfifo(categories / "pipe.toml")
    (folder / "tools.toml").symlink_to("tools.toml")
    (categories / ".#mirror.toml").symlink_to("/nowhere")  # an editor's lock
    found = mistakes(folder)
    names = {"folder.toml", "loop.toml", "nowhere.toml", "endless.toml", "pipe.toml", "tools.toml"}
    assert {each.file.name for each in found} == names
    assert {each.what for each in found} == {"is no file that can be read: it should be a text file"}


def test_a_folder_of_categories_that_cannot_be_opened_is_named(tmp_path: Path) -> None:
    (tmp_path / "own").mkdir()
    (tmp_path / "own/categories").symlink_to("categories")
    assert [each.file.name for each in mistakes(tmp_path / "own")] == ["categories"]


@pytest.mark.parametrize("name", ["mirror.toml", "categories/mirror.TOML", "categories/mirror.toml.txt", "Tools.toml"])
def test_a_file_that_would_be_passed_over_is_named(tmp_path: Path, name: str) -> None:
    (found,) = mistakes(own(tmp_path, name))
    assert (found.file, "is not read" in found.what) == (tmp_path / "own" / name, True)


@pytest.mark.parametrize("name", ["category/mirror.toml", "categories/more/mirror.toml"])
def test_a_folder_that_would_be_passed_over_is_a_doubt(tmp_path: Path, name: str) -> None:
    (found,) = check(TINY, own(tmp_path, name))
    assert (found.file, found.warning, "is not read" in found.what) == ((tmp_path / "own" / name).parent, True, True)


def test_a_name_that_a_terminal_would_obey_is_shown_escaped(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    folder = own(tmp_path)
    with open(os.fsencode(folder) + b"/categories/\xff\n\x1b[31m.toml", "w") as file:
        file.write("x=")
    assert main(["check", str(TINY), "--own", str(folder)]) == 1
    assert "\\udcff\\n\\x1b[31m.toml:1: is not TOML" in capsys.readouterr().out


def test_a_category_that_there_is_already_is_told_how_to_be_altered(tmp_path: Path) -> None:
    (found,) = mistakes(own(tmp_path, "categories/fork.toml", MIRROR.replace('"mirror"', '"fork"', 1)))
    assert (found.line, 'begin with changes = "fork"' in found.what) == (1, True)


@pytest.mark.parametrize("name", ["host", "build", "other", "Ünï", "a.b", "a b"])
def test_a_name_that_a_category_cannot_have_is_refused(tmp_path: Path, name: str) -> None:
    found = mistakes(own(tmp_path, f"categories/{name}.toml", MIRROR.replace('"mirror"', f'"{name}"')))
    assert any(each.line == 1 and ("spelt" in each.what or "something else" in each.what) for each in found)


def test_files_that_go_on_or_change_in_a_circle_are_named(tmp_path: Path) -> None:
    for name, says in (("a", "continues"), ("b", "continues"), ("c", "changes"), ("d", "changes")):
        other = {"a": "b", "b": "a", "c": "d", "d": "d"}[name]
        own(tmp_path, f"categories/{name}.toml", f'{says} = "{other}"\n')
    found = mistakes(tmp_path / "own")
    assert [(each.file.stem, each.line, "there is no category" in each.what) for each in found] == [
        (name, 1, True) for name in "abcd"
    ]


def test_a_category_of_ones_own_may_be_changed_by_a_file_that_comes_before_it(tmp_path: Path) -> None:
    own(tmp_path)
    folder = own(tmp_path, "categories/a-change.toml", 'changes = "mirror"\ntitle = "Looking glass"\n')
    assert mistakes(folder) == []
    assert load(TINY, folder).categories["mirror"].title == "Looking glass"


@pytest.mark.parametrize("table", ["[steps]\ntitle = 'x'", "steps = [1, 2]", "wear = {}"])
def test_a_change_that_is_no_list_of_tables_is_not_passed_over(tmp_path: Path, table: str) -> None:
    (found,) = mistakes(own(tmp_path, "categories/x.toml", f'changes = "fork"\n{table}\n'))
    assert (found.line, "write [[" in found.what) == (2, True)


def test_one_key_twice_in_a_change_is_named(tmp_path: Path) -> None:
    step = '[[steps]]\nkey = "try"\ntitle = "Try"\ntext = "t"\nfits = true\nminutes = 1\n'
    (found,) = mistakes(own(tmp_path, "categories/x.toml", f'changes = "fork"\n{step}{step}'))
    assert (found.line, "'try' stands twice" in found.what) == (9, True)


def test_places_within_places_are_counted_before_they_are_made(tmp_path: Path) -> None:
    places = ", ".join(f'"p{number}"' for number in range(20))
    for number in range(6):
        host = "build" if number == 0 else f"c{number - 1}"
        text = MIRROR.replace('"mirror"', f'"c{number}"').replace('["build"]', f'["{host}"]')
        own(tmp_path, f"categories/c{number}.toml", text.replace('"left", "right"', places).replace("{side} ", ""))
    found = mistakes(tmp_path / "own")
    assert {each.file.stem for each in found if "more than 32 places" in each.what} == {"c1", "c2", "c3", "c4", "c5"}


def test_a_group_with_thousands_of_combinations_is_refused_without_trying(tmp_path: Path) -> None:
    spec = '[[specs]]\nkey = "s{0}"\ntitle = "S"\nkind = "choice"\nmeasure = "m"\n'
    spec += 'choices = {{ a = "x", b = "x", c = "x", d = "x" }}\n'
    step = '[[steps]]\nkey = "g{0}"\ntitle = "G"\ntext = "t"\none_of = "many"\nwhen = {{ {1} }}\nminutes = 1\n'
    asked = ", ".join(f's{number} = "a"' for number in range(9))
    text = "".join(spec.format(number) for number in range(9))
    text += "".join(step.format(number, asked) for number in range(300))
    (found,) = mistakes(own(tmp_path, text=MIRROR + text))
    assert "the group 'many' hangs on too many facts to try them all (s0, s1, s2, s3, s4, s5, …)" in found.what


def test_hundreds_of_mistakes_are_told_before_a_person_stops_waiting(tmp_path: Path) -> None:
    step = '[[steps]]\nkey = "s{0}"\ntitle = "{{a{0}}}"\ntext = "t"\nminutes = -1\n'
    step += 'needs = ["position-sat{0}"]\ntools = ["hexx{0}"]\n'
    text = MIRROR + "".join(step.format(number) for number in range(300))
    assert len(mistakes(own(tmp_path, text=text), procedures_folder())) >= 4 * 300


ODD = ("5", "-1", '""', '"x"', "true", "[]", "{}", "[[]]", "[{}]", "1e999", "2026-01-01", '[["a", 1]]', "{ not = 1 }")


@pytest.mark.slow
@pytest.mark.parametrize("odd", ODD)
def test_whatever_stands_in_a_line_is_answered_with_a_list(tmp_path: Path, odd: str) -> None:
    lines = MIRROR.split("\n")
    for number, each in enumerate(lines):
        name, sign, _ = each.partition(" = ")
        if sign:
            text = "\n".join([*lines[:number], f"{name} = {odd}", *lines[number + 1 :]])
            assert all(
                found.file.stem == "mirror" or found.what.startswith("cycle")
                for found in mistakes(own(tmp_path, text=text))
            )


@pytest.mark.slow
def test_serve_refuses_to_start_with_the_same_list(tmp_path: Path) -> None:
    folder = own(tmp_path, text=planted(MISTAKES["a negative time"]))
    database = f"sqlite:///{tmp_path / 'locknut.db'}"
    environ = os.environ | {"LOCKNUT_PROCEDURES": str(folder), "LOCKNUT_DATABASE_URL": database}
    command = [sys.executable, "-m", "service", "serve", "--port", str(_free_port())]
    done = subprocess.run(command, env=environ, capture_output=True, text=True, timeout=60, check=False)
    listed = [each.shown() for each in check(procedures_folder(), folder) if not each.warning]
    assert listed
    assert (done.returncode, done.stderr.splitlines()[-len(listed) :]) == (1, listed)


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])
