"""The readings of a log entry, as a form asks for them and as they were typed: exact, or between two marks."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any, NamedTuple
from uuid import UUID

from service.domain.procedure import Library, Wear
from service.errors import Fault, Malformed, Refusal
from service.schemas.care import WearMeasured
from service.web.forms import Typed, as_number, read

GAUGE = "gauge_step"
MARKS = (
    ("0:0.5", "not even the mark 0.5"),
    ("0:0.25", "not even the mark 0.25"),
    ("0.25:0.5", "0.25 goes in, 0.5 does not"),
    ("0.5:0.75", "0.5 goes in, 0.75 does not"),
    ("0.75:1", "0.75 goes in, 1.0 does not"),
    ("0.75:", "0.75 goes in, and it is the last mark"),
    ("1:", "1.0 goes in"),
)
"""The usual marks of a drop-in chain gauge, %: common practice, no source. Another gauge is typed in."""
PASS = (("0", "passes"), ("1", "fails"))
GRADES = (("0", "0, smooth"), ("1", "1, a feel"), ("2", "2, a notch or visible play"), ("3", "3, grinding"))


class Asked(NamedTuple):
    """One reading that a form asks for: a dimension at a place, its field's name, and what is chosen instead of typed.

    `tools` are those whose error is known; `bracket` says that two marks can be typed.
    """

    wear: Wear
    place: str
    name: str
    choices: Sequence[tuple[str, str]]
    tools: Sequence[tuple[str, str]]
    bracket: bool


def asked_of(wear: Sequence[Wear], library: Library) -> list[Asked]:
    """What is asked of a part with these dimensions, in the file's order; the gauge that two taps do comes first."""
    found = [_asked(each, place, library) for each in wear for place in each.places or ("",)]
    return sorted(found, key=lambda each: each.wear.key != GAUGE)


def _asked(wear: Wear, place: str, library: Library) -> Asked:
    name = f"wear.{wear.key}.{place}" if place else f"wear.{wear.key}"
    choices = MARKS if wear.key == GAUGE else {"pass": PASS, "grade": GRADES}.get(wear.scale, ())
    tools = [(tool, _title(tool, library)) for tool in wear.reading_error if tool != "any"]
    return Asked(wear, place, name, choices, tools, bracket=wear.scale == "amount")


def _title(tool: str, library: Library) -> str:
    found = library.tools.get(tool)
    return found.title.lower() if found is not None else tool.replace("-", " ")


def readings_typed(
    form: Typed, part_id: UUID | None, asked: Sequence[Asked], when: dict[str, str]
) -> list[tuple[str, WearMeasured]]:
    """The readings that were typed or chosen, each with its field's name. Raises Malformed at that field."""
    found = []
    for each in asked:
        values = _values(form, each) if part_id is not None else {}
        if values:
            values |= {"part": part_id, "dimension": each.wear.key, "place": each.place} | when
            values |= {"sure": form.has(f"{each.name}.sure")}
            values |= {"id": form(f"id.{each.name}")} if form.has(f"id.{each.name}") else {}
            values |= {"tool": form(f"tool.{each.name}")} if form.has(f"tool.{each.name}") else {}
            with at_field(each.name):
                found.append((each.name, read(WearMeasured, values)))
    return found


def _values(form: Typed, each: Asked) -> dict[str, Any]:
    """What was given: an exact figure, a choice, or two marks; two of them contradict each other."""
    low, _, high = form(f"marks.{each.name}").partition(":")
    typed = {
        "reading": form(each.name),
        "low": form(f"low.{each.name}") or low,
        "high": form(f"high.{each.name}") or (high if not form.has(f"low.{each.name}") else ""),
    }
    given = {key: _number(text, each) for key, text in typed.items() if text.strip()}
    if "reading" in given and len(given) > 1:
        say = "is given twice: as a figure and between two marks; leave one of them out"
        raise Malformed(f"{each.wear.title} {say}.", errors=[(_pointer(each.name), say)])
    if "high" in given and "low" not in given:
        given["low"] = 0  # not even the first mark goes in
    return given


def _number(text: str, each: Asked) -> int | float:
    number = as_number(text, _pointer(each.name))
    if isinstance(number, str):
        say = f"should be a number such as 0.5, not {number!r}"
        raise Malformed(f"{each.wear.title} {say}.", errors=[(_pointer(each.name), say)])
    return number


def _pointer(name: str) -> str:
    return f"/{name.replace('.', '/')}"


@contextmanager
def at_field(name: str) -> Iterator[None]:
    """What is refused of a reading stands at its field of the form."""
    try:
        yield
    except Refusal as refusal:
        told = [detail for pointer, detail in refusal.errors if not pointer.startswith("/wear/")]
        kept = [fault for fault in refusal.errors if fault.pointer.startswith("/wear/")]
        own = told or ([] if kept else [str(refusal)])
        refusal.errors = (*kept, *(Fault(_pointer(name), detail) for detail in own))
        raise
