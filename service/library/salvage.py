"""What is left of a file whose values have the wrong shape: so that its other mistakes are told in the same breath."""

from collections.abc import Container, Iterable, Mapping
from copy import deepcopy
from dataclasses import dataclass
from typing import Any

from service.library.files import Document, Key


@dataclass(frozen=True, slots=True)
class Salvaged:
    """A document without what has the wrong shape, and the entries of its tables that are left out whole."""

    document: Document
    lost: frozenset[tuple[str, str]]


def without(document: Document, wrong: Iterable[tuple[Key, bool]], tables: Container[object]) -> Salvaged:
    """The document without what is wrong: a key that is unknown (true), or an entry of these `tables` whole.

    Whole, as half a step would be blamed for what its other half says.
    """
    gone: dict[str, set[int]] = {}
    raw = deepcopy(document.raw)
    for place, is_unknown in wrong:
        if is_unknown:
            _take_out(raw, place)
        elif len(place) > 1 and place[0] in tables and isinstance(place[1], int):
            gone.setdefault(str(place[0]), set()).add(place[1])
        elif place:
            raw.pop(str(place[0]), None)
    homes = {key: home for key, home in document.homes.items() if key[0] not in gone}
    lost: set[tuple[str, str]] = set()
    for table, numbers in gone.items():
        kept: list[Any] = []
        for number, entry in enumerate(raw.get(table, ())):
            if number in numbers:
                lost.add((table, _key_of(entry)))
                continue
            homes |= _moved(document, table, number, len(kept))
            kept.append(entry)
        raw[table] = kept
    return Salvaged(Document(document.name, document.file, raw, homes), frozenset(lost))


def _take_out(raw: Any, place: Key) -> None:
    for part in place[:-1]:
        raw = raw[part]
    raw.pop(place[-1], None)


def _moved(document: Document, table: str, was: int, now: int) -> dict[Key, Any]:
    """Where an entry that has moved up stands in its file, and what in it stands elsewhere."""
    inside = {key: home for key, home in document.homes.items() if key[:2] == (table, was)}
    moved = {(table, now, *key[2:]): home for key, home in inside.items()}
    return {(table, now): (document.file, (table, was)), **moved}


def _key_of(entry: object) -> str:
    return str(entry.get("key")) if isinstance(entry, Mapping) else ""
