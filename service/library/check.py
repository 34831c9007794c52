"""Everything that can be wrong with the procedures, gathered and sorted by file and line."""

from pathlib import Path

from service.domain.order import with_taken
from service.library.bounds import check_bounds
from service.library.conditions import check_conditions
from service.library.doubles import check_doubles
from service.library.figures import check_figures
from service.library.forms import check_forms
from service.library.grades import check_exemptions, check_grades
from service.library.groups import check_groups
from service.library.joins import check_joins
from service.library.mistakes import Mistake
from service.library.names import check_names
from service.library.plain import check_plain
from service.library.positions import check_places
from service.library.read import Shelf, shelf_of
from service.library.report import Report
from service.library.sequence import ORDER_FILE, check_sequence, order_lines
from service.library.words import check_words

LOOKS = (
    *(check_names, check_forms, check_plain, check_bounds, check_conditions),
    *(check_joins, check_figures, check_words, check_groups, check_grades),
)


def check(folder: Path, overlay: Path | None = None) -> list[Mistake]:
    """All mistakes and warnings of the procedures in `folder`, a person's own folder laid over them."""
    return look_through(shelf_of(folder, overlay), overlay, folder / ORDER_FILE if overlay is None else None)


def look_through(shelf: Shelf, overlay: Path | None, written: Path | None = None) -> list[Mistake]:
    """All mistakes and warnings of what was read; `written` is the file to compare the reference order with."""
    report = Report(shelf)
    check_places(report)
    for look in LOOKS:
        look(report)
    if overlay is not None:
        check_doubles(report, overlay)
    check_sequence(report, written)
    check_exemptions(report)
    report.say_dropped()
    return sorted({*shelf.mistakes, *report.mistakes})


def write_order(folder: Path) -> Path:
    """Write the reference order as it is now, to be looked at as a change."""
    shelf = shelf_of(folder)
    categories = {name: with_taken(each, shelf.categories) for name, each in shelf.categories.items()}
    file = folder / ORDER_FILE
    file.write_text(order_lines(categories, shelf), "utf-8")
    return file
