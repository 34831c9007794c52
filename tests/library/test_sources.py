"""Where the figures of the procedures come from: every source resolves and is used, every number has its basis."""

import re
from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass
from typing import Any

import pytest

from service.domain.procedure import Category, Record, SpecField, Wear
from service.library.known import NEEDS_SOURCE
from service.library.read import procedures_folder
from tests.library.figure_rows import shelf

ADDRESS = re.compile(r"https?://[^\s/]+\.[^\s/]+/\S*|on paper")
Found = tuple[str, Any]


def cited() -> Iterator[Found]:
    """Every value of the procedures that names a basis or a source, and where it stands."""
    for name, category in shelf().categories.items():
        yield from _inside(category, name)
    for name, factors in shelf().factors.items():
        yield from _inside(factors, f"factors.{name}")


def _inside(value: Any, where: str) -> Iterator[Found]:
    if is_dataclass(value):
        if hasattr(value, "source"):
            yield where, value
        for field in fields(value):
            yield from _inside(getattr(value, field.name), f"{where}.{getattr(value, 'key', '')}".rstrip("."))
    elif isinstance(value, Mapping):
        for key, each in value.items():
            yield from _inside(each, f"{where}.{key}")
    elif isinstance(value, tuple | list):
        for each in value:
            yield from _inside(each, where)


def test_every_source_that_is_named_is_there_and_every_one_that_is_there_is_named() -> None:
    named = {value.source for _, value in cited() if value.source is not None}
    assert len(named) > 50
    assert named - set(shelf().sources) == set()
    assert set(shelf().sources) - named == set()


def test_every_source_has_a_title_and_an_address_on_its_line() -> None:
    sources = shelf().sources
    assert {
        key for key, each in sources.items() if not each.title.strip() or not ADDRESS.fullmatch(each.address)
    } == set()
    lines = [
        line
        for line in (procedures_folder() / "sources.toml").read_text("utf-8").splitlines()
        if line.strip() and not line.startswith(("#", "["))
    ]
    whole = re.compile(r'^[a-z0-9-]+ = \{ title = "[^"]+", address = "[^"]+", read_on = \d{4}-\d\d-\d\d \}$')
    assert [line for line in lines if not whole.match(line)] == []
    assert len(lines) == len(sources)


def test_no_page_is_listed_twice() -> None:
    pages = [each.address for each in shelf().sources.values() if each.address != "on paper"]
    assert sorted(pages) == sorted(set(pages))


def test_a_basis_that_was_read_somewhere_names_where_and_one_that_was_not_names_nothing() -> None:
    assert [where for where, each in cited() if each.basis in NEEDS_SOURCE and not _has_source(each)] == []
    said = ("common practice", "from memory")
    assert [where for where, each in cited() if each.basis in said and each.source is not None] == []


def _has_source(value: Any) -> bool:
    by_part = getattr(value, "spec", None) is not None  # a limit that is printed on the part
    return value.source is not None or by_part


Holder = SpecField | Wear | Record
"""What may hold a number, beside the values whose basis the format demands."""


def numbers(category: Category) -> Iterator[tuple[str, Holder, str | None]]:
    """Each of them in a category, with the basis of the step around a record."""
    for spec in category.specs:
        yield f"{category.category}.{spec.key}", spec, None
    for wear in category.wear:
        yield f"{category.category}.{wear.key}", wear, None
    for step in (*category.used, *category.steps):
        for record in step.records if isinstance(step.records, tuple) else ():
            yield f"{category.category}.{step.key}.{record.into}", record, step.basis


def has_number(value: Holder) -> bool:
    if isinstance(value, Wear):
        return isinstance(value.new, float) or bool(value.new_spread or value.reading_error or value.running_in_km)
    sizes = isinstance(value, SpecField) and bool(value.nominal or value.sizes)
    return sizes or value.low is not None or value.high is not None


@pytest.mark.parametrize("kind", [SpecField, Wear, Record])
def test_every_number_of_a_fact_a_wearing_dimension_and_a_record_has_a_basis(kind: type[Holder]) -> None:
    met = [found for category in shelf().categories.values() for found in numbers(category)]
    asked = [(where, value, around) for where, value, around in met if isinstance(value, kind) and has_number(value)]
    assert len(asked) > 50
    assert [where for where, value, around in asked if value.basis is None and around is None] == []
