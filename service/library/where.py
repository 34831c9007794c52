"""On which line of a TOML file a value stands; only asked when something is wrong."""

import re
import tomllib
from bisect import bisect_right
from collections.abc import Sequence
from contextlib import suppress
from functools import lru_cache

Path = tuple[str | int, ...]

_QUOTED = r'"(?:[^"\\\n]|\\.)*"|\'[^\'\n]*\''
_STRING = re.compile(rf'"""(?:[^"\\]|\\.|"(?!""))*"{{3,5}}|\'\'\'(?:[^\']|\'(?!\'\'))*\'{{3,5}}|{_QUOTED}', re.DOTALL)
_WORD = re.compile(rf"[A-Za-z0-9_-]+|{_QUOTED}")
_SPACE = re.compile(r"[ \t]*")
_GAP = re.compile(r"(?:[ \t\n]|#[^\n]*)*")
_BARE = re.compile(r"[^,\]}#\n]*")


def line_of(text: str, path: Sequence[str | int]) -> int:
    """The line (from 1) of the longest part of `path` that the text has; 1 for the whole file.

    A table that has a `key` is pointed at by the line of that key. The text is one that parses.
    """
    index = _index(text)
    for length in range(len(path), 0, -1):
        known = tuple(path[:length])
        if known in index:
            return index.get((*known, "key"), index[known])
    return 1


@lru_cache(maxsize=256)
def _index(text: str) -> dict[Path, int]:
    """Every path of the text with the line on which it begins."""
    return _Walk(text.replace("\r\n", "\n")).index


class _Walk:
    """One walk through a text that parses: no rule is checked, only what separates values is looked for."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.starts = [0, *(met.end() for met in re.finditer("\n", text))]
        self.index: dict[Path, int] = {}
        self.counts: dict[Path, int] = {}
        with suppress(RecursionError):  # what is nested that deep is found at what stands around it
            self._document()

    def _document(self) -> None:
        table: Path = ()
        self._skip(_GAP)
        while self.at < len(self.text):
            if self.text[self.at] == "[":
                table = self._header()
            else:
                self._pair(table)
            self._skip(_GAP)

    def _header(self) -> Path:
        """`[a.b]` or `[[a.b]]`: the names with the numbers of the elements that they are in."""
        line, is_array = self._line(), self.text.startswith("[[", self.at)
        self.at += 2 if is_array else 1
        names = self._key()
        self.at += 2 if is_array else 1
        path: Path = ()
        for position, name in enumerate(names):
            path = (*path, name)
            if is_array and position == len(names) - 1:
                self.counts[path] = self.counts.get(path, -1) + 1
            self.index.setdefault(path, line)
            if path in self.counts:
                path = (*path, self.counts[path])
                self.index.setdefault(path, line)
        return path

    def _pair(self, table: Path) -> None:
        """`a.b = value`, in a table or between braces."""
        line, path = self._line(), table
        for name in self._key():
            path = (*path, name)
            self.index.setdefault(path, line)
        self.at += 1  # the sign between them
        self._skip(_SPACE)
        self._value(path)

    def _key(self) -> list[str]:
        names: list[str] = []
        while True:
            self._skip(_SPACE)
            met = _WORD.match(self.text, self.at)
            if met is None:
                return names
            self.at = met.end()
            names.append(_unquoted(met[0]))
            self._skip(_SPACE)
            if self.text[self.at : self.at + 1] != ".":
                return names
            self.at += 1

    def _value(self, path: Path) -> None:
        opening = self.text[self.at : self.at + 1]
        if opening == "[":
            self._between("]", path)
        elif opening == "{":
            self._between("}", path)
        else:
            self._skip(_STRING if opening in ('"', "'") else _BARE)

    def _between(self, closing: str, path: Path) -> None:
        """The elements of an array, or the pairs of a table, up to the closing bracket."""
        self.at += 1
        number = 0
        self._skip(_GAP)
        while self.at < len(self.text) and self.text[self.at] != closing:
            if closing == "}":
                self._pair(path)
            else:
                self.index.setdefault((*path, number), self._line())
                self._value((*path, number))
                number += 1
            self._skip(_GAP)
            if self.text[self.at : self.at + 1] == ",":
                self.at += 1
                self._skip(_GAP)
        self.at += 1

    def _skip(self, pattern: re.Pattern[str]) -> None:
        met = pattern.match(self.text, self.at)
        if met is None:  # only where the text does not parse
            self.at = len(self.text)
        else:
            self.at = met.end()

    def _line(self) -> int:
        return bisect_right(self.starts, self.at)


def _unquoted(word: str) -> str:
    if word[0] not in "\"'":
        return word
    return str(tomllib.loads(f"word = {word}")["word"])
