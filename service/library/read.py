"""From the files of `procedures/` to one `Library`: shapes and types are checked here, meaning in `check`."""

from collections.abc import Iterator, Mapping
from functools import cache
from pathlib import Path
from typing import Any

from service.domain import order
from service.domain.lists import Factors, Milestone, Source, Stage, Stuff, Tool
from service.domain.procedure import Category, Library
from service.domain.symptom import Symptom
from service.library.files import Document, Folder, digest_of, read_folder
from service.library.mistakes import LibraryMistakes, Mistake
from service.library.overlay import Overlaid, lay_over
from service.library.shape import mistakes_of_shape

NAMED_TABLES: Mapping[str, Mapping[str, Any]] = {
    "order": {"stages": tuple[Stage, ...], "milestones": tuple[Milestone, ...]},
    "conditions": {"factors": dict[str, Factors]},
    "tools": {"tools": dict[str, Tool]},
    "consumables": {"consumables": dict[str, Stuff]},
    "sources": {"sources": dict[str, Source]},
    "trouble": {"symptoms": tuple[Symptom, ...]},
}
"""What stands in each file beside the categories."""


class Shelf:
    """All values that could be read, with the documents they stand in; mistakes are gathered, not raised."""

    def __init__(self, overlaid: Overlaid) -> None:
        self.documents = overlaid.documents
        self.broken: set[str] = set(overlaid.broken)
        self.mistakes: list[Mistake] = list(overlaid.mistakes)
        self.categories: dict[str, Category] = {}
        self.tables: dict[str, Any] = {}
        for name, document in overlaid.documents.items():
            if name.startswith("categories/"):
                self._read_category(name.removeprefix("categories/"), document)
            else:
                self._read_tables(name, document)

    def table(self, name: str) -> Any:
        """The tools, sources, stages … by id; nothing where their file is missing or broken."""
        found = self.tables.get(name, {})
        return found if isinstance(found, dict) else {each.key: each for each in found}

    def _read_category(self, name: str, document: Document) -> None:
        _rename_with(document.raw)
        value = self._validated(Category, document.raw, document, ())
        if value is None:
            self.broken.add(f"categories/{name}")
        else:
            self.categories[name] = value

    def _read_tables(self, name: str, document: Document) -> None:
        for key, raw in document.raw.items():
            shape = NAMED_TABLES[name].get(key)
            if shape is None:
                known = " and ".join(NAMED_TABLES[name])
                self.mistakes.append(document.mistake((key,), f"{key}: unknown table; this file has {known}"))
                continue
            value = self._validated(shape, raw, document, (key,))
            if value is None:
                self.broken.add(name)
            else:
                self.tables[key] = value

    def _validated(self, shape: Any, raw: Any, document: Document, key: tuple[str, ...]) -> Any:
        from pydantic import ValidationError

        try:
            return _adapter(shape).validate_python(raw)
        except ValidationError as error:
            self.mistakes.extend(mistakes_of_shape(error, raw, document, key))
            return None


def load(folder: Path, own: Path | None = None) -> Library:
    """The library of `folder`, a person's `own` folder laid over it.

    Shapes, types and the order are always checked; what else `check` looks for only where there is an own folder, as
    the folder that comes with the program has been checked before.

    :raises LibraryMistakes: with all mistakes.
    """
    if own is not None:
        from service.library.check import check

        wrong = [mistake for mistake in check(folder, own) if not mistake.warning]
        if wrong:
            raise LibraryMistakes(wrong)
    folders = [read_folder(each) for each in (folder, own) if each is not None]
    overlaid = lay_over(folders)
    shelf = Shelf(overlaid)
    if shelf.mistakes:
        raise LibraryMistakes(shelf.mistakes)
    return _library(shelf, overlaid, folders)


def shelf_of(folder: Path, own: Path | None = None) -> Shelf:
    """Everything that can be read, with all mistakes of shape."""
    return Shelf(lay_over([read_folder(each) for each in (folder, own) if each is not None]))


def procedures_folder() -> Path:
    """The procedures that come with the program: inside the installed package, else beside it."""
    package = Path(__file__).resolve().parent.parent
    inside = package / "procedures"
    return inside if inside.is_dir() else package.parent / "procedures"


def _library(shelf: Shelf, overlaid: Overlaid, folders: list[Folder]) -> Library:
    whole = {name: order.with_taken(category, shelf.categories) for name, category in shelf.categories.items()}
    milestones, stages = shelf.table("milestones"), shelf.table("stages")
    sequence = order.reference_order(whole, milestones, stages)
    if sequence.cycles:
        from service.library.sequence import cycle_mistakes

        raise LibraryMistakes(cycle_mistakes(sequence.cycles, shelf))
    return Library(
        categories=shelf.categories,
        milestones=milestones,
        stages=stages,
        tools=shelf.table("tools"),
        consumables=shelf.table("consumables"),
        sources=shelf.table("sources"),
        factors=shelf.table("factors"),
        symptoms=shelf.table("symptoms"),
        order={node: rank for rank, node in enumerate(sequence.nodes)},
        digest=digest_of(folders),
        own_figures=overlaid.own_figures,
        dropped_safety=overlaid.dropped_safety,
    )


@cache
def _adapter(shape: Any) -> Any:
    """Made once a process: making one takes longer than reading a file with it."""
    from pydantic import TypeAdapter

    return TypeAdapter(shape)


def _rename_with(raw: dict[str, Any]) -> None:
    """`with` is a reserved word of Python, so the value's field is `with_`."""
    for join in _tables(raw.get("joins")):
        if "with" in join:
            join["with_"] = join.pop("with")


def _tables(raw: Any) -> Iterator[dict[str, Any]]:
    if isinstance(raw, list):
        yield from (each for each in raw if isinstance(each, dict))
