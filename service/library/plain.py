"""Numbers that are numbers: text that merely looks like one, a true that counts as 1."""

from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass
from functools import cache
from typing import Any

from service.library.files import Key
from service.library.report import Report


def check_plain(report: Report) -> None:
    """Every value of every category, against how it stands in the file."""
    for name, category in report.categories.items():
        for key, what in _wrong(category, report.document(name).raw, ()):
            report.wrong(name, key, what)


def names_in(value: Any) -> tuple[str, ...]:
    """The names of a value's fields; none where it has none."""
    return _names_of(value.__class__)


@cache
def _names_of(kind: type) -> tuple[str, ...]:
    return tuple(field.name for field in fields(kind)) if is_dataclass(kind) else ()


def _wrong(value: Any, raw: Any, key: Key) -> Iterator[tuple[Key, str]]:
    if isinstance(raw, str) and isinstance(value, str):
        return
    if isinstance(raw, Mapping) and (names := names_in(value)):
        for name in names:
            if name in raw:
                yield from _wrong(getattr(value, name), raw[name], (*key, name))
    elif isinstance(value, tuple) and isinstance(raw, list):
        for number, (each, written) in enumerate(zip(value, raw, strict=False)):
            yield from _wrong(each, written, (*key, number))
    elif isinstance(value, bool) and not isinstance(raw, bool):
        yield key, f"should be true or false, not {raw!r}"
    elif isinstance(value, int | float) and not isinstance(value, bool) and isinstance(raw, str | bool):
        yield key, f"should be a number, not {raw!r}"
