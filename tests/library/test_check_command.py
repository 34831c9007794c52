"""`locknut check`: lines that an editor can jump to, and exit codes that a script can use."""

import shutil
from pathlib import Path

import pytest

from service.cli import main

TINY = Path(__file__).parent / "tiny"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return Path(shutil.copytree(TINY, tmp_path / "tiny"))


def edit(file: Path, old: str, new: str) -> None:
    assert old in file.read_text()
    file.write_text(file.read_text().replace(old, new, 1))


def test_a_folder_without_mistakes_answers_0(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(folder)]) == 0
    assert capsys.readouterr().out == "0 mistakes, 0 warnings.\n"


def test_a_mistake_is_one_line_with_file_and_line_and_answers_1(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    edit(folder / "categories/fork.toml", 'stage = "cut"', 'stage = "cuts"')
    assert main(["check", str(folder)]) == 1
    assert (
        "tiny/categories/fork.toml:32: steps.1.stage: no stage 'cuts'; did you mean 'cut'?" in capsys.readouterr().out
    )


def test_a_warning_answers_0_and_where_it_is_asked_strictly_1(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    edit(folder / "categories/cable-disc-caliper.toml", 'thread = "M6"', 'thread = "M4"')
    assert main(["check", str(folder)]) == 0
    assert "warning: fastenings.0.high_nm" in capsys.readouterr().out
    assert main(["check", str(folder), "--strict"]) == 1


def test_the_order_is_written_anew_when_asked(folder: Path) -> None:
    (folder / "reference-order.txt").write_text("old\n")
    assert main(["check", str(folder)]) == 1
    assert main(["check", str(folder), "--write-order"]) == 0
    assert (folder / "reference-order.txt").read_text() == (TINY / "reference-order.txt").read_text()


def test_a_folder_that_is_not_there_answers_2(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(tmp_path / "nowhere")]) == 2
    assert "there is no folder" in capsys.readouterr().err


def test_an_own_folder_is_checked_together_with_the_procedures(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    own = tmp_path / "own/categories/fork.toml"
    own.parent.mkdir(parents=True)
    own.write_text('changes = "fork"\ndrop = ["steps.nothing"]\n')
    assert main(["check", str(folder), "--own", str(tmp_path / "own")]) == 1
    assert "fork.toml:2: drop: fork has no 'steps.nothing'" in capsys.readouterr().out


def added_figure(folder: Path) -> Path:
    """An own folder whose fastening stands beside the one it was meant to replace; its file."""
    file = folder / "own/categories/cable-disc-caliper.toml"
    file.parent.mkdir(parents=True)
    lines = (
        *('changes = "cable-disc-caliper"', "[[fastenings]]", 'key = "mount-bolt"', 'title = "Mounting bolts"'),
        *('between = ["cable-disc-caliper", "host"]', 'when = { mount = "flat" }', "low_nm = 5", "high_nm = 6"),
        'basis = "from memory"',
    )
    file.write_text("\n".join(lines) + "\n")
    return file


def test_with_an_own_folder_only_its_warnings_are_shown_and_the_others_are_counted(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    edit(folder / "categories/cable-disc-caliper.toml", 'thread = "M6"', 'thread = "M4"')
    file = added_figure(tmp_path)
    assert main(["check", str(folder), "--own", str(tmp_path / "own")]) == 0
    assert capsys.readouterr().out.splitlines() == [
        f"{file.relative_to(tmp_path)}:3: warning: fastenings.1: "
        "cable-disc-caliper has 'mount-bolt' under another `when`; both will be shown",
        "0 mistakes, 1 warnings.",
        "… and 1 warnings in the program's own procedures (see them without --own).",
    ]
    assert main(["check", str(folder), "--own", str(tmp_path / "own"), "--strict"]) == 1
    file.unlink()
    assert main(["check", str(folder), "--own", str(tmp_path / "own"), "--strict"]) == 0


def test_a_mistake_of_the_program_is_shown_with_an_own_folder_too(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    edit(folder / "categories/fork.toml", 'stage = "cut"', 'stage = "cuts"')
    added_figure(tmp_path)
    assert main(["check", str(folder), "--own", str(tmp_path / "own")]) == 1
    assert "tiny/categories/fork.toml:32: steps.1.stage: no stage 'cuts'" in capsys.readouterr().out


def test_the_folder_that_the_setting_names_is_the_own_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    file = added_figure(tmp_path)
    monkeypatch.setenv("LOCKNUT_PROCEDURES", str(tmp_path / "own"))
    assert main(["check"]) == 0
    said = capsys.readouterr().out
    first = f"LOCKNUT_PROCEDURES is laid over the program's own procedures: {tmp_path / 'own'}\n"
    assert said.startswith(f"{first}0 mistakes, 0 warnings.\n")  # as the program's has the same key and `when`
    edit(file, 'when = { mount = "flat" }', "")
    assert main(["check"]) == 0
    assert capsys.readouterr().out.startswith(f"{first}{file}:3: warning: ")
    assert main(["check", str(TINY)]) == 0  # a folder that is named stands for itself
    assert capsys.readouterr().out == "0 mistakes, 0 warnings.\n"
    monkeypatch.setenv("LOCKNUT_PROCEDURES", str(tmp_path / "nowhere"))
    assert main(["check"]) == 2
    assert "LOCKNUT_PROCEDURES is" in capsys.readouterr().err
