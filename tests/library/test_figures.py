"""The figures of the procedures are the published ones, row by row, and cite what they were read in."""

import csv
import re
from collections import defaultdict
from collections.abc import Iterator
from contextlib import suppress

import pytest

from tests.library.figure_rows import FOLDER, Row, answer, entries, rows_of, shelf

TABLES = ("standards.tsv", "sizes.tsv", "wear.tsv", "service.tsv")
OPEN = ("common practice", "from memory", "derived")
ON_A_FACT = ("size", "reads as", "choice", "takes", "spec says")
ADDRESS = re.compile(r"\S, https?://\S+")


@pytest.mark.parametrize("name", TABLES)
def test_the_figures_of_a_table_are_the_published_ones(name: str) -> None:
    rows = rows_of(name)
    wrong = [said for row in rows for said in differences(row)]
    assert len(rows) > 50
    assert not wrong, "\n".join(wrong)


def differences(row: Row) -> Iterator[str]:
    try:
        met = answer(row)
    except LookupError as missing:
        yield f"{row.what}: {row} ({row.source}); {missing}"
    else:
        if not met.held:
            yield f"{row.what}: {row} ({row.source}); the procedures have {met.ours!r}"


def test_a_figure_names_its_source_or_says_that_it_has_none() -> None:
    wrong = [said for name in TABLES for row in rows_of(name) for said in complaints(row)]
    assert not wrong, "\n".join(wrong)


def complaints(row: Row) -> Iterator[str]:
    with suppress(LookupError):  # said above
        yield from _complaints(row)


def _complaints(row: Row) -> Iterator[str]:
    for entry in answer(row).entries:
        if entry.source is None and entry.basis not in OPEN:
            yield f"{row}: of basis {entry.basis!r} without a source"
        if entry.source is not None and shelf().sources[entry.source].address not in row.source:
            yield f"{row}: cites {entry.source!r}, not {row.source}"


def test_a_fact_cites_one_of_the_pages_that_its_sizes_were_read_in() -> None:
    read: dict[str, list[str]] = defaultdict(list)
    for row in (row for name in TABLES for row in rows_of(name) if row.kind in ON_A_FACT):
        read[row.where].append(row.source)
    facts = [(where, entries("spec", where)[0], rows) for where, rows in read.items()]
    assert len(facts) > 100
    wrong = [where for where, fact, rows in facts if not _cites(fact.source, rows)]
    assert not wrong, "\n".join(wrong)


def _cites(source: str | None, rows: list[str]) -> bool:
    if source is None:
        return any("http" not in row for row in rows)
    return any(shelf().sources[source].address in row for row in rows)


@pytest.mark.parametrize("name", sorted(path.name for path in FOLDER.glob("*.tsv")))
def test_every_row_says_on_one_line_where_its_figure_comes_from(name: str) -> None:
    with (FOLDER / name).open(encoding="utf-8", newline="") as lines:
        rows = list(csv.DictReader(lines, delimiter="\t", quoting=csv.QUOTE_NONE))
    assert rows
    assert [row for row in rows if not (row["source"].startswith(OPEN) or ADDRESS.search(row["source"]))] == []
    assert [row for row in rows if None in row or None in row.values()] == []


# The reader itself: derived, no outside source
@pytest.mark.parametrize(
    ("kind", "where", "wrong"),
    [
        ("size", "rim.bsd_mm", "623"),
        ("reads as", "frame.head_upper_bore_mm", "34.0 as 44"),
        ("choice", "frame.bb_shell", "threaded_german"),
        ("takes", "handlebar.width_mm", "1001"),
        ("record high", "whole-bicycle.road-test.stop_m", "4.6"),
        ("limit stop", "brake-pads.lining_mm", "0.4"),
        ("rate", "tyre.tread_dimple_mm@rear", "0.15"),
        ("every km", "hub.grease", "480"),
        ("spec says", "frame.brake_mount", "5"),
        ("spec says", "frame.brake_mount", "4 mm"),
    ],
)
def test_a_wrong_figure_is_not_held(kind: str, where: str, wrong: str) -> None:
    assert not answer(Row("wrong", kind, where, wrong, "")).held


@pytest.mark.parametrize(
    ("kind", "where"),
    [
        ("size", "rim.no_such_mm"),
        ("size", "no-such.bsd_mm"),
        ("record low", "hub.feel.no_such"),
        ("guess", "rim.bsd_mm"),
    ],
)
def test_a_row_about_nothing_is_a_mistake(kind: str, where: str) -> None:
    with pytest.raises(LookupError):
        answer(Row("nothing", kind, where, "1", ""))
