"""Mistakes of shape in plain words: unknown and missing keys, wrong types, each at its place in the file."""

from collections.abc import Iterable, Iterator
from difflib import get_close_matches
from typing import Any

from pydantic import ValidationError

from service.library.files import Document, Key
from service.library.mistakes import Mistake

Problem = tuple[Key, str]


def mistakes_of_shape(error: ValidationError, raw: Any, document: Document, key: Key) -> Iterator[Mistake]:
    """One mistake for each place; where a value may be of several kinds, the closest kind's words."""
    problems = [_problem(each, raw) for each in error.errors(include_url=False)]
    deepest = [each for each in problems if not any(_is_inside(other[0], each[0]) for other in problems)]
    by_place: dict[Key, list[str]] = {}
    for place, what in deepest:
        by_place.setdefault(place, []).append(what)
    for place, words in by_place.items():
        name = ".".join(str(part) for part in (*key, *place)) or document.name
        said = ", or ".join(dict.fromkeys(words))
        yield document.mistake((*key, *place), f"{shown_key(name)}: {said}")


def shown_key(name: str) -> str:
    return name.replace("with_", "with")


def _is_inside(inner: Key, outer: Key) -> bool:
    return len(inner) > len(outer) and inner[: len(outer)] == outer


def _problem(error: Any, raw: Any) -> Problem:
    place, missing = _place(error["loc"], raw)
    match error["type"]:
        case "unexpected_keyword_argument":
            return place, "unknown key" + _near(str(place[-1]), _known_keys(error, place))
        case "missing" | "missing_argument" | "missing_keyword_only_argument":
            return place, f"the key `{shown_key(str(missing))}` is missing"
        case "dataclass_type" | "dataclass_exact_type":
            return place, "should be a table"
    return place, _said(error)


def _said(error: Any) -> str:
    said = str(error["msg"])
    given = error.get("input")
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


def _known_keys(error: Any, place: Key) -> list[str]:
    from service.domain import procedure

    names = {"": "Category", "specs": "SpecField", "fastenings": "Fastening", "joins": "Join", "used": "Step"}
    names |= {"steps": "Step", "tasks": "Task", "wear": "Wear", "small_parts": "SmallPart", "care_if": "CareCase"}
    names |= {"records": "Record", "consumables": "Consumable", "rates": "Rate", "limits": "Limit", "needs": "Need"}
    names |= {"first": "Span", "every": "Span", "stages": "Stage", "milestones": "Milestone", "symptoms": "Symptom"}
    tables = [str(part) for part in place[:-1] if isinstance(part, str)]
    kind = getattr(procedure, names.get(tables[-1] if tables else "", "Category"))
    return [str(name) for name in kind.__dataclass_fields__]


def _near(name: str, known: list[str]) -> str:
    near = get_close_matches(name, known, 1)
    return f"; did you mean `{shown_key(near[0])}`?" if near else ""
