"""The TOML files of `procedures/` as they stand: which there are, their text, and what does not parse."""

import hashlib
import os
import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from service.library.mistakes import Mistake
from service.library.sound import DEEPEST, LONG_KEY, deep_line, oddities
from service.library.where import line_of

Key = tuple[str | int, ...]

NAMED_FILES = ("order", "conditions", "tools", "consumables", "sources", "trouble")
"""The files beside `categories/`; each may be missing in a person's own folder."""

KILOBYTE = 1024
MOST_KILOBYTES = 128
MOST_TOGETHER_KILOBYTES = 4096
"""The largest file that comes with the program has 25 kB, all of them together 1200."""


@dataclass(frozen=True, slots=True)
class TomlFile:
    """One file: its text, kept for finding lines, and what it parsed to."""

    path: Path
    text: str
    raw: dict[str, Any]

    def line(self, key: Key) -> int:
        """The line of a value; the value's field `with_` is the key `with` in the file."""
        return line_of(self.text, tuple("with" if part == "with_" else part for part in key))


@dataclass(frozen=True, slots=True)
class Document:
    """What one noun's file says, a person's own changes laid over it; each value knows where it came from.

    `homes` names the tables that stand elsewhere: from their key here to their file and key there.
    """

    name: str
    file: TomlFile
    raw: dict[str, Any]
    homes: Mapping[Key, tuple[TomlFile, Key]] = field(default_factory=dict)

    def place(self, key: Key) -> tuple[Path, int]:
        """File and line of the value at `key`, or of the nearest table around it."""
        for length in range(len(key), 0, -1):
            if key[:length] in self.homes:
                file, there = self.homes[key[:length]]
                return file.path, file.line((*there, *key[length:]))
        return self.file.path, self.file.line(key)

    def mistake(self, key: Key, what: str, *, warning: bool = False) -> Mistake:
        file, line = self.place(key)
        return Mistake(file, line, what, warning)


@dataclass(frozen=True, slots=True)
class Folder:
    """One folder's files by name: "order", "tools", … and "categories/chain"; and what did not parse."""

    root: Path
    files: Mapping[str, TomlFile]
    mistakes: tuple[Mistake, ...]
    broken: frozenset[str]


class _Unusable(Exception):
    """A file that nothing can be taken from: the line, and what would be right."""

    def __init__(self, line: int, what: str) -> None:
        self.line, self.what = line, what
        super().__init__(what)


def read_folder(root: Path, *, closely: bool = True) -> Folder:
    """Every TOML file of the tree; one that does not parse is a mistake and is left out.

    `closely`: what parses is looked through for values that no table may hold.
    """
    files: dict[str, TomlFile] = {}
    mistakes: list[Mistake] = list(_misplaced(root))
    broken: set[str] = set()
    left = MOST_TOGETHER_KILOBYTES * KILOBYTE
    for name, path in _named_paths(root):
        try:
            file, size = _file_at(path, left, closely=closely)
        except _Unusable as unusable:
            mistakes.append(Mistake(path, unusable.line, unusable.what))
            broken.add(name)
            continue
        left -= size
        odd, is_usable = oddities(file.raw) if closely else ((), True)
        mistakes += [Mistake(path, file.line(key), f"{shown(key)}{what}") for key, what in odd]
        if is_usable:
            files[name] = file
        else:
            broken.add(name)
    return Folder(root, files, tuple(mistakes), frozenset(broken))


def shown(key: Key) -> str:
    """`steps.2.needs.0: `, or nothing for the whole file."""
    name = ".".join("with" if part == "with_" else str(part) for part in key)
    return f"{name}: " if name else ""


def _named_paths(root: Path) -> Iterator[tuple[str, Path]]:
    for name in NAMED_FILES:
        path = root / f"{name}.toml"
        if os.path.lexists(path):
            yield name, path
    for path in _listed(root / "categories"):
        if path.suffix == ".toml":
            yield f"categories/{path.stem}", path


def _listed(folder: Path) -> list[Path]:
    """What lies in a folder, by name; nothing where it cannot be listed. What editors hide begins with a dot."""
    try:
        return sorted(path for path in folder.iterdir() if not path.name.startswith("."))
    except OSError:
        return []


def _misplaced(root: Path) -> Iterator[Mistake]:
    """Files that look as if they were meant, and would be passed over without a word."""
    categories = root / "categories"
    if os.path.lexists(categories) and not os.access(categories, os.R_OK | os.X_OK):
        yield Mistake(categories, 1, "cannot be opened: it should be a folder that may be read")
    elif os.path.lexists(categories) and not categories.is_dir():
        yield Mistake(categories, 1, "is no folder: the files of the categories lie in a folder of this name")
    for path in _listed(root):
        if _looks_like_toml(path) and path.name not in {f"{name}.toml" for name in NAMED_FILES}:
            named = ", ".join(f"{name}.toml" for name in NAMED_FILES)
            yield Mistake(path, 1, f"is not read: a category's file lies in categories/, beside it only {named}")
        elif path != categories and any(_looks_like_toml(each) for each in _listed(path)):
            yield Mistake(path, 1, "is not read: the files of the categories lie in categories/", True)
    for path in _listed(categories):
        if path.suffix != ".toml" and _looks_like_toml(path):
            yield Mistake(path, 1, "is not read: its name should end in .toml, in small letters and nothing behind")
        elif path.suffix != ".toml" and any(each.suffix == ".toml" for each in _listed(path)):
            yield Mistake(path, 1, "is not read: files lie in categories/ itself, not in folders there", True)


def _looks_like_toml(path: Path) -> bool:
    return path.name.lower().endswith((".toml", ".toml.txt"))


def _file_at(path: Path, left: int, *, closely: bool) -> tuple[TomlFile, int]:
    """The file, and how many bytes it has. Raises _Unusable."""
    data = _bytes_of(path)
    if len(data) > left:
        raise _Unusable(1, f"with it the files of this folder are over {MOST_TOGETHER_KILOBYTES} kB: leave some out")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        raise _Unusable(line, "is not UTF-8: save the file as UTF-8 text") from None
    if closely:
        _check_keys(text)
    return TomlFile(path, text, _parsed(text)), len(data)


def _bytes_of(path: Path) -> bytes:
    try:
        if not path.is_file():
            raise _Unusable(1, "is no file that can be read: it should be a text file")
        with path.open("rb") as opened:
            data = opened.read(MOST_KILOBYTES * KILOBYTE + 1)
    except OSError as error:
        raise _Unusable(1, f"cannot be read ({error.strerror}): it should be a text file that may be read") from None
    if len(data) > MOST_KILOBYTES * KILOBYTE:
        raise _Unusable(1, f"is over {MOST_KILOBYTES} kB: split it, a second file may go on with `continues`")
    return data


def _check_keys(text: str) -> None:
    """Before the parser sees them. Raises _Unusable."""
    if long := LONG_KEY.search(text):
        line = text.count("\n", 0, long.end()) + 1
        raise _Unusable(line, f"a key is nested more than {DEEPEST} deep: no table of a procedure is")


def _parsed(text: str) -> dict[str, Any]:
    try:
        raw = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise _Unusable(_line_in(error, text), f"is not TOML: {error}") from None
    except RecursionError:
        raise _Unusable(deep_line(text), f"is nested more than {DEEPEST} deep: no table of a procedure is") from None
    except ValueError:
        raise _Unusable(_endless_line(text), "a number has too many digits: write one of at most ten") from None
    return raw


def _line_in(error: tomllib.TOMLDecodeError, text: str) -> int:
    found = re.search(r"\(at line (\d+)", str(error))
    return int(found[1]) if found else max(len(text.splitlines()), 1)


def _endless_line(text: str) -> int:
    """The line of the number that Python will not read; its digits may be parted by underscores."""
    found = re.search(r"[0-9A-Fa-f_]{1000}", text)
    return text.count("\n", 0, found.start()) + 1 if found else 1


def digest_of(folders: list[Folder]) -> str:
    """Twelve hex digits that name this state of the files."""
    whole = hashlib.sha256()
    for folder in folders:
        for name, file in folder.files.items():
            whole.update(f"{name}\n{len(file.text)}\n".encode())
            whole.update(file.text.encode())
    return whole.hexdigest()[:12]
