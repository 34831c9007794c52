"""A person's own folder laid over the one that comes with the program: new categories, changed tables, drops."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from service.library.files import NAMED_FILES, Document, Folder, Key, TomlFile
from service.library.mistakes import Mistake

KEYED = ("specs", "fastenings", "joins", "used", "steps", "tasks", "wear")
"""The tables of a category whose entries have a permanent key."""

WITH_CONDITION = ("fastenings",)
"""Tables in which several entries may share a key, each under its own `when`."""


@dataclass(slots=True)
class Overlaid:
    """All documents after the overlay, what is wrong with it, and what it changed."""

    documents: dict[str, Document] = field(default_factory=dict)
    mistakes: list[Mistake] = field(default_factory=list)
    broken: set[str] = field(default_factory=set)
    own_figures: frozenset[str] = frozenset()
    dropped_safety: tuple[str, ...] = ()


def lay_over(folders: Sequence[Folder]) -> Overlaid:
    """The first folder's documents, each further folder laid over them in turn."""
    laid = Overlaid()
    laid.mistakes.extend(_missing(folders[0]))
    for number, folder in enumerate(folders):
        laid.mistakes.extend(folder.mistakes)
        laid.broken.update(folder.broken)
        for name, file in folder.files.items():
            if "continues" in file.raw and name.startswith("categories/"):
                continue
            if number == 0:
                laid.documents[name] = Document(name, file, file.raw)
            elif name.startswith("categories/"):
                _lay_category(laid, name, file)
            else:
                _lay_tables(laid, name, file)
        for file in folder.files.values():
            if "continues" in file.raw:
                _lay_continuation(laid, file, own=number > 0)
    return laid


def _lay_continuation(laid: Overlaid, file: TomlFile, *, own: bool) -> None:
    """A long category may go on in a second file, `continues = "frame"`: its entries come after those of the first."""
    name = str(file.raw["continues"])
    base = laid.documents.get(f"categories/{name}")
    if base is None:
        what = f"continues: there is no category {name!r}"
        laid.mistakes.append(Mistake(file.path, file.line(("continues",)), what))
        return
    more = _Change(name, base, file)
    more.go_on()
    laid.documents[base.name] = more.result()
    laid.mistakes.extend(more.mistakes)
    if own:
        laid.own_figures |= frozenset(_own_names(name, file.raw))


def _missing(folder: Folder) -> Iterator[Mistake]:
    """The files without which there is no library; a person's own folder may leave out any."""
    for name in (*NAMED_FILES, "categories/whole-bicycle"):
        if name not in folder.files and name not in folder.broken:
            yield Mistake(folder.root / f"{name}.toml", 1, "this file is missing")


def _lay_category(laid: Overlaid, name: str, file: TomlFile) -> None:
    changes = file.raw.get("changes")
    if changes is None:
        if name in laid.documents:
            what = f'there is a category of this name already; to alter it, begin with changes = "{name[11:]}"'
            laid.mistakes.append(Mistake(file.path, 1, what))
            return
        laid.documents[name] = Document(name, file, file.raw)
        laid.own_figures |= frozenset(_own_names(name.removeprefix("categories/"), file.raw))
        return
    target = f"categories/{changes}"
    if target not in laid.documents:
        laid.mistakes.append(Mistake(file.path, file.line(("changes",)), f"changes: there is no category {changes!r}"))
        return
    change = _Change(str(changes), laid.documents[target], file)
    change.apply()
    laid.documents[target] = change.result()
    laid.mistakes.extend(change.mistakes)
    laid.own_figures |= frozenset(_own_names(str(changes), file.raw))
    laid.dropped_safety = (*laid.dropped_safety, *change.dropped_safety)


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
        self.dropped_safety: list[str] = []
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
                self._replace(key)
            elif key not in ("changes", "drop"):
                self.values[key] = value
                self.homes[(key,)] = (self.file, (key,))

    def go_on(self) -> None:
        """Adds the entries of a continuation; what the first file has already is a mistake."""
        for table, found in self.file.raw.items():
            if table == "continues":
                continue
            if table not in KEYED or not isinstance(found, list):
                what = f"{table}: a file that continues another has only {', '.join(KEYED)}"
                self.mistakes.append(Mistake(self.file.path, self.file.line((table,)), what))
                continue
            known = [entry for entry, _ in self.tables[table]]
            for position, entry in enumerate(_entries(self.file.raw, table)):
                if any(_is_same(table, each, entry) for each in known):
                    what = f"{table}.{position}: {self.category} has {entry.get('key')!r} already in its first file"
                    self.mistakes.append(Mistake(self.file.path, self.file.line((table, position)), what))
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
            what = f'drop: {self.category} has no {name!r}; write it as "steps.KEY", "tasks.KEY", …'
            self.mistakes.append(Mistake(self.file.path, self.file.line(("drop",)), what))
            return
        self.tables[table] = kept
        if any(entry.get("safety") for entry, _ in entries if entry.get("key") == key):
            self.dropped_safety.append(f"{self.category}.{key}")

    def _replace(self, table: str) -> None:
        old = list(self.tables[table])
        for position, entry in enumerate(_entries(self.file.raw, table)):
            same = [number for number, (known, _) in enumerate(old) if _is_same(table, known, entry)]
            home = (self.file, (table, position))
            if table == "wear" and same and set(entry) == {"key", "limits"}:
                self._replace_limits(same[0], entry, home)
            elif same:
                self._remember_safety(self.tables[table][same[0]][0], entry)
                self.tables[table][same[0]] = (entry, home)
            else:
                self.tables[table].append((entry, home))

    def _remember_safety(self, known: Mapping[str, Any], entry: Mapping[str, Any]) -> None:
        if known.get("safety") and not entry.get("safety"):
            self.dropped_safety.append(f"{self.category}.{entry.get('key')}")

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
