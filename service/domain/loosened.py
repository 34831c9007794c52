"""Matters of safety that the owner switched off, loosened or put off: said on every page of the bicycle."""

from collections.abc import Iterator
from datetime import date
from typing import NamedTuple
from uuid import UUID

from service.domain.bicycle import Bicycle, Part, Placed, PutOff, ServiceRule
from service.domain.limit import sign
from service.domain.procedure import Library, Span, Task, Wear
from service.domain.wear_words import unit_of
from service.domain.wording import day_words

METRES = 1000


class Loosened(NamedTuple):
    """A task or dimension, "category.key", of a part or of the whole bicycle, and what was done to it."""

    part_id: UUID | None
    task: str
    title: str
    say: str


def loosened(bicycle: Bicycle, library: Library, today: date) -> tuple[Loosened, ...]:
    """What is switched off, set wider than the library says, or put off beyond today, of all that is safety's."""
    found = [*_rules(bicycle, library), *_put_off(bicycle, library, today)]
    return tuple(sorted(found, key=lambda each: (each.title, each.say)))


def _rules(bicycle: Bicycle, library: Library) -> Iterator[Loosened]:
    for rule in bicycle.rules:
        known = _safety(rule, bicycle, library)
        if known is not None:
            part = bicycle.parts.get(rule.part_id) if rule.part_id is not None else None
            say = looser(rule, known, part)
            if say:
                yield Loosened(rule.part_id, rule.task, _title(known, rule, bicycle), say)


def _put_off(bicycle: Bicycle, library: Library, today: date) -> Iterator[Loosened]:
    for each in bicycle.put_offs:
        known = _safety(each, bicycle, library)
        if known is not None and each.until_on is not None and each.until_on > today:
            say = f"put off until {day_words(each.until_on, today)}: {each.reason}"
            yield Loosened(each.part_id, each.task, _title(known, each, bicycle), say)


def _safety(row: ServiceRule | PutOff, bicycle: Bicycle, library: Library) -> Task | Wear | None:
    """The task of safety that a row is about; None where it is another weight's, or of a part that is not fitted."""
    if row.part_id is not None and _placed(row.part_id, bicycle) is None:
        return None
    known = of_task(library, row.task)
    return known if known is not None and known.weight == "safety" else None


def _placed(part_id: UUID, bicycle: Bicycle) -> Placed | None:
    return next((each for each in bicycle.placed if each.part.id == part_id and not each.planned), None)


def _title(known: Task | Wear, row: ServiceRule | PutOff, bicycle: Bicycle) -> str:
    placed = _placed(row.part_id, bicycle) if row.part_id is not None else None
    where = placed.place.replace(".", " ") if placed is not None else ""
    return ", ".join(word for word in (title_of(known), where) if word)


def of_task(library: Library, task: str) -> Task | Wear | None:
    """The task or dimension of this name; None where there is none."""
    owner, _, key = task.partition(".")
    category = library.categories.get(owner)
    of: tuple[Task | Wear, ...] = (*category.tasks, *category.wear) if category is not None else ()
    return next((each for each in of if each.key == key), None)


def title_of(known: Task | Wear) -> str:
    """What it is called, without the place that is said elsewhere."""
    return known.title.replace(", {end}", "").replace(" {end}", "")


def looser(rule: ServiceRule, known: Task | Wear, part: Part | None) -> str:
    """How a rule asks later than the library, or the mark on the part, does; empty where it does not."""
    if rule.off:
        return f"switched off: {rule.reason}"
    if isinstance(known, Wear):
        return _looser_limit(rule, known, part)
    words = [*_looser_span(rule, known.every or known.first or Span())]
    return f"your own interval is wider: {', '.join(words)}" if words else ""


def _looser_span(rule: ServiceRule, of: Span) -> Iterator[str]:
    """An interval that is wider; what a rule leaves out stays as the library has it."""
    km = None if rule.metres is None else rule.metres / METRES
    for unit, mine, limit in (("km", km, of.km), ("days", rule.days, of.days), ("hours", rule.hours, of.hours)):
        if mine is not None and limit is not None and mine > limit:
            yield f"{mine:g} {unit} instead of {limit:g}"


def _looser_limit(rule: ServiceRule, wear: Wear, part: Part | None) -> str:
    hard = [each for each in wear.limits if each.action in ("replace", "stop")]
    values = [each.value for each in hard if each.value is not None]
    facts = [part.specs.get(each.spec, ()) for each in hard if each.spec] if part is not None else []
    values += [fact.number for each in facts for fact in each if fact.number is not None]
    if rule.limit_reading is None or not values:
        return ""
    strictest = min(values, key=lambda value: sign(wear) * value)
    if sign(wear) * rule.limit_reading <= sign(wear) * strictest:
        return ""
    unit = unit_of(wear)
    return f"your own limit is laxer: {rule.limit_reading:g}{unit} instead of {strictest:g}{unit}"
