"""Can what a file parsed to be worked with at all: how deep, how many, which numbers, which characters."""

import re
from collections.abc import Iterator
from math import inf, isfinite
from typing import Any

Key = tuple[str | int, ...]

DEEPEST = 24
"""Tables and lists within each other; the deepest of the program's own has 11."""
MOST_ENTRIES = 400
MOST_LETTERS = 2000
MOST_NUMBER = 1_000_000_000
NO_NUMBER = f"should be a finite number, at most {MOST_NUMBER:,} either way"

_NAME = r"(?:[\w-]+|\"[^\"\n]*\"|'[^'\n]*')"
LONG_KEY = re.compile(rf"(?:^[ \t]*\[{{0,2}}|[{{,])[ \t]*(?:{_NAME}[ \t]*\.[ \t]*){{{DEEPEST}}}", re.MULTILINE)
"""A dotted key that the parser would take minutes over: its work grows with the square of the parts."""

_TOKEN = re.compile(
    r'"""(?:[^"\\]|\\.|"(?!""))*"{3,5}|\'\'\'(?:[^\']|\'(?!\'\'))*\'{3,5}|"(?:[^"\\\n]|\\.)*"|\'[^\'\n]*\'|#[^\n]*|[\[{\]}]',
    re.DOTALL,
)
_CONTROL = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f]")


def deep_line(text: str) -> int:
    """The line where brackets stand too deep within each other; 1 where no line does."""
    depth = 0
    for met in _TOKEN.finditer(text):
        if met[0] in "[{":
            depth += 1
            if depth > DEEPEST:
                return text.count("\n", 0, met.start()) + 1
        elif met[0] in "]}":
            depth -= 1
    return 1


def oddities(raw: dict[str, Any]) -> tuple[list[tuple[Key, str]], bool]:
    """What no table may hold, with its key; and whether the rest can be looked at all the same.

    A number that is too large becomes infinite in `raw`, which nothing stumbles over.
    """
    found: list[tuple[Key, str]] = []
    is_usable = True
    waiting: list[tuple[Key, Any]] = [((), raw)]
    while waiting:
        key, table = waiting.pop()
        for name, value in list(table.items() if isinstance(table, dict) else enumerate(table)):
            there = (*key, name)
            if isinstance(value, dict | list):
                if wrong := _size(there, value):
                    found.append((there, wrong))
                    is_usable = False
                else:
                    waiting.append((there, value))
            elif isinstance(value, str):
                if not value.isprintable() or not value.strip() or len(value) > MOST_LETTERS:
                    found += [(there, wrong) for wrong in _text(value)]
            elif isinstance(value, int | float) and not isinstance(value, bool) and not _is_sane(value):
                found.append((there, NO_NUMBER))
                table[name] = inf if value > 0 else -inf if value < 0 else value
            if isinstance(name, str) and (not name.strip() or not name.isprintable()):
                found.append((there, f"{name!r} is no name that can be read"))
    return found, is_usable


def _size(key: Key, value: dict[str, Any] | list[Any]) -> str | None:
    if len(key) >= DEEPEST:
        return f"is nested more than {DEEPEST} deep: no table of a procedure is"
    if len(value) > MOST_ENTRIES:
        return f"has {len(value)} entries, more than can be looked through: at most {MOST_ENTRIES}"
    return None


def _text(value: str) -> Iterator[str]:
    if not value.strip():
        yield "is empty: write it, or leave the line out"
    elif len(value) > MOST_LETTERS:
        yield f"has {len(value)} letters: write at most {MOST_LETTERS}"
    if control := _CONTROL.search(value):
        yield f"holds a character that cannot be shown, U+{ord(control[0]):04X}: take it out"


def _is_sane(number: float) -> bool:
    return (isinstance(number, int) or isfinite(number)) and abs(number) <= MOST_NUMBER
