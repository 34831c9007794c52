"""A person's own folder laid over the one that comes with the program: new categories, changed tables, drops."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from service.library.files import NAMED_FILES, Document, Folder, Key, TomlFile
from service.library.mistakes import Mistake

KEYED = ("specs", "fastenings", "joins", "used", "steps", "tasks", "wear")
"""The tables of a category whose entries have a permanent key."""

WITH_CONDITION = ("fastenings",)
"""Tables in which several entries may share a key, each under its own `when`."""


Dropped = tuple[str, str, str]
"""A category, a table and the key of what was taken out of it."""


@dataclass(slots=True)
class Overlaid:
    """All documents after the overlay, what is wrong with it, and what it changed; `dropped` with file and line.

    `root` is the first folder, over which the others are laid.
    """

    root: Path
    documents: dict[str, Document] = field(default_factory=dict)
    mistakes: list[Mistake] = field(default_factory=list)
    broken: set[str] = field(default_factory=set)
    own_figures: frozenset[str] = frozenset()
    dropped: dict[Dropped, tuple[Path, int]] = field(default_factory=dict)


def lay_over(folders: Sequence[Folder]) -> Overlaid:
    """The first folder's documents, each further folder laid over them in turn.

    Of each folder first what is new, then what goes on in a second file, then what changes others.
    """
    laid = Overlaid(folders[0].root)
    laid.mistakes.extend(_missing(folders[0]))
    for number, folder in enumerate(folders):
        laid.mistakes.extend(folder.mistakes)
        laid.broken.update(folder.broken)
        categories = {name: file for name, file in folder.files.items() if name.startswith("categories/")}
        for name, file in folder.files.items():
            if name in categories and not {"changes", "continues"} & file.raw.keys():
                _lay_new(laid, name, file, own=number > 0)
            elif name not in categories:
                _lay_tables(laid, name, file)
        for file in categories.values():
            if "continues" in file.raw:
                _lay_continuation(laid, file, own=number > 0)
        for file in categories.values():
            if "changes" in file.raw and "continues" not in file.raw:
                _lay_change(laid, file)
    return laid


def _named(laid: Overlaid, file: TomlFile, word: str) -> Document | None:
    """The category that a file goes on with or changes; a mistake where there is none."""
    name = file.raw[word]
    base = laid.documents.get(f"categories/{name}")
    if base is None and f"categories/{name}" not in laid.broken:
        what = f"{word}: there is no category {name!r}"
        laid.mistakes.append(Mistake(file.path, file.line((word,)), what))
    return base


def _lay_new(laid: Overlaid, name: str, file: TomlFile, *, own: bool) -> None:
    if name in laid.documents:
        what = f'there is a category of this name already; to alter it, begin with changes = "{name[11:]}"'
        laid.mistakes.append(Mistake(file.path, 1, what))
        return
    laid.documents[name] = Document(name, file, file.raw)
    if own:
        laid.own_figures |= frozenset(_own_names(name.removeprefix("categories/"), file.raw))


def _lay_continuation(laid: Overlaid, file: TomlFile, *, own: bool) -> None:
    """A long category may go on in a second file, `continues = "frame"`: its entries come after those of the first."""
    base = _named(laid, file, "continues")
    if base is None:
        return
    name = base.name.removeprefix("categories/")
    more = _Change(name, base, file)
    more.go_on()
    laid.documents[base.name] = more.result()
    laid.mistakes.extend(more.mistakes)
    if own:
        laid.own_figures |= frozenset(_own_names(name, file.raw))


def _lay_change(laid: Overlaid, file: TomlFile) -> None:
    base = _named(laid, file, "changes")
    if base is None:
        return
    name = base.name.removeprefix("categories/")
    change = _Change(name, base, file)
    change.apply()
    laid.documents[base.name] = change.result()
    laid.mistakes.extend(change.mistakes)
    laid.own_figures |= frozenset(_own_names(name, file.raw))
    laid.dropped |= {(name, *each): (file.path, file.line(("drop",))) for each in change.dropped}


def _missing(folder: Folder) -> Iterator[Mistake]:
    """The files without which there is no library; a person's own folder may leave out any."""
    for name in (*NAMED_FILES, "categories/whole-bicycle"):
        if name not in folder.files and name not in folder.broken:
            yield Mistake(folder.root / f"{name}.toml", 1, "this file is missing")


def _own_names(category: str, raw: Mapping[str, Any]) -> Iterator[str]:
    for table in KEYED:
        for entry in _entries(raw, table):
            yield f"{category}.{table}.{entry.get('key')}"


class _Change:
    """One file that changes one category: entries with the same key replace whole, others are added, `drop` removes."""

    def __init__(self, category: str, base: Document, file: TomlFile) -> None:
        self.category = category
        self.base = base
        self.file = file
        self.mistakes: list[Mistake] = []
        self.dropped: list[tuple[str, str]] = []
        self.values = {key: value for key, value in base.raw.items() if key not in KEYED}
        self.homes = {key: home for key, home in base.homes.items() if key[0] not in KEYED}
        self.tables: dict[str, list[tuple[dict[str, Any], tuple[TomlFile, Key]]]] = {
            table: [
                (entry, base.homes.get((table, position), (base.file, (table, position))))
                for position, entry in enumerate(_entries(base.raw, table))
            ]
            for table in KEYED
        }

    def apply(self) -> None:
        for name in _listed(self.file.raw.get("drop")):
            self._drop(name)
        for key, value in self.file.raw.items():
            if key in KEYED:
                if self._is_list(key, value):
                    self._replace(key)
            elif key not in ("changes", "drop"):
                self.values[key] = value
                self.homes[(key,)] = (self.file, (key,))

    def go_on(self) -> None:
        """Adds the entries of a continuation; what the first file has already is a mistake."""
        for table, found in self.file.raw.items():
            if table == "continues":
                continue
            if table not in KEYED:
                self._wrong((table,), f"{table}: a file that continues another has only {', '.join(KEYED)}")
                continue
            if not self._is_list(table, found):
                continue
            known = [entry for entry, _ in self.tables[table]]
            for position, entry in enumerate(_entries(self.file.raw, table)):
                if any(_is_same(table, each, entry) for each in known):
                    what = f"{table}.{position}: {self.category} has {entry.get('key')!r} already in its first file"
                    self._wrong((table, position), what)
                self.tables[table].append((entry, (self.file, (table, position))))

    def result(self) -> Document:
        raw, homes = dict(self.values), dict(self.homes)
        for table, entries in self.tables.items():
            if entries:
                raw[table] = [entry for entry, _ in entries]
                homes |= {(table, position): home for position, (_, home) in enumerate(entries)}
        return Document(self.base.name, self.base.file, raw, homes)

    def _drop(self, name: object) -> None:
        table, _, key = str(name).partition(".")
        entries = self.tables.get(table, [])
        kept = [each for each in entries if each[0].get("key") != key]
        if len(kept) == len(entries):
            self._wrong(("drop",), f'drop: {self.category} has no {name!r}; write it as "steps.KEY", "tasks.KEY", …')
            return
        self.tables[table] = kept
        self.dropped.append((table, key))

    def _replace(self, table: str) -> None:
        old = list(self.tables[table])
        entries = _entries(self.file.raw, table)
        for position, entry in enumerate(entries):
            same = [number for number, (known, _) in enumerate(old) if _is_same(table, known, entry)]
            home = (self.file, (table, position))
            if any(_is_same(table, above, entry) for above in entries[:position]):
                self._wrong((table, position), f"{table}.{position}: {entry.get('key')!r} stands twice in this file")
            elif table == "wear" and same and _has_only_limits(entry):
                self._replace_limits(same[0], entry, home)
            elif same:
                self.tables[table][same[0]] = (entry, home)
            else:
                self.tables[table].append((entry, home))

    def _is_list(self, table: str, found: object) -> bool:
        """Do its entries stand as a list of tables? One that is written otherwise would be passed over."""
        if isinstance(found, list) and all(isinstance(each, dict) for each in found):
            return True
        self._wrong((table,), f"{table}: should be a list of tables: write [[{table}]] above each of them")
        return False

    def _wrong(self, key: Key, what: str) -> None:
        self.mistakes.append(Mistake(self.file.path, self.file.line(key), what))

    def _replace_limits(self, number: int, entry: Mapping[str, Any], home: tuple[TomlFile, Key]) -> None:
        """A wearing dimension with nothing but limits: those of the same action and `when` are replaced."""
        known, known_home = self.tables["wear"][number]
        limits = list(_entries(known, "limits"))
        homes = {position: (known_home[0], (*known_home[1], "limits", position)) for position in range(len(limits))}
        for position, limit in enumerate(_entries(entry, "limits")):
            same = [at for at, each in enumerate(limits) if _same_limit(each, limit)]
            at = same[0] if same else len(limits)
            limits[at : at + 1] = [limit]
            homes[at] = (home[0], (*home[1], "limits", position))
        self.tables["wear"][number] = ({**known, "limits": limits}, known_home)
        self.homes |= {("wear", number, "limits", at): place for at, place in homes.items()}


def _is_same(table: str, known: Mapping[str, Any], entry: Mapping[str, Any]) -> bool:
    if known.get("key") != entry.get("key"):
        return False
    return table not in WITH_CONDITION or known.get("when", {}) == entry.get("when", {})


def _has_only_limits(entry: Mapping[str, Any]) -> bool:
    limits = entry.get("limits")
    return set(entry) == {"key", "limits"} and isinstance(limits, list) and all(isinstance(e, dict) for e in limits)


def _same_limit(known: Mapping[str, Any], limit: Mapping[str, Any]) -> bool:
    return known.get("action") == limit.get("action") and known.get("when", {}) == limit.get("when", {})


def _lay_tables(laid: Overlaid, name: str, file: TomlFile) -> None:
    """Tools, sources, milestones …: entries by id, the person's own replace those of the same id."""
    base = laid.documents.get(name)
    if base is None:
        laid.documents[name] = Document(name, file, file.raw)
        return
    raw, homes = dict(base.raw), dict(base.homes)
    for table, added in file.raw.items():
        known = raw.get(table)
        if isinstance(added, dict) and isinstance(known, dict):
            raw[table] = known | added
            homes |= {(table, key): (file, (table, key)) for key in added}
            laid.own_figures |= frozenset(f"{table}.{key}" for key in added)
        elif isinstance(added, list) and isinstance(known, list):
            merged = list(known)
            for position, entry in enumerate(added):
                if _key_of(entry) is not None and any(_key_of(entry) == _key_of(above) for above in added[:position]):
                    what = f"{table}.{position}: {_key_of(entry)!r} stands twice in this file"
                    laid.mistakes.append(Mistake(file.path, file.line((table, position)), what))
                same = [at for at, each in enumerate(merged) if _key_of(each) == _key_of(entry)]
                at = same[0] if same else len(merged)
                merged[at : at + 1] = [entry]
                homes[(table, at)] = (file, (table, position))
            raw[table] = merged
        else:
            raw[table] = added
            homes[(table,)] = (file, (table,))
    laid.documents[name] = Document(name, base.file, raw, homes)


def _key_of(entry: object) -> object:
    return entry.get("key") if isinstance(entry, dict) else None


def _entries(raw: Mapping[str, Any], table: str) -> list[dict[str, Any]]:
    found = raw.get(table)
    return [each for each in found if isinstance(each, dict)] if isinstance(found, list) else []


def _listed(value: Any) -> list[Any]:
    return value if isinstance(value, list) else [] if value is None else [value]
