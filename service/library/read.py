"""From the files of `procedures/` to one `Library`: shapes and types are checked here, meaning in `check`."""

import gc
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from functools import cache
from pathlib import Path
from typing import Any

from service.domain import order
from service.domain.lists import Factors, Milestone, Source, Stage, Stuff, Tool
from service.domain.procedure import Category, Library
from service.domain.symptom import Symptom
from service.library.files import Document, Folder, digest_of, read_folder
from service.library.mistakes import LibraryMistakes, Mistake
from service.library.overlay import KEYED, Dropped, Overlaid, lay_over
from service.library.salvage import without
from service.library.shape import mistakes_of_shape, places_of_shape

NAMED_TABLES: Mapping[str, Mapping[str, Any]] = {
    "order": {"stages": tuple[Stage, ...], "milestones": tuple[Milestone, ...]},
    "conditions": {"factors": dict[str, Factors]},
    "tools": {"tools": dict[str, Tool]},
    "consumables": {"consumables": dict[str, Stuff]},
    "sources": {"sources": dict[str, Source]},
    "trouble": {"symptoms": tuple[Symptom, ...]},
}
"""What stands in each file beside the categories."""

TABLES = frozenset({*KEYED, "small_parts"})


class Shelf:
    """All values that could be read, with the documents they stand in; mistakes are gathered, not raised.

    `lost`: entries of the wrong shape, which the value of their category does not have. `program`: the same without a
    person's own folder, where one is laid over it; what that does not change is taken over.
    """

    def __init__(self, overlaid: Overlaid, program: "Shelf | None" = None) -> None:
        self.root = overlaid.root
        self.documents = overlaid.documents
        self.broken: set[str] = set(overlaid.broken)
        self.mistakes: list[Mistake] = list(overlaid.mistakes)
        self.dropped = overlaid.dropped
        self.lost: set[Dropped] = set()
        self.program = program
        self.categories: dict[str, Category] = {}
        self.tables: dict[str, Any] = {}
        for name, document in overlaid.documents.items():
            if not name.startswith("categories/"):
                self._read_tables(name, document)
            elif not self._take_over(name.removeprefix("categories/"), document):
                self._read_category(name.removeprefix("categories/"), document)

    def _take_over(self, name: str, document: Document) -> bool:
        """The value of the program's own category where nothing was laid over it: the same value, not its like."""
        known = self.program
        if known is None or name not in known.categories or known.documents[f"categories/{name}"] != document:
            return False
        self.categories[name] = known.categories[name]
        return True

    def table(self, name: str) -> Any:
        """The tools, sources, stages … by id; nothing where their file is missing or broken."""
        found = self.tables.get(name, {})
        return found if isinstance(found, dict) else {each.key: each for each in found}

    def _read_category(self, name: str, document: Document) -> None:
        _rename_with(document.raw)
        try:
            self.categories[name] = _adapter(Category).validate_python(document.raw)
        except ValueError as error:
            self.mistakes.extend(mistakes_of_shape(error, document.raw, document, ()))
            self.broken.add(f"categories/{name}")
            self._read_rest(name, document, error)

    def _read_rest(self, name: str, document: Document, error: ValueError) -> None:
        """A category without what has the wrong shape: its other mistakes are looked for too."""
        found = without(document, places_of_shape(error, document.raw), TABLES)
        with suppress(ValueError):
            self.categories[name] = _adapter(Category).validate_python(found.document.raw)
            self.documents[document.name] = found.document
            self.lost |= {(name, table, key) for table, key in found.lost}

    def _read_tables(self, name: str, document: Document) -> None:
        for key, raw in document.raw.items():
            shape = NAMED_TABLES[name].get(key)
            if shape is None:
                known = " and ".join(NAMED_TABLES[name])
                self.mistakes.append(document.mistake((key,), f"{key}: unknown table; this file has {known}"))
                continue
            try:
                self.tables[key] = _adapter(shape).validate_python(raw)
            except ValueError as error:
                self.mistakes.extend(mistakes_of_shape(error, raw, document, (key,)))
                self.broken.add(name)
                if self.program is not None and key in self.program.tables:
                    self.tables[key] = self.program.tables[key]


def load(folder: Path, own: Path | None = None) -> Library:
    """The library of `folder`, a person's `own` folder laid over it.

    Shapes, types and the order are always checked; what else `check` looks for only where there is an own folder, as
    the folder that comes with the program has been checked before.

    :raises LibraryMistakes: with all mistakes.
    """
    with _no_collecting():
        folders = _folders(folder, own)
        overlaid = lay_over(folders)
        shelf = _shelf(folders, overlaid)
        wrong = shelf.mistakes
        if own is not None:
            from service.library.check import look_through

            wrong = [mistake for mistake in look_through(shelf, own) if not mistake.warning]
        if wrong:
            raise LibraryMistakes(wrong)
        return _library(shelf, overlaid.own_figures, folders)


@contextmanager
def _no_collecting() -> Iterator[None]:
    """What is read stays for as long as the program runs: no garbage is looked for among it meanwhile."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


def shelf_of(folder: Path, own: Path | None = None) -> Shelf:
    """Everything that can be read, with all mistakes of shape."""
    folders = _folders(folder, own, closely=True)
    return _shelf(folders, lay_over(folders))


def _folders(folder: Path, own: Path | None, *, closely: bool = False) -> list[Folder]:
    """Both folders; the program's own one is looked through closely only where it is what is checked."""
    met = [read_folder(folder, closely=closely)]
    return met if own is None else [*met, read_folder(own)]


def _shelf(folders: list[Folder], overlaid: Overlaid) -> Shelf:
    return Shelf(overlaid, Shelf(lay_over(folders[:1])) if len(folders) > 1 else None)


def procedures_folder() -> Path:
    """The procedures that come with the program: inside the installed package, else beside it."""
    package = Path(__file__).resolve().parent.parent
    inside = package / "procedures"
    return inside if inside.is_dir() else package.parent / "procedures"


def _library(shelf: Shelf, own_figures: frozenset[str], folders: list[Folder]) -> Library:
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
        own_figures=own_figures,
        program=_program(shelf, folders),
    )


def _program(shelf: Shelf, folders: list[Folder]) -> Library | None:
    """The program's own library, kept where a person's folder changes what it has: to say what is left out of it."""
    program = shelf.program
    if program is None or all(shelf.categories.get(name) is each for name, each in program.categories.items()):
        return None
    return _library(program, frozenset(), folders[:1])


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
