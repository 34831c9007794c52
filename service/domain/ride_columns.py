"""Which columns of a sheet hold a ride's day, distance and the rest, in which units; what is unclear is asked."""

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Literal, get_args

from service.domain.sheet import Sheet
from service.errors import Fault, Refusal

METRES_PER: Mapping[str, float] = {"km": 1000.0, "m": 1.0, "mi": 1609.344}
"""1 mi = 1 609.344 m and 1 ft = 0.3048 m exactly (NIST SP 811, Appendix B.8)."""
CLIMB_METRES_PER: Mapping[str, float] = {"m": 1.0, "ft": 0.3048}
SECONDS_PER: Mapping[str, float] = {"s": 1.0, "min": 60.0, "h": 3600.0}
CLOCKS = ("h:mm", "mm:ss")
"""How a time of two figures is meant; one of three is always h:mm:ss."""
SPELT = {
    **dict.fromkeys(("km", "kms", "kilometer", "kilometers", "kilometre", "kilometres"), "km"),
    **dict.fromkeys(("m", "meter", "meters", "metre", "metres"), "m"),
    **dict.fromkeys(("mi", "mile", "miles", "meilen"), "mi"),
    **dict.fromkeys(("ft", "feet", "foot"), "ft"),
    **dict.fromkeys(("s", "sec", "secs", "second", "seconds", "sekunden"), "s"),
    **dict.fromkeys(("min", "mins", "minute", "minutes", "minuten"), "min"),
    **dict.fromkeys(("h", "hr", "hrs", "hour", "hours", "std", "stunden"), "h"),
    **dict.fromkeys(("h:mm", "hh:mm"), "h:mm"),
    **dict.fromkeys(("m:ss", "mm:ss"), "mm:ss"),
}
NAMES: Mapping[str, frozenset[str]] = {
    "when": frozenset({"date", "datum", "day", "tag", "started", "start", "begin", "beginn", "fecha", "dato", "when"}),
    "time_of_day": frozenset({"uhrzeit", "clock"}),
    "distance": frozenset({"distance", "distanz", "strecke", "entfernung", "distancia", "distanza", "afstand"}),
    "moving_time": frozenset({"moving", "fahrzeit"}),
    "climb": frozenset({"climb", "ascent", "höhenmeter", "anstieg", "aufstieg", "gain"}),
    "conditions_column": frozenset({"conditions", "condition"}),
    "note": frozenset({"note", "notes", "remark", "comment", "bemerkung", "notiz"}),
}
"""Words in the name of a column that say what it holds."""
DateOrder = Literal["day-first", "month-first"]
Decimal = Literal["point", "comma"]
_IN_BRACKETS = re.compile(r"[(\[]\s*([^()\[\]]+?)\s*[)\]]")
_DAY_OR_MONTH = re.compile(r"(\d{1,2})([-/.])(\d{1,2})\2\d{4}(?!\d)", re.ASCII)
_LIKE_A_DAY = re.compile(r"\d{1,4}[-/.]\d{1,2}[-/.]\d{1,4}", re.ASCII)
_FIGURE = re.compile(r"\d[\d.,'’\s]*", re.ASCII)
_EITHER_WAY = re.compile(r"[1-9]\d{0,2}[.,]\d{3}", re.ASCII)


@dataclass(frozen=True, slots=True)
class Columns:
    """What was said about the columns, by name; None is to be found out, "" is not to be read."""

    when: str | None = None
    time_of_day: str | None = None
    distance: str | None = None
    moving_time: str | None = None
    climb: str | None = None
    conditions_column: str | None = None
    note: str | None = None
    distance_unit: str | None = None
    moving_time_unit: str | None = None
    climb_unit: str | None = None
    date_order: DateOrder | None = None
    decimal: Decimal | None = None


def settle(said: Columns, sheet: Sheet) -> Columns:
    """The same with everything found out: a column that is not read is "", a unit that is not needed is None.

    Raises Refusal with every question that only the person can answer.
    """
    faults = [
        Fault(f"/{use}", f"should be one of: {_listed(sheet.names)}")
        for use in NAMES
        if (name := getattr(said, use)) and name not in sheet.names
    ]
    if faults:
        raise Refusal(f"The file has no such column; it has {_listed(sheet.names)}.", errors=faults)
    _check_words(said)
    found = _with_columns(said, sheet)
    missing = [
        Fault(f"/{use}", f"should name the column with the {what}: one of {_listed(sheet.names)}")
        for use, what in (("when", "day"), ("distance", "distance"))
        if not getattr(found, use)
    ]
    if missing:
        raise Refusal(f"Say in which columns to look; the file has {_listed(sheet.names)}.", errors=missing)
    found, questions = _with_units(said, found, sheet)
    order, decimal = found.date_order or _date_order(sheet.cells(found.when or "")), found.decimal
    if order is None:
        questions.append(
            Fault("/date_order", "day-first or month-first: 5/4/2026 is the 5th of April or the 4th of May")
        )
    if decimal is None and (decimal := _decimal(_numbers(found, sheet), sheet.delimiter)) is None:
        questions.append(Fault("/decimal", "point or comma: 1,240 is 1240 to some and 1.24 to others"))
    if questions:
        raise Refusal("The file alone does not say how it is meant; please say it.", errors=questions)
    return replace(found, date_order=order, decimal=decimal)


def guess(sheet: Sheet) -> Columns:
    """The columns and units as far as their names say them; nothing is refused."""
    return _with_units(Columns(), _with_columns(Columns(), sheet), sheet)[0]


def _check_words(said: Columns) -> None:
    """Raises Refusal for a unit, an order or a decimal sign that is none of those there are."""
    known: dict[str, tuple[str, ...]] = {f"{use}_unit": units for use, units in UNITS.items()}
    known |= {"date_order": get_args(DateOrder), "decimal": get_args(Decimal)}
    faults = [
        Fault(f"/{name}", f"should be one of: {_listed(words)}")
        for name, words in known.items()
        if getattr(said, name) is not None and getattr(said, name) not in words
    ]
    if faults:
        first = faults[0]
        raise Refusal(f"{first.pointer.strip('/').replace('_', ' ').capitalize()} {first.detail}.", errors=faults)


def _listed(names: Iterable[str]) -> str:
    return ", ".join(names)


def unit_in(name: str) -> str | None:
    """The unit that a column's name carries, in brackets or as its last word; None where there is none."""
    bracketed = [SPELT.get(each.lower()) for each in _IN_BRACKETS.findall(name)]
    last = re.split(r"[\s_,/-]+", _IN_BRACKETS.sub(" ", name).strip().lower())[-1]
    return next((unit for unit in reversed(bracketed) if unit), None) or SPELT.get(last)


def _with_columns(said: Columns, sheet: Sheet) -> Columns:
    """Takes the columns that nobody named from their names; each column serves once."""
    used = {name for use in NAMES if (name := getattr(said, use))}
    found: dict[str, str] = {}
    for use, words in NAMES.items():
        if getattr(said, use) is not None:
            continue
        fits = [name for name in sheet.names if name not in used and _means(name, use, words)]
        fits.sort(key=lambda name: not _suits(name, use, sheet))
        found[use] = fits[0] if fits else ""
        used |= set(fits[:1])
    return replace(said, **found)  # type: ignore[arg-type]


def _suits(name: str, use: str, sheet: Sheet) -> bool:
    """Of several columns the better one: days look like days, and a distance says its unit."""
    if use != "when":
        return unit_in(name) is not None
    return any(_LIKE_A_DAY.match(cell) for cell in sheet.cells(name)[:1])


def _means(name: str, use: str, words: frozenset[str]) -> bool:
    lower = name.lower()
    is_unit = use == "distance" and SPELT.get(lower) in ("km", "mi")  # a column that is called km holds nothing else
    return is_unit or bool(words & set(re.findall(r"[^\W\d_]+", lower)))


UNITS: Mapping[str, tuple[str, ...]] = {
    "distance": tuple(METRES_PER),
    "moving_time": (*SECONDS_PER, *CLOCKS),
    "climb": tuple(CLIMB_METRES_PER),
}


def _with_units(said: Columns, found: Columns, sheet: Sheet) -> tuple[Columns, list[Fault]]:
    """Takes units from the names; a column that nobody asked for is left where its unit is unclear."""
    questions: list[Fault] = []
    changes: dict[str, str | None] = {}
    needs: dict[str, Callable[[list[str]], bool]] = {"moving_time": _needs_time_unit}
    for use, units in UNITS.items():
        name, given = getattr(found, use), getattr(found, f"{use}_unit")
        if not name or given is not None:
            continue
        unit = unit_in(name)
        if unit in units:
            changes[f"{use}_unit"] = unit
        elif not needs.get(use, _lacks_unit)(sheet.cells(name)):
            continue
        elif getattr(said, use) is None and use != "distance":
            changes[use] = ""
        else:
            questions.append(Fault(f"/{use}_unit", f"should be the unit of the column {name}: {_listed(units)}"))
    return replace(found, **changes), questions  # type: ignore[arg-type]


def _lacks_unit(cells: list[str]) -> bool:
    """Whether a cell says no unit of its own, as 42.1 km does."""
    return any(not cell[-1:].isalpha() for cell in cells)


def _needs_time_unit(cells: list[str]) -> bool:
    """Whether a cell is anything but hours, minutes and seconds."""
    return any(cell.count(":") != 2 for cell in cells)


def _date_order(cells: list[str]) -> DateOrder | None:
    """Which of day and month comes first where the year comes last; None where the cells do not say."""
    first = second = unclear = False
    for cell in cells:
        met = _DAY_OR_MONTH.match(cell)
        if met is None:
            continue
        one, other = int(met[1]), int(met[3])
        first |= one > 12 or met[2] == "."
        second |= other > 12 and met[2] != "."
        unclear |= one != other
    if first != second:
        return "day-first" if first else "month-first"
    return None if first or unclear else "day-first"


def _numbers(found: Columns, sheet: Sheet) -> Iterable[str]:
    for name in (found.distance, found.climb, found.moving_time):
        if name:
            yield from (cell for cell in sheet.cells(name) if ":" not in cell and ("," in cell or "." in cell))


def _decimal(cells: Iterable[str], delimiter: str) -> Decimal | None:
    """Which sign parts the fraction off; None where the cells do not say, or contradict each other."""
    seen: set[Decimal] = set()
    unclear: set[str] = set()
    for cell in cells:
        met = _FIGURE.match(cell.lstrip("+-"))
        figure = met[0].strip() if met else ""
        comma, point = figure.rfind(","), figure.rfind(".")
        if comma >= 0 and point >= 0:
            seen.add("comma" if comma > point else "point")
        elif comma >= 0 or point >= 0:
            mark: Decimal = "comma" if comma >= 0 else "point"
            sign = "," if comma >= 0 else "."
            if figure.count(sign) > 1:
                seen.add("point" if mark == "comma" else "comma")
            elif _EITHER_WAY.fullmatch(figure):
                unclear.add(sign)
            else:
                seen.add(mark)
    if len(seen) == 1:
        return seen.pop()
    if seen or "," in unclear or ("." in unclear and delimiter == ";"):
        return None
    return "point"
