"""Mistakes of shape in plain words: unknown and missing keys, wrong types, each at its place in the file."""

from collections.abc import Iterable, Iterator, Mapping
from difflib import get_close_matches
from math import isfinite
from typing import Any

from pydantic import ValidationError

from service.domain.lists import Factors, Milestone, Source, Stage, Stuff, Tool
from service.domain.procedure import (
    CareCase,
    Category,
    Consumable,
    Fastening,
    Join,
    Limit,
    Need,
    Rate,
    Record,
    SmallPart,
    Span,
    SpecField,
    Step,
    Task,
    Wear,
)
from service.domain.symptom import Cause, Symptom
from service.library.files import Document, Key
from service.library.mistakes import Mistake
from service.library.sound import NO_NUMBER

Problem = tuple[Key, str]

MISSING = " is missing"
UNKNOWN = "unexpected_keyword_argument"
MOST_GUESSES = 50
"""Guessing what was meant takes long: no more than a person reads."""

VALUES: Mapping[str, Any] = {
    "specs": SpecField,
    "fastenings": Fastening,
    "joins": Join,
    "care_if": CareCase,
    "used": Step,
    "steps": Step,
    "needs": Need,
    "records": Record,
    "consumables": Consumable,
    "small_parts": SmallPart,
    "tasks": Task,
    "first": Span,
    "every": Span,
    "wear": Wear,
    "rates": Rate,
    "limits": Limit,
    "stages": Stage,
    "milestones": Milestone,
    "factors": Factors,
    "tools": Tool,
    "sources": Source,
    "symptoms": Symptom,
    "causes": Cause,
}
"""What the entries of each table become."""


def places_of_shape(error: ValueError, raw: Any) -> list[tuple[Key, bool]]:
    """Where the values are that have the wrong shape, and whether it is only a key that there is not."""
    return [(_place(each["loc"], raw)[0], each["type"] == UNKNOWN) for each in _errors(error)]


def mistakes_of_shape(error: ValueError, raw: Any, document: Document, key: Key) -> Iterator[Mistake]:
    """One mistake for each place; where a value may be of several kinds, the closest kind's words."""
    found = _errors(error)
    problems = [_problem(each, raw, key, guess=number < MOST_GUESSES) for number, each in enumerate(found)]
    around = {place[:length] for place, _ in problems for length in range(len(place))}
    by_place: dict[Key, list[str]] = {}
    for place, what in problems:
        if place not in around or what.endswith(MISSING):
            by_place.setdefault(place, []).append(what)
    for place, words in by_place.items():
        name = ".".join(str(part) for part in (*key, *place)) or document.name
        missing = [each for each in words if each.endswith(MISSING)]
        others = ", or ".join(dict.fromkeys(each for each in words if each not in missing))
        for said in dict.fromkeys([*missing, *([others] if others else [])]):
            yield document.mistake((*key, *place), f"{shown_key(name)}: {said}")


def shown_key(name: str) -> str:
    return name.replace("with_", "with")


def _errors(error: ValueError) -> list[Any]:
    """All that pydantic found. Raises what is no finding of its own."""
    if not isinstance(error, ValidationError):
        raise error
    return list(error.errors(include_url=False))


def _problem(error: Any, raw: Any, key: Key, *, guess: bool) -> Problem:
    place, missing = _place(error["loc"], raw)
    match error["type"]:
        case _ if error["type"] == UNKNOWN:
            known = _known_keys((*key, *place))
            return place, "unknown key" + (_near(str(place[-1]), known) if guess else "")
        case "missing" | "missing_argument" | "missing_keyword_only_argument":
            return place, f"the key `{shown_key(str(missing))}`{MISSING}"
        case "dataclass_type" | "dataclass_exact_type" | "dict_type" | "mapping_type":
            return place, "should be a table"
        case "tuple_type" | "list_type":
            return place, "should be a list"
        case "string_type":
            return place, "should be words in quotes"
    return place, _said(error)


def _said(error: Any) -> str:
    said = str(error["msg"])
    given = error.get("input")
    if isinstance(given, float) and not isfinite(given):
        return NO_NUMBER
    said = said.replace("Input should be", "should be").replace("Input should", "should")
    return f"{said}, not {given!r}" if isinstance(given, str | int | float | bool) else said


def _place(loc: Iterable[str | int], raw: Any) -> tuple[Key, str | int]:
    """The part of `loc` that stands in the file; pydantic puts names of kinds between the keys."""
    place: list[str | int] = []
    last: str | int = ""
    for part in loc:
        inside = (isinstance(raw, dict) and part in raw) or (
            isinstance(raw, list) and isinstance(part, int) and part < len(raw)
        )
        last = part
        if inside:
            raw = raw[part]
            place.append(part)
    return tuple(place), last


def _known_keys(place: Key) -> list[str]:
    """The keys of the table around this one, as the value that it becomes has them."""
    if place[:1] == ("consumables",):
        return _fields_of(Stuff)
    tables = [part for part in place[:-1] if part in VALUES]
    return _fields_of(VALUES[str(tables[-1])] if tables else Category)


def _fields_of(kind: Any) -> list[str]:
    return [str(name) for name in kind.__dataclass_fields__]


def _near(name: str, known: list[str]) -> str:
    near = get_close_matches(name, known, 1)
    return f"; did you mean `{shown_key(near[0])}`?" if near else ""
