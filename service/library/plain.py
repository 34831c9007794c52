"""Numbers that are numbers: text that merely looks like one, a true that counts as 1."""

from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass
from typing import Any

from service.library.files import Key
from service.library.report import Report


def check_plain(report: Report) -> None:
    """Every value of every category, against how it stands in the file."""
    for name, category in report.categories.items():
        for key, what in _wrong(category, report.document(name).raw, ()):
            report.wrong(name, key, what)


def _wrong(value: Any, raw: Any, key: Key) -> Iterator[tuple[Key, str]]:
    if is_dataclass(value) and isinstance(raw, Mapping):
        for field in fields(value):
            if field.name in raw:
                yield from _wrong(getattr(value, field.name), raw[field.name], (*key, field.name))
    elif isinstance(value, tuple) and isinstance(raw, list):
        for number, (each, written) in enumerate(zip(value, raw, strict=False)):
            yield from _wrong(each, written, (*key, number))
    elif isinstance(value, bool) and not isinstance(raw, bool):
        yield key, f"should be true or false, not {raw!r}"
    elif isinstance(value, int | float) and not isinstance(value, bool) and isinstance(raw, str | bool):
        yield key, f"should be a number, not {raw!r}"
