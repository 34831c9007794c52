"""The library's torque ranges against the published ones in torque_ranges.tsv, each row with its source."""

import csv
from pathlib import Path

import pytest

from service.domain.procedure import Library
from service.library.read import load, procedures_folder

Range = tuple[float | None, float | None]


def published() -> dict[str, set[Range]]:
    """The ranges by fastening, "category.key"; by feel where a row has no figures."""
    met: dict[str, set[Range]] = {}
    with (Path(__file__).parent / "torque_ranges.tsv").open(encoding="utf-8", newline="") as rows:
        for row in csv.DictReader(rows, delimiter="\t"):
            low, high = (float(row[name]) if row[name] else None for name in ("low_nm", "high_nm"))
            assert row["source"], row["joint"]
            for name in row["fastenings"].split():
                met.setdefault(name, set()).add((low, high))
    return met


@pytest.fixture(scope="module")
def shelf() -> Library:
    return load(procedures_folder())


def test_every_range_of_the_library_is_a_published_one_and_none_of_its_fastening_is_missing(shelf: Library) -> None:
    ours: dict[str, set[Range]] = {}
    for category in shelf.categories.values():
        for each in category.fastenings:
            ours.setdefault(f"{category.category}.{each.key}", set()).add((each.low_nm, each.high_nm))
    known = published()
    assert ours
    assert {name: ranges for name, ranges in ours.items() if known.get(name) != ranges} == {}


def test_every_range_says_where_it_comes_from(shelf: Library) -> None:
    unsourced = [
        f"{category.category}.{each.key}"
        for category in shelf.categories.values()
        for each in category.fastenings
        if each.high_nm is not None
        and each.source is None
        and each.basis not in ("common practice", "from memory", "derived")
    ]
    assert unsourced == []
