"""What `check` has found so far, and short ways to name the place of a mistake."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from service.domain.procedure import Category, SpecField
from service.library.files import Document, Key
from service.library.known import CATEGORY_IDS
from service.library.mistakes import Mistake
from service.library.read import Shelf


class Report:
    """All values that could be read, and the mistakes gathered about their meaning."""

    def __init__(self, shelf: Shelf) -> None:
        self.shelf = shelf
        self.categories: Mapping[str, Category] = shelf.categories
        self.mistakes: list[Mistake] = []

    def document(self, category: str) -> Document:
        """The file of a category that could be read."""
        return self.shelf.documents[f"categories/{category}"]

    def wrong(self, category: str, key: Key, what: str) -> None:
        """A mistake in a category's file: it must be mended before the library is used."""
        self.mistakes.append(self.document(category).mistake(key, f"{shown(key)}{what}"))

    def doubt(self, category: str, key: Key, what: str) -> None:
        """Worth a look, but the library works."""
        self.mistakes.append(self.document(category).mistake(key, f"{shown(key)}{what}", warning=True))

    def spot(self, category: str, key: Key) -> "Spot":
        """A place in a category's file."""
        return Spot(self, category, key)

    def wrong_in(self, name: str, key: Key, what: str, *, warning: bool = False) -> None:
        """A mistake in one of the files beside the categories."""
        self.mistakes.append(self.shelf.documents[name].mistake(key, f"{shown(key)}{what}", warning=warning))

    def is_known(self, category: str) -> bool:
        """Is this the id of a category, with a file or without?"""
        return category in CATEGORY_IDS or category in self.categories or f"categories/{category}" in self.shelf.broken

    def is_open(self, category: str) -> bool:
        """Is it a category of which nothing can be said, as its file is broken?"""
        return category not in self.categories and f"categories/{category}" in self.shelf.broken

    def spec(self, category: str, key: str) -> SpecField | None:
        """The field that a category declares under this key."""
        found = self.categories.get(category)
        return None if found is None else next((spec for spec in found.specs if spec.key == key), None)

    def table(self, name: str) -> Mapping[str, Any]:
        """Tools, sources, milestones … by id."""
        found: Mapping[str, Any] = self.shelf.table(name)
        return found

    def can_tell(self, file: str) -> bool:
        """Could that file be read, so that a missing name is a mistake of the one who names it?"""
        return file not in self.shelf.broken


@dataclass(frozen=True, slots=True)
class Spot:
    """A place in a category's file, and what is found there."""

    report: Report
    category: str
    key: Key

    def inside(self, *more: str | int) -> "Spot":
        """A place further in."""
        return Spot(self.report, self.category, (*self.key, *more))

    def wrong(self, what: str) -> None:
        """A mistake here."""
        self.report.wrong(self.category, self.key, what)

    def doubt(self, what: str) -> None:
        """Worth a look, here."""
        self.report.doubt(self.category, self.key, what)


def shown(key: Key) -> str:
    """`steps.2.needs.0: `, or nothing for the whole file."""
    name = ".".join("with" if part == "with_" else str(part) for part in key)
    return f"{name}: " if name else ""


def steps_of(category: Category) -> Iterator[tuple[Key, Any]]:
    """All steps of a file, looks included, with their place in it."""
    for number, step in enumerate(category.used):
        yield ("used", number), step
    for number, step in enumerate(category.steps):
        yield ("steps", number), step


def numbered(table: str, entries: Any) -> Iterator[tuple[Key, Any]]:
    """The entries of one table with their place in the file."""
    for number, entry in enumerate(entries):
        yield (table, number), entry
