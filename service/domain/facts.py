"""Whether an entered fact or torque can be one: its kind, its choices, how likely its number is."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date

from service.domain.bolt import ceiling_nm
from service.domain.procedure import Category, Fastening, Library, SpecField
from service.domain.torque import fastenings_of
from service.errors import Asks, Fault, Refusal

STRONGEST = "12.9"
"""The strongest class of bolt that is met on a bicycle."""
MOST_BY_FEEL_NM = 60.0
"""A figure above it is asked about where the library has no range: common practice, no source."""

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


def check_pairs(category: Category, numbers: Mapping[str, float], entered: Mapping[str, str]) -> None:
    """Checks the numbers of a part, by field, against each other; `entered`: where each that is being written stands.

    Raises Refusal where a least is above its most (`at_most`); a pair that stood there before is let be.
    """
    fields = {field.key: field for field in category.specs}
    wrong: list[Fault] = []
    said: list[str] = []
    for low in category.specs:
        high = fields.get(low.at_most) if low.at_most is not None else None
        if (
            high is None
            or low.key not in numbers
            or high.key not in numbers
            or not entered.keys() & {low.key, high.key}
        ):
            continue
        least, most = numbers[low.key], numbers[high.key]
        if least > most:
            said.append(f"{low.title} ({low.key}) is {least:g}, above {high.title} ({high.key}), {most:g}")
            where = {low.key: f"is {least:g}, above {high.title}, {most:g}: measure both again"}
            where[high.key] = f"is {most:g}, below {low.title}, {least:g}: measure both again"
            wrong += [Fault(entered[key], words) for key, words in where.items() if key in entered]
    if wrong:
        raise Refusal(f"{'; '.join(said)}: measure both again.", errors=wrong)


def at_specs(keys: Iterable[str]) -> dict[str, str]:
    """Where the facts of a part stand in what is sent, by field."""
    return {key: f"/specs/{key}" for key in keys}


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


def fastenings_at(library: Library, category: str) -> dict[str, tuple[Fastening, ...]]:
    """The fastenings that concern a category by full name, "category.key": its own first, then those that it joins.

    A part joins what a fastening names, by its category or by one it stands in for, or what others are hosted by.
    """
    known = library.categories.get(category)
    roles = {category, *(known.stands_in_for if known is not None else ())}
    own: dict[str, tuple[Fastening, ...]] = {}
    joined: dict[str, tuple[Fastening, ...]] = {}
    for other in library.categories.values():
        hosts = {*other.host.values(), *other.into}
        met = roles | {"host"} if roles & hosts else roles
        for each in fastenings_of(other, library):
            mine = other.category == category
            if mine or met & set(each.between):
                into = own if mine else joined
                name = f"{other.category}.{each.key}"
                into[name] = (*into.get(name, ()), each)
    return own | joined


def check_fastening(library: Library, category: str, fastening: str) -> str:
    """The fastening's full name, "category.key". Raises Refusal where no such fastening concerns this category."""
    category_of(library, category)
    there = fastenings_at(library, category)
    full = fastening if "." in fastening else f"{category}.{fastening}"
    if full not in there:
        known = ", ".join(there) or "none"
        raise Refusal(
            f"No fastening {fastening} joins a {category}; it has {known}.",
            errors=[(f"/torque_figures/{fastening}", f"is none of {known}")],
        )
    return full


def check_figure(library: Library, category: str, fastening: str, high_nm: float, *, pointer: str) -> None:
    """Raises Asks where a maker's figure, N·m, is far outside reason for all alternatives of this fastening.

    That is: over twice the general most, over what a bolt of class 12.9 takes (never less than the general most), under
    half the general least; where all of them go by feel, over 60 N·m. Common practice, no source.
    """
    rows = fastenings_at(library, category)[fastening]
    spans = [_reason(row) for row in rows if row.high_nm is not None] or [_reason(row) for row in rows]
    low, high = min(low for low, _ in spans), max(high for _, high in spans)
    if low <= high_nm <= high:
        return
    span = f"{low:g} to {high:g}" if low else f"at most {high:g}"
    raise Asks(
        f"{high_nm:g} N·m is unlikely for {rows[0].title} ({fastening}); {span} N·m is within reason. Read the maker's "
        'sheet again, with its unit, then send it with "sure": true if it is right.',
        confirm="sure",
        pointer=pointer,
    )


def _reason(row: Fastening) -> tuple[float, float]:
    """Between what a maker's most is not asked about, N·m."""
    bolt = ceiling_nm(row.thread, STRONGEST) if row.thread else None
    if row.high_nm is None:
        return 0.0, min(MOST_BY_FEEL_NM, bolt or MOST_BY_FEEL_NM)
    most = 2 * row.high_nm
    return (row.low_nm or 0.0) / 2, min(most, max(bolt, row.high_nm)) if bolt is not None else most
