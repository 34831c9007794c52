"""What was typed into a form: read into what `records` take, and shown again with the mistakes beside the fields."""

import re
from collections.abc import Iterable, Mapping, Sequence
from typing import Annotated, Any, TypeVar
from uuid import UUID

from fastapi import Depends, Request
from pydantic import BaseModel, ValidationError

from service.errors import Asks, Conflict, Fault, Gone, Malformed, Refusal
from service.ids import new_id
from service.schemas.fields import NO_NUL, field_meant

Model = TypeVar("Model", bound=BaseModel)
MOST_FIELDS = 2000
LONGEST_NUMBER = 40
RIGHT = "tick that it is right"
_NUMBER = re.compile(r"[-+]?[0-9]+(?:[.,][0-9]+)?")
_EITHER_WAY = re.compile(r"[1-9][0-9]{0,2},[0-9]{3}")
_BY_TOKEN = re.compile(r'send it with "sure": true( if it is right)?')


class Typed:
    """The texts of a form by name, as they were typed; in a template `typed("km")`."""

    def __init__(self, pairs: Iterable[tuple[str, str]] = ()) -> None:
        self._texts: dict[str, list[str]] = {}
        for name, text in pairs:
            self._texts.setdefault(name, []).append(text)

    @classmethod
    def of(cls, values: Mapping[str, Any]) -> "Typed":
        """A form that is filled in already; None is left empty, a number is written as people write it."""
        pairs: list[tuple[str, str]] = []
        for name, value in values.items():
            for each in value if isinstance(value, list | tuple) else [value]:
                if each is not None:
                    pairs.append((name, f"{each:.10g}" if isinstance(each, float) else str(each)))
        return cls(pairs)

    def __call__(self, name: str, otherwise: str = "") -> str:
        return self._texts.get(name, [otherwise])[-1]

    def all(self, name: str) -> list[str]:
        """Every text of this name."""
        return self._texts.get(name, [])

    def names(self) -> list[str]:
        """The fields that were sent."""
        return list(self._texts)

    def has(self, name: str) -> bool:
        """Whether a box is ticked, or anything was typed there."""
        return bool(self(name).strip())

    def filled(self, *names: str) -> dict[str, str]:
        """Those of these fields that are not empty."""
        return {name: self(name).strip() for name in names if self.has(name)}

    def numbers(self, *names: str) -> dict[str, int | float | str]:
        """Those of these fields that are not empty, as numbers where they are."""
        return {name: as_number(text, f"/{name}") for name, text in self.filled(*names).items()}

    def ticked(self, *names: str) -> dict[str, bool]:
        """Boxes: true where ticked."""
        return {name: self.has(name) for name in names}

    def version(self) -> int | None:
        """The version that the form was made from; None where it carries none."""
        text = self("version")
        return int(text) if text.isascii() and text.isdigit() and len(text) < 10 else None


async def _typed(request: Request) -> Typed:
    form = await request.form(max_files=0, max_fields=MOST_FIELDS)
    return Typed((name, text) for name, text in form.multi_items() if isinstance(text, str))


Form = Annotated[Typed, Depends(_typed)]


def as_number(text: str, pointer: str) -> int | float | str:
    """The number that was typed, with a point or a decimal comma; what is none stays text, for the model to refuse.

    Raises Malformed for "1,240", which is 1240 to some and 1.24 to others.
    """
    tight = re.sub(r"\s", "", text)
    if _EITHER_WAY.fullmatch(tight):
        say = f"could be {tight.replace(',', '')} or {tight.replace(',', '.')}: write it so, without the comma"
        raise Malformed(f"{name_of(pointer)} {say}.", errors=[(pointer, say)])
    if len(tight) > LONGEST_NUMBER or not _NUMBER.fullmatch(tight):
        return text
    return int(tight) if tight.lstrip("+-").isdigit() else float(tight.replace(",", "."))


def read(model: type[Model], values: Mapping[str, Any]) -> Model:
    """The model made of what was typed. Raises Malformed with what would be right at each field."""
    try:
        return model.model_validate(values)
    except ValidationError as wrong:
        faults = [_fault(error) for error in wrong.errors(include_url=False, include_context=True)]
        raise Malformed(in_a_line(faults), errors=[*dict.fromkeys(faults)]) from None


def in_a_line(faults: Sequence[Fault], name: str = "") -> str:
    """The first mistake in a sentence, its field by `name` or by its pointer, and how many more there are."""
    first, more = faults[0], len(faults) - 1
    return f"{name or name_of(first.pointer)} {first.detail}." + (f" There {_are(more)} more below." if more else "")


def _are(more: int) -> str:
    return "is one" if more == 1 else f"are {more}"


def name_of(pointer: str) -> str:
    """A field in words, from its pointer."""
    words = [word for word in pointer.split("/") if word and word not in ("specs", "number", "words", "records")]
    return re.sub(r"[_.]+", " ", " ".join(words)).capitalize() or "This"


def _fault(error: Any) -> Fault:
    pointer = "".join(f"/{step}" for step in (*error["loc"], *field_meant(error)))
    return Fault(pointer, _words(error))


def _words(error: Any) -> str:
    kind, limits, sent = error["type"], error.get("ctx", {}), error.get("input")
    if kind in ("missing", "string_too_short", "too_short"):
        return "is needed"
    if kind in ("float_parsing", "float_type", "finite_number"):
        return f"should be a number such as 12.5, not {sent!r}"
    if kind.startswith("int_"):
        return f"should be a whole number, not {sent!r}"
    if kind.startswith(("date_", "datetime_")):
        return f"should be a day such as 2026-03-14, not {sent!r}"
    if kind.startswith("uuid_"):
        return "should be chosen from the list"
    if limits.get("pattern") == NO_NUL:
        return "may not hold the character NUL"
    if kind == "literal_error":
        return f"should be {limits['expected']}"
    for name, words in (("gt", "more than"), ("ge", "at least"), ("lt", "less than"), ("le", "at most")):
        if name in limits:
            return f"should be {words} {limits[name]:g}"
    if "max_length" in limits:
        return f"should be at most {limits['max_length']} characters long"
    return str(error["msg"]).removeprefix("Value error, ")


class Wrong:
    """What was refused, for the page that shows the form again; false where nothing was."""

    def __init__(self, refusal: Refusal | None = None, names: Mapping[str, str] | None = None) -> None:
        self.refusal = refusal
        self.names = names or {}
        self.say = _BY_TOKEN.sub(RIGHT, str(refusal)) if refusal is not None else ""
        self.faults = tuple(refusal.errors) if refusal is not None else ()
        self.asks = isinstance(refusal, Asks)

    def __bool__(self) -> bool:
        return self.refusal is not None

    @property
    def status(self) -> int:
        """The status of the page."""
        return self.refusal.status if self.refusal is not None else 200

    def at(self, name: str) -> list[str]:
        """What is wrong at a field: its name is the pointer with points for strokes."""
        found = [detail for where, detail in self._named() if where == name or where.startswith(f"{name}.")]
        return [_BY_TOKEN.sub(RIGHT, detail) for detail in dict.fromkeys(found)]

    def named(self, names: Mapping[str, str]) -> "Wrong":
        """The same, with what further fields are called."""
        return Wrong(self.refusal, names)

    @property
    def title(self) -> str:
        """What stands first in the box above the form."""
        return "Please confirm" if self.asks else "Nothing was stored"

    def asks_at(self, name: str) -> bool:
        """Whether this field waits for a "yes, it is right"."""
        return any(self.asks or RIGHT in detail for detail in self.at(name))

    def _named(self) -> list[tuple[str, str]]:
        return [(pointer.strip("/").replace("/", "."), detail) for pointer, detail in self.faults]

    def listed(self) -> list[tuple[str, str, str]]:
        """Field, its name in words, what is wrong: for the list above a long form."""
        return [
            (where, self.names.get(where) or name_of(pointer), detail)
            for (where, detail), (pointer, _) in zip(self._named(), self.faults, strict=True)
        ]


NOTHING_WRONG = Wrong()


def id_for(typed: Typed, wrong: Wrong) -> UUID | str:
    """The id that a form carries, so that sending it twice is once; a new one where the old one is used up."""
    if typed.has("id") and not isinstance(wrong.refusal, Conflict | Gone):
        return typed("id")
    return new_id()
