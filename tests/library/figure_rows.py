"""Rows of figures from outside, and what the procedures say in the place of each: `figures/*.tsv` with their sources.

A row names what it is about, its kind, where in the procedures the figure stands, the figure and its source. Kinds:

- size: a size of a spec ("category.spec"); reads as: a reading and the size it is; choice: a key; takes: within limits
- record low, record high: what a step asks to write down ("category.step.record")
- limit look, limit replace, limit stop, rate: of a wear dimension
- first km, every days, … : a span of a task; what a span may have is `procedure.Span`
- factor: of a condition ("chain.wet", "tyre.loaded@rear")
- spec says, step says, join says, …: words in the texts of that entry
"""

import csv
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields, is_dataclass
from functools import cache
from pathlib import Path
from typing import Any

from service.domain.procedure import Library, Record, SpecField, Step
from service.domain.readings import settle
from service.library.mistakes import LibraryMistakes
from tests.procedures import whole_library

FOLDER = Path(__file__).parent / "figures"
TABLES = {
    "spec": ("specs",), "step": ("steps", "used"), "join": ("joins",), "fastening": ("fastenings",), "wear": ("wear",),
    "task": ("tasks",),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Row:
    """One figure from outside."""

    what: str
    kind: str
    where: str
    figure: str
    source: str

    def __str__(self) -> str:
        return f"{self.kind} {self.where} {self.figure}"


@dataclass(frozen=True, slots=True)
class Answer:
    """What stands there, and the entries that give its basis."""

    held: bool
    ours: Any
    entries: tuple[Any, ...] = ()


@cache
def _read() -> Library | LibraryMistakes:
    try:
        return whole_library()
    except LibraryMistakes as mistakes:
        return mistakes


def shelf() -> Library:
    """The procedures that come with the program, read once, mistakes too: else each row would read them again."""
    read = _read()
    if isinstance(read, LibraryMistakes):
        raise read
    return read


def rows_of(name: str) -> list[Row]:
    """The rows of one table."""
    with (FOLDER / name).open(encoding="utf-8", newline="") as lines:
        return [Row(**row) for row in csv.DictReader(lines, delimiter="\t", quoting=csv.QUOTE_NONE)]


def answer(row: Row) -> Answer:
    """What the procedures say in the place of a row. Raises LookupError where there is no such place or kind."""
    word, _, rest = row.kind.partition(" ")
    if row.kind in ("size", "reads as", "choice", "takes"):
        return _of_spec(row)
    if word == "record":
        return _of_record(row, rest)
    if word in ("limit", "rate"):
        return _of_wear(row, rest)
    if word in ("first", "every"):
        return _of_task(row, word, rest)
    if word == "factor":
        return _of_factor(row)
    if rest == "says":
        return _of_words(row, word)
    raise LookupError(f"no kind of row {row.kind!r}")


def entries(table: str, where: str) -> list[Any]:
    """The entries of a category under one key: several where alternatives share it. Raises LookupError: none."""
    name, _, key = where.partition(".")
    category = shelf().categories.get(name)
    met = [each for list_ in TABLES[table] for each in getattr(category, list_, ()) if each.key == key]
    if not met:
        raise LookupError(f"the procedures have no {table} {where}")
    return met


def _of_spec(row: Row) -> Answer:
    spec: SpecField = entries("spec", row.where)[0]
    if row.kind == "choice":
        return Answer(row.figure in spec.choices, tuple(spec.choices))
    if row.kind == "reads as":
        reading, size = row.figure.split(" as ")
        met = settle(spec, float(reading))
        return Answer(met == (None if size == "no size" else float(size)), met)
    figure = float(row.figure)
    if row.kind == "takes":
        within = (spec.low is None or spec.low <= figure) and (spec.high is None or figure <= spec.high)
        return Answer(within and settle(spec, figure) == figure, (spec.low, spec.high, settle(spec, figure)))
    sizes = (*spec.nominal, *(size for _, _, size in spec.sizes))
    return Answer(figure in sizes and settle(spec, figure) == figure, sizes)


def _of_record(row: Row, side: str) -> Answer:
    where, _, name = row.where.rpartition(".")
    steps: list[Step] = entries("step", where)
    records: list[Record] = [
        record
        for step in steps
        for record in (step.records if isinstance(step.records, tuple) else ())
        if record.into.partition(":")[2] == name
    ]
    if not records:
        raise LookupError(f"the procedures have no record {row.where}")
    ours = [getattr(record, side) for record in records]
    return Answer(ours == [float(row.figure)], ours, tuple(records))


def _of_wear(row: Row, action: str) -> Answer:
    where, _, end = row.where.partition("@")
    (wear,) = entries("wear", where)
    if row.kind == "rate":
        met = [each for each in wear.rates if each.end == (end or None)]
        ours = [each.per_1000_km for each in met]
    else:
        met = [each for each in wear.limits if each.action == action]
        ours = [each.value for each in met]
    agreeing = tuple(each for each, value in zip(met, ours, strict=True) if value == float(row.figure))
    return Answer(bool(agreeing), ours, agreeing)


def _of_task(row: Row, which: str, unit: str) -> Answer:
    (task,) = entries("task", row.where)
    span = getattr(task, which)
    ours = getattr(span, unit) if span is not None else None
    return Answer(ours == float(row.figure), ours, (task,))


def _of_factor(row: Row) -> Answer:
    where, _, end = row.where.partition("@")
    name, _, condition = where.partition(".")
    factors = shelf().factors[name]
    ours = factors.by_end[end][condition] if end else getattr(factors, condition)
    return Answer(ours == float(row.figure), ours, (factors,))


def _of_words(row: Row, table: str) -> Answer:
    text = " ".join(word for entry in entries(table, row.where) for word in words_in(entry))
    asked = rf"(?<![\w.,]){re.escape(row.figure)}(?![\w]|[.,]\d)"
    return Answer(re.search(asked, text) is not None, text)


def words_in(value: Any) -> Iterator[str]:
    """Every text of an entry, its parts' too."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, Mapping):
        for each in value.values():
            yield from words_in(each)
    elif isinstance(value, tuple | list):
        for each in value:
            yield from words_in(each)
    elif is_dataclass(value):
        for field in fields(value):
            yield from words_in(getattr(value, field.name))
