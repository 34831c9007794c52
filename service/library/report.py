"""What `check` has found so far, and short ways to name the place of a mistake."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any

from service.domain.procedure import Category, SpecField
from service.library.files import Document, Key, shown
from service.library.known import CATEGORY_IDS
from service.library.mistakes import Mistake
from service.library.overlay import Dropped
from service.library.read import Shelf

MOST_GUESSES = 100
MOST_NAMED = 5
LONGEST_NAME = 60


class Report:
    """All values that could be read, and the mistakes gathered about their meaning.

    `whole`: everything could be looked through; `asked`: the exemptions that a look has made use of; `unsound`: the
    entries with a condition that cannot be answered.
    """

    def __init__(self, shelf: Shelf) -> None:
        self.shelf = shelf
        self.categories: Mapping[str, Category] = shelf.categories
        self.mistakes: list[Mistake] = []
        self.asked: set[tuple[str, str]] = set()
        self.whole = not shelf.broken
        self.unsound: set[tuple[str, Key]] = set()
        self._named_dropped: dict[Dropped, dict[str, None]] = {}
        self._guesses = MOST_GUESSES

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

    def is_programs(self, category: str, key: Key) -> bool:
        """Does it stand in a file of the program, with a person's own folder laid over it?"""
        return self.shelf.program is not None and self.document(category).place(key)[0].is_relative_to(self.shelf.root)

    def blame(self, category: str, key: Key, what: str) -> None:
        """A mistake, told where the person's own folder took something out of the category, if it did."""
        at = next((place for dropped, place in self.shelf.dropped.items() if dropped[0] == category), None)
        if at is None or not self.is_programs(category, key):
            self.wrong(category, key, what)
        else:
            self.mistakes.append(Mistake(*at, f"drop: without it: {what}"))

    def is_open(self, category: str) -> bool:
        """Is it a category of which nothing can be said, as its file is broken?"""
        return category not in self.categories and f"categories/{category}" in self.shelf.broken

    def spec(self, category: str, key: str) -> SpecField | None:
        """The field that a category declares under this key."""
        found = self.categories.get(category)
        return None if found is None else next((spec for spec in found.specs if spec.key == key), None)

    def exempts(self, category: str, name: str) -> bool:
        """Does the file say why `name` (a list, wear.DIMENSION, category.join or category.step) is rightly so?"""
        found = category in self.categories and name in self.categories[category].exempt
        if found:
            self.asked.add((category, name))
        return found

    def table(self, name: str) -> Mapping[str, Any]:
        """Tools, sources, milestones … by id."""
        found: Mapping[str, Any] = self.shelf.table(name)
        return found

    def near(self, name: str, known: Iterable[str]) -> str:
        """A guess at what was meant; guessing takes long, so there are no more guesses than a person can read."""
        if self._guesses == 0:
            return ""
        self._guesses -= 1
        return near(name, known)

    def is_dropped(self, category: str, tables: Iterable[str], key: str, by: str) -> bool:
        """Did the person's own folder take it out? Then `by`, which still names it, passes it over: remembered.

        What was lost for its shape counts too: that it is named is no mistake of who names it.
        """
        asked = {(category, table, key) for table in tables}
        met = asked & self.shelf.dropped.keys()
        for dropped in met:
            self._named_dropped.setdefault(dropped, {})[by] = None
        return bool(met or asked & self.shelf.lost)

    def say_dropped(self) -> None:
        """One line for each entry that was taken out and is still named: a doubt; a mistake where it is a fact."""
        for (category, table, key), named in self._named_dropped.items():
            file, line = self.shelf.dropped[category, table, key]
            names = [*named][:MOST_NAMED] + ([f"{len(named) - MOST_NAMED} more"] if len(named) > MOST_NAMED else [])
            end = "keep it, or change them too" if table == "specs" else "it is passed over there"
            what = f"drop: {table}.{key} of {category} is still named by {', '.join(names)}: {end}"
            self.mistakes.append(Mistake(file, line, what, table != "specs"))

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


def near(name: str, known: Iterable[str]) -> str:
    """A guess at what was meant."""
    met = get_close_matches(name, list(known), 1) if len(name) <= LONGEST_NAME else []
    return f"; did you mean {met[0]!r}?" if met else ""
