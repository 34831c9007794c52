"""Do the placeholders in the texts stand for something?"""

import re
from collections.abc import Iterator
from typing import Any

from service.domain.ends import end_in
from service.domain.order import ends_at, places_of
from service.domain.procedure import Category
from service.library.files import Key
from service.library.report import Report, numbered, steps_of

PLACEHOLDER = re.compile(r"\{([^{}]*)\}")


def check_words(report: Report) -> None:
    """Every text of every category."""
    facts = {
        f"{owner}.{spec.key}"
        for name, category in report.categories.items()
        for spec in category.specs
        for owner in (name, "host", "other")
    }
    for name, category in report.categories.items():
        own = {spec.key for spec in category.specs}
        known = {spec.key for spec in category.specs} | _place_words(report, name, category)
        for key, text in _texts(category):
            _check_text(report, name, key, text, known)
        for key, join in numbered("joins", category.joins):
            _check_text(report, name, (*key, "title"), join.title, set())
            for place, said in ((key, join), *(((*key, *at), case) for at, case in numbered("care_if", join.care_if))):
                # a calculation says its own numbers
                named = set() if join.by else {"mine", "theirs"} | own | facts
                _check_text(report, name, (*place, "say"), said.say, named)
    for number, milestone in enumerate(report.table("milestones").values()):
        for word in PLACEHOLDER.findall(milestone.title):
            if word != "end" or milestone.per != "end":
                report.wrong_in("order", ("milestones", number, "title"), f"{{{word}}} stands for nothing here")


def _place_words(report: Report, name: str, category: Category) -> set[str]:
    places = places_of(name, report.categories)
    words = {"end"} if any(ends_at(category, place) or end_in(place) for place in places) else set()
    if any(word in ("left", "right") for place in places for word in place.split(".")):
        words.add("side")
    return words


def _texts(category: Category) -> Iterator[tuple[Key, str]]:
    for key, step in steps_of(category):
        yield from _fields(key, step, ("title", "text", "reject"))
        for number, caution in enumerate(step.cautions):
            yield (*key, "cautions", number), caution
        for at, record in numbered("records", () if step.records == "all-wear" else step.records):
            yield from _fields((*key, *at), record, ("title", "otherwise"))
    for table, fields in (
        ("fastenings", ("title", "feel", "note")),
        ("tasks", ("title", "say")),
        ("wear", ("title", "measure")),
        ("specs", ("title", "measure")),
    ):
        for key, entry in numbered(table, getattr(category, table)):
            yield from _fields(key, entry, fields)


def _fields(key: Key, entry: Any, names: tuple[str, ...]) -> Iterator[tuple[Key, str]]:
    for name in names:
        text = getattr(entry, name)
        if text:
            yield (*key, name), text


def _check_text(report: Report, category: str, key: Key, text: str, known: set[str]) -> None:
    for word in PLACEHOLDER.findall(text):
        if word not in known:
            report.wrong(category, key, f"{{{word}}} stands for nothing here{report.near(word, known)}")
