"""On which line of a TOML file a value stands; only asked when something is wrong."""

import tomllib
from collections.abc import Iterator, Sequence
from functools import lru_cache

Path = tuple[str | int, ...]


def line_of(text: str, path: Sequence[str | int]) -> int:
    """The line (from 1) of the longest part of `path` that the text has; 1 for the whole file.

    A table that has a `key` is pointed at by the line of that key.
    """
    index = _index(text)
    for length in range(len(path), 0, -1):
        known = tuple(path[:length])
        if known in index:
            return index.get((*known, "key"), index[known])
    return 1


@lru_cache(maxsize=256)
def _index(text: str) -> dict[Path, int]:
    """Every path that begins on a line of its own, with that line.

    A header or `key = value` is itself a valid document and no proper prefix of a longer one is: so lines are gathered
    until they parse.
    """
    lines = text.splitlines()
    index: dict[Path, int] = {}
    counts: dict[Path, int] = {}
    table: Path = ()
    for first, last, value in _expressions(lines):
        if lines[first].lstrip().startswith("["):
            table = _table_path(_only_path(value), counts, lines[first].lstrip().startswith("[["))
            for length in range(1, len(table) + 1):
                index.setdefault(table[:length], first + 1)
            continue
        path = (*table, *_only_path(value))
        for length in range(len(table) + 1, len(path) + 1):
            index.setdefault(path[:length], first + 1)
        index.update(_inside(lines, first, last, path))
    return index


def _expressions(lines: list[str]) -> Iterator[tuple[int, int, dict[str, object]]]:
    first = 0
    for last in range(len(lines)):
        try:
            value = tomllib.loads("\n".join(lines[first : last + 1]))
        except tomllib.TOMLDecodeError:
            continue
        if value:
            while lines[first].strip() == "" or lines[first].lstrip().startswith("#"):
                first += 1
            yield first, last, value
        first = last + 1


def _only_path(value: object) -> Path:
    """The keys of a document with one expression, as far as each table has one key."""
    path: list[str | int] = []
    while isinstance(value, dict | list) and len(value) == 1:
        if isinstance(value, list):
            value = value[0]
            if not isinstance(value, dict) or value:
                break
            continue
        key, value = next(iter(value.items()))
        path.append(key)
    return tuple(path)


def _table_path(names: Path, counts: dict[Path, int], is_array: bool) -> Path:
    """The names of a header with the numbers of the array elements they are in."""
    path: Path = ()
    for position, name in enumerate(names):
        path = (*path, name)
        if is_array and position == len(names) - 1:
            counts[path] = counts.get(path, -1) + 1
        if path in counts:
            path = (*path, counts[path])
    return path


def _inside(lines: list[str], first: int, last: int, path: Path) -> Iterator[tuple[Path, int]]:
    """The elements of an array that runs over several lines: close it early and count them."""
    total = _count("\n".join(lines[first : last + 1]))
    if first == last or total is None:
        return
    known, begins = 0, first
    for line in range(first, last + 1):
        count = total if line == last else _count("\n".join(lines[first : line + 1]) + "\n]")
        if count is None:
            continue
        for position in range(known, count):
            yield (*path, position), begins + 1
        known, begins = count, line + 1
        while begins < last and (not lines[begins].strip() or lines[begins].lstrip().startswith("#")):
            begins += 1


def _count(text: str) -> int | None:
    """How many elements the array of this expression has; None where it does not parse or is no array."""
    try:
        value: object = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return None
    while isinstance(value, dict) and len(value) == 1:
        value = next(iter(value.values()))
    return len(value) if isinstance(value, list) else None
