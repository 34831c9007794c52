"""The library's torque ranges against the published ones in torque_ranges.tsv, each row with its source."""

import csv
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from service.domain.order import with_taken
from service.domain.procedure import Fastening
from tests.library.figure_rows import shelf, words_in

Range = tuple[float | None, float | None]
OPEN = ("common practice", "from memory", "derived")


def published() -> dict[str, dict[Range, str]]:
    """The ranges by fastening, "category.key", with their source; by feel where a row has no figures."""
    met: dict[str, dict[Range, str]] = {}
    with (Path(__file__).parent / "torque_ranges.tsv").open(encoding="utf-8", newline="") as rows:
        for row in csv.DictReader(rows, delimiter="\t"):
            low, high = (float(row[name]) if row[name] else None for name in ("low_nm", "high_nm"))
            assert row["source"], row["joint"]
            for name in row["fastenings"].split():
                ranges = met.setdefault(name, {})
                ranges[low, high] = f"{ranges.get((low, high), '')} {row['source']}".strip()
    return met


def ours() -> Iterator[tuple[str, Fastening, bool]]:
    """Every fastening under its name, those that a part takes over with its role too; the flag: its own."""
    for category in shelf().categories.values():
        own = {id(each) for each in category.fastenings}
        for each in with_taken(category, shelf().categories).fastenings:
            yield f"{category.category}.{each.key}", each, id(each) in own


def test_every_range_of_the_library_is_a_published_one_and_none_of_its_fastening_is_missing() -> None:
    met: dict[str, set[Range]] = {}
    for name, each, own in ours():
        if own:
            met.setdefault(name, set()).add((each.low_nm, each.high_nm))
    known = {name: set(ranges) for name, ranges in published().items()}
    assert met
    assert {name: ranges for name, ranges in met.items() if known.get(name) != ranges} == {}


def test_every_published_joint_has_its_fastening() -> None:
    met = {(name, each.low_nm, each.high_nm) for name, each, _ in ours()}
    rows = {(name, *figures) for name, ranges in published().items() for figures in ranges}
    assert rows - met == set()


def test_every_range_says_where_it_comes_from_and_that_is_where_it_was_published() -> None:
    known, wrong = published(), []
    for name, each, own in ours():
        source = known.get(name, {}).get((each.low_nm, each.high_nm), "") if own else None
        if each.source is None and each.basis not in OPEN:
            wrong.append(f"{name}: of basis {each.basis} without a source")
        if each.source is not None and source is not None and shelf().sources[each.source].address not in source:
            wrong.append(f"{name}: cites {each.source}, not {source}")
    assert wrong == []


# Handbook text: adjusting your headset, http://velopiseda.net/?p=1760 (top cap)
# EN 14766:2005 page 64, https://www.yumpu.com/en/document/view/48377332/en-147662005-64-e-stf-baltik-vairas/64 (lever)
# Bikefaff: torque table across makers, https://bikefaff.com/?p=1235 (preload cap: a finger tool only)
@pytest.mark.parametrize("name", ["headset.top-cap", "wheel.quick-release", "crankset.preload-cap"])
def test_what_goes_by_feel_has_no_torque(name: str) -> None:
    met = [each for key, each, _ in ours() if key == name]
    assert met
    assert all(each.feel for each in met)
    assert {(each.low_nm, each.high_nm, each.as_printed) for each in met} == {(None, None, None)}


def test_nothing_by_feel_shows_a_torque_in_its_words() -> None:
    by_feel = [(name, each) for name, each, _ in ours() if each.high_nm is None]
    assert len(by_feel) > 20
    torque = re.compile(r"\d\s*(?:N·m|Nm|lbf)")
    assert [name for name, each in by_feel if any(torque.search(words) for words in words_in(each))] == []


def test_a_nipple_has_no_torque() -> None:
    """Spokes go by tension: common practice, no source."""
    assert [name for name, each, _ in ours() if "nipple" in f"{name} {each.title}".lower()] == []
    assert shelf().categories["spokes"].fastenings == ()


# Post: Bike Maintenance Pros: torque specs, https://bikemaintenancepros.com/torque-specs-proper-bolt-tightening
# Flat: from memory
@pytest.mark.parametrize("calliper", ["cable-disc-caliper", "hydraulic-disc-caliper"])
def test_flat_and_post_mount_are_told_apart(calliper: str) -> None:
    mounts = {
        mount: (each.thread, each.low_nm, each.high_nm)
        for name, each, _ in ours()
        if name == f"{calliper}.mount-bolt"
        for mount in (each.when["mount"] if isinstance(each.when["mount"], list) else [each.when["mount"]])
    }
    assert mounts == {"post": ("M6", 6, 8), "is_lugs": ("M6", 6, 8), "flat": ("M5", 5, 8)}
