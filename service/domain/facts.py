"""Whether an entered fact can be one: its kind, its choices, how likely its number is."""

from collections.abc import Mapping, Sequence
from datetime import date

from service.domain.procedure import Category, Library, SpecField
from service.errors import Asks, Refusal

Fact = float | str
"""A number in the field's unit, or words."""


def field_of(library: Library, category: str, key: str) -> SpecField:
    """The field of a category. Raises Refusal, naming the fields there are."""
    fields = {field.key: field for field in category_of(library, category).specs}
    if key not in fields:
        known = ", ".join(sorted(fields)) or "none"
        raise Refusal(
            f"{category} has no spec {key}; it has {known}.", errors=[(f"/specs/{key}", f"is none of {known}")]
        )
    return fields[key]


def category_of(library: Library, category: str, *, pointer: str = "/category") -> Category:
    """A category that parts can be of. Raises Refusal, naming those there are."""
    found = library.categories.get(category)
    if found is None or category == "whole-bicycle" or found.deprecated:
        known = ", ".join(sorted(set(library.categories) - {"whole-bicycle"}))
        raise Refusal(f"There is no category {category}; there are {known}.", errors=[(pointer, f"is none of {known}")])
    return found


def check_fact(field: SpecField, facts: Sequence[Fact], *, many: bool, sure: bool = False) -> None:
    """Checks one entered spec. Raises Refusal with what would be right, Asks where a number is unlikely."""
    pointer = f"/specs/{field.key}"
    if many != (field.kind in ("numbers", "choices")):
        wanted = f"{field.kind}, a list" if not many else f"one {_noun(field)}"
        raise Refusal(f"{field.title} ({field.key}) takes {wanted}.", errors=[(pointer, f"takes {wanted}")])
    for fact in facts:
        wrong = _wrong(field, fact)
        if wrong:
            raise Refusal(f"{field.title} ({field.key}) {wrong}.", errors=[(pointer, wrong)])
        if isinstance(fact, float | int) and not sure:
            _ask(field, float(fact), pointer)


def _noun(field: SpecField) -> str:
    nouns = {"number": "number", "choice": "choice in words", "yes-no": "yes or no", "day": "day"}
    return nouns.get(field.kind, "text")


def _wrong(field: SpecField, fact: Fact) -> str | None:
    if field.kind in ("number", "numbers"):
        return None if isinstance(fact, float | int) else f"is a number, not {fact!r}"
    if not isinstance(fact, str):
        return f"takes {_noun(field)}, not a number"
    if field.kind in ("choice", "choices") and fact not in field.choices:
        return f"is one of {', '.join(field.choices)}, not {fact!r}"
    if field.kind == "yes-no" and fact not in ("yes", "no"):
        return f"is yes or no, not {fact!r}"
    if field.kind == "day":
        try:
            date.fromisoformat(fact)
        except ValueError:
            return f"is a day such as 2026-03-14, not {fact!r}"
    return None


def _ask(field: SpecField, number: float, pointer: str) -> None:
    low, high = field.low, field.high
    if (low is not None and number < low) or (high is not None and number > high):
        raise Asks(
            f"{field.title} ({field.key}) is {number:g}, usually {_range(low, high)}: measure again, then send it with "
            '"sure": true if it is right.',
            confirm="sure",
            pointer=pointer,
        )


def _range(low: float | None, high: float | None) -> str:
    if low is None:
        return f"at most {high:g}"
    return f"at least {low:g}" if high is None else f"{low:g} to {high:g}"


def check_fastening(library: Library, category: str, fastening: str) -> str:
    """The fastening's full name, "category.key". Raises Refusal where no such fastening concerns this category."""
    mine = {f"{category}.{each.key}" for each in category_of(library, category).fastenings}
    others: Mapping[str, Category] = library.categories
    joined = {
        f"{other.category}.{each.key}"
        for other in others.values()
        for each in other.fastenings
        if {category, "host"} & set(each.between)
    }
    full = fastening if "." in fastening else f"{category}.{fastening}"
    if full not in mine | joined:
        known = ", ".join(sorted(mine)) or "none of its own"
        raise Refusal(
            f"No fastening {fastening} joins a {category}; it has {known}.",
            errors=[(f"/torque_figures/{fastening}", f"is none of {known}")],
        )
    return full
