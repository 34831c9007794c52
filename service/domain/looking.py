"""Looking for parts by a fact: what was asked for as the readings that count for it, with the give of the fact."""

from collections.abc import Iterator
from dataclasses import dataclass

from service.domain.procedure import Library, SpecField
from service.domain.readings import settle, spec_field
from service.errors import Refusal

Ranges = tuple[tuple[float, float], ...]
HAIR = 1e-9
YES_NO = {"yes": "yes", "true": "yes", "no": "no", "false": "no"}


@dataclass(frozen=True, slots=True)
class Sought:
    """Parts of these categories with a fact: a number in one of these ranges, or these words in any letters."""

    categories: tuple[str, ...]
    field: str
    ranges: Ranges = ()
    words: str | None = None


def sought(library: Library, key: str, worth: str, categories: tuple[str, ...] = ()) -> tuple[Sought, ...]:
    """What to look for, category by category (every one that has the fact where none is named), alike ones together.

    A number counts with the fact's own give; where readings snap to sizes, whatever reads as this size counts. Raises
    Refusal for a fact that none of them has, and for what none of them can be.
    """
    names = categories or tuple(library.categories)
    fields = {name: spec_field(library.categories[name], key) for name in names if name in library.categories}
    there = {name: field for name, field in fields.items() if field is not None}
    if not there:
        known = sorted({each.key for name in fields for each in library.categories[name].specs})
        right = f"one of {', '.join(known) or 'none'}" if categories else "a fact of some category"
        raise Refusal(f"There is no fact {key} to look for; it should be {right}.", errors=[(f"/spec.{key}", right)])
    met: dict[tuple[Ranges, str | None], list[str]] = {}
    wrong: list[str] = []
    for name, field in there.items():
        try:
            met.setdefault(_reads_as(field, worth.strip()), []).append(name)
        except ValueError as right:
            wrong.append(str(right))
    if not met:
        say = f"{next(iter(there.values())).title} ({key}) should be {wrong[0]}, not {worth!r}."
        raise Refusal(say, errors=[(f"/spec.{key}", f"should be {wrong[0]}")])
    return tuple(Sought(tuple(names), key, ranges, words) for (ranges, words), names in met.items())


def _reads_as(field: SpecField, worth: str) -> tuple[Ranges, str | None]:
    """The ranges or the words that count. Raises ValueError, with what would be right."""
    if field.kind in ("number", "numbers"):
        return tuple(_ranges(field, _number(worth))), None
    if field.kind == "yes-no":
        if worth.lower() not in YES_NO:
            raise ValueError("yes or no")
        return (), YES_NO[worth.lower()]
    if field.kind in ("choice", "choices"):
        known = {_plain(each): each for each in field.choices}
        if _plain(worth) not in known:
            raise ValueError(f"one of {', '.join(field.choices)}")
        return (), known[_plain(worth)].lower()
    if not worth:
        raise ValueError("what is written there")
    return (), worth


def _number(worth: str) -> float:
    try:
        number = float(worth.replace(",", "."))
    except ValueError:
        raise ValueError("a number such as 27.2") from None
    if not abs(number) < 1e9:
        raise ValueError("a number such as 27.2")
    return number


def _ranges(field: SpecField, number: float) -> Iterator[tuple[float, float]]:
    size = settle(field, number)
    spans = [(low, high) for low, high, each in field.sizes if each == size]
    if spans:
        yield from spans
        return
    reach = field.give
    if field.nominal and size is not None:
        number, reach = size, field.give if field.snap is None else field.snap
    yield number - reach - HAIR, number + reach + HAIR


def _plain(words: str) -> str:
    return words.lower().replace(" ", "_").replace("-", "_")
