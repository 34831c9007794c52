"""Reading the library: what comes out, what is refused, and how long it takes beside the TOML parser alone."""

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from service.errors import Refusal
from service.library.mistakes import LibraryMistakes
from service.library.read import load

TINY = Path(__file__).parent / "tiny"


def test_everything_of_the_files_is_in_the_library() -> None:
    library = load(TINY)
    assert set(library.categories) == {"brake-lever", "cable-disc-caliper", "fork", "frame", "whole-bicycle"}
    assert (len(library.milestones), len(library.stages), len(library.tools)) == (5, 4, 3)
    assert (set(library.factors), set(library.sources), set(library.symptoms)) == ({"lining"}, {"a-table"}, {"rubs"})
    (join,) = library.categories["cable-disc-caliper"].joins
    assert join.with_ == ("brake-lever",)


def test_the_digest_changes_with_any_letter_of_the_files(tmp_path: Path) -> None:
    folder = Path(shutil.copytree(TINY, tmp_path / "tiny"))
    before = load(folder).digest
    assert before == load(TINY).digest
    tools = folder / "tools.toml"
    tools.write_text(tools.read_text().replace("Hex keys", "Hex key"))
    assert load(folder).digest != before


def test_a_library_with_mistakes_is_refused_with_all_of_them(tmp_path: Path) -> None:
    folder = Path(shutil.copytree(TINY, tmp_path / "tiny"))
    for name in ("tools.toml", "categories/fork.toml"):
        with (folder / name).open("a") as file:
            file.write("\nthis is no TOML\n")
    with pytest.raises(LibraryMistakes) as refused:
        load(folder)
    assert [mistake.file.name for mistake in refused.value.mistakes] == ["fork.toml", "tools.toml"]
    assert isinstance(refused.value, Refusal)
    assert "fork.toml:39: is not TOML" in str(refused.value)


def test_a_cycle_is_refused_when_the_library_is_loaded(tmp_path: Path) -> None:
    folder = Path(shutil.copytree(TINY, tmp_path / "tiny"))
    whole = folder / "categories/whole-bicycle.toml"
    whole.write_text(whole.read_text().replace('after = ["clean"]', 'after = ["clean"]\nneeds = ["brake-set"]'))
    with pytest.raises(LibraryMistakes, match="cycle 1"):
        load(folder)


def test_a_file_that_is_not_utf_8_is_named_with_the_line(tmp_path: Path) -> None:
    folder = Path(shutil.copytree(TINY, tmp_path / "tiny"))
    (folder / "tools.toml").write_bytes(b'[tools.hex]\ntitle = "\xe9"\n')
    with pytest.raises(LibraryMistakes, match=r"tools.toml:2: is not UTF-8"):
        load(folder)


MEASURE = """
import time
from service.library.check import check
from service.library.read import load, procedures_folder
def held():
    return int(next(line.split()[1] for line in open("/proc/self/status") if line.startswith("VmRSS")))
before, began = held(), time.process_time()
library = load(procedures_folder())
read = time.process_time() - began
mass, began = held() - before, time.process_time()
check(procedures_folder())
print(read, mass, time.process_time() - began)
"""


@pytest.mark.slow
def test_the_whole_library_reads_in_half_a_second_and_checks_in_one() -> None:
    """In a process of its own, whose first call it is; seconds of the processor, which others do not take from it."""
    done = subprocess.run([sys.executable, "-c", MEASURE], capture_output=True, text=True, check=True)
    read, kilobytes, checked = map(float, done.stdout.split())
    assert read < 0.5
    assert checked < 1
    assert kilobytes < 60 * 1024
