"""The TOML files of `procedures/` as they stand: which there are, their text, and what does not parse."""

import hashlib
import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from service.library.mistakes import Mistake
from service.library.where import line_of

Key = tuple[str | int, ...]

NAMED_FILES = ("order", "conditions", "tools", "consumables", "sources", "trouble")
"""The files beside `categories/`; each may be missing in a person's own folder."""


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


def read_folder(root: Path) -> Folder:
    """Every TOML file of the tree; one that does not parse is a mistake and is left out."""
    files: dict[str, TomlFile] = {}
    mistakes: list[Mistake] = []
    broken: set[str] = set()
    for name, path in _named_paths(root):
        try:
            text = path.read_bytes().decode("utf-8")
            files[name] = TomlFile(path, text, tomllib.loads(text))
        except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
            mistakes.append(_unreadable(path, error))
            broken.add(name)
    return Folder(root, files, tuple(mistakes), frozenset(broken))


def _named_paths(root: Path) -> Iterator[tuple[str, Path]]:
    for name in NAMED_FILES:
        path = root / f"{name}.toml"
        if path.exists():
            yield name, path
    for path in sorted((root / "categories").glob("*.toml")):
        yield f"categories/{path.stem}", path


def _unreadable(path: Path, error: Exception) -> Mistake:
    if isinstance(error, UnicodeDecodeError):
        line = path.read_bytes()[: error.start].count(b"\n") + 1
        return Mistake(path, line, "is not UTF-8: save the file as UTF-8 text")
    found = re.search(r"\(at line (\d+)", str(error))
    line = int(found[1]) if found else len(path.read_bytes().splitlines())
    return Mistake(path, max(line, 1), f"is not TOML: {error}")


def digest_of(folders: list[Folder]) -> str:
    """Twelve hex digits that name this state of the files."""
    whole = hashlib.sha256()
    for folder in folders:
        for name, file in folder.files.items():
            whole.update(f"{name}\n{len(file.text)}\n".encode())
            whole.update(file.text.encode())
    return whole.hexdigest()[:12]
