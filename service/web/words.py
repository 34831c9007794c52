"""How figures, days, places and states are written on a page."""

import re
from collections.abc import Mapping
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from service.domain.due_words import until_words
from service.domain.procedure import Library
from service.domain.wording import MONTHS, part_title

NARROW = "\N{NARROW NO-BREAK SPACE}"
_FACT = re.compile(r"\b(?:([a-z]+(?:-[a-z]+)*)\.)?([a-z]+(?:_[a-z0-9]+)+|(?<=\.)[a-z]+)\b")
UNITS = {
    "mm": "mm",
    "nm": "N·m",
    "g": "g",
    "km": "km",
    "kpa": "kPa",
    "ml": "ml",
    "percent": "%",
    "years": "years",
    "deg": "°",
    "tpi": "turns an inch",
}


_UNSAID = re.compile(r",?\s*\{\w+\}")


def without_place(title: str) -> str:
    """A title of the library where the place is said elsewhere, or not known: "Lining, {end}" is "Lining"."""
    return " ".join(_UNSAID.sub("", title).split())


def number(of: float, places: int = 3) -> str:
    """A number without needless noughts; thousands stand apart, because a comma may be a decimal one."""
    text = f"{of:,.{places}f}".replace(",", NARROW)
    return text.rstrip("0").rstrip(".") if "." in text else text


def km(of: float | None) -> str:
    """A distance: "1 240 km"; tenths below 100 km."""
    return "not known" if of is None else f"{number(of, 1 if abs(of) < 100 else 0)}{NARROW}km"


def run(least_km: float, known: bool) -> str:
    """What a part has run: "at least 1 240 km" where its former life is not known; nothing logged says nothing then."""
    if known:
        return km(least_km)
    return "not known" if round(least_km, 1) == 0 else f"at least {km(least_km)}"


def day(of: date | None) -> str:
    """A day: "4 May 2026"."""
    return "" if of is None else f"{of.day} {MONTHS[of.month - 1]} {of.year}"


def when(at: datetime | None, zone: str) -> str:
    """An instant as the clock on the workshop's wall showed it: "4 May 2026, 11:30"."""
    if at is None:
        return ""
    there = at.astimezone(ZoneInfo(zone))
    return f"{day(there.date())}, {there:%H:%M}"


def minutes(of: float) -> str:
    """A time of work or waiting: "8 min", "1 h 20 min", "about 3 days"."""
    whole = round(of)
    if whole < 60:
        return f"{whole} min"
    if whole < 48 * 60:
        hours, rest = divmod(whole, 60)
        return f"{hours} h {rest} min" if rest else f"{hours} h"
    return f"about {round(whole / 1440)} days"


def place(of: str) -> str:
    """A place in words: "front, left"."""
    return of.replace(".", ", ").replace("-", " ")


def title(slot: str, library: Library) -> str:
    """What a category is called."""
    return part_title(slot, library)


def at_place(slot: str, of: str, library: Library) -> str:
    """A category with its place: "Tyre, front"."""
    return ", ".join(word for word in (title(slot, library), place(of)) if word)


def sentence(of: str) -> str:
    """With a capital at the beginning."""
    return of[:1].upper() + of[1:]


def unit(key: str) -> str:
    """The unit that ends a key, or nothing."""
    return UNITS.get(key.rpartition("_")[2], "") if "_" in key else ""


def torque(low_nm: float | None, high_nm: float | None) -> str:
    """A torque range in N·m: "6 to 8", "at most 7"; empty where it is done by feel."""
    if high_nm is None:
        return "" if low_nm is None else f"at least {number(low_nm, 1)}"
    if low_nm is None:
        return f"at most {number(high_nm, 1)}"
    return number(low_nm, 1) if low_nm == high_nm else f"{number(low_nm, 1)} to {number(high_nm, 1)}"


def spoken(of: str) -> str:
    """An id or a choice in words: "road_modern" is "road modern"."""
    return re.sub(r"[_-]+", " ", of)


def tool(of: Any) -> str:
    """A tool with its size: "Hex keys, 5"."""
    return f"{of.title}, {of.size}" if of.size else str(of.title)


def consumable(of: Any, library: Library) -> str:
    """An amount of something that is used up: "Grease: 2 dab"."""
    stuff = library.consumables.get(of.what)
    return f"{stuff.title if stuff else sentence(spoken(of.what))}: {number(of.amount)} {of.unit}"


def fact(spec: Any, field: Any) -> str:
    """An entered fact as it is read: its number with the unit, or its choice in words."""
    numbers = spec.numbers if spec.numbers is not None else [] if spec.number is None else [spec.number]
    if numbers:
        return f"{', '.join(number(each) for each in numbers)} {unit(field.key)}".strip()
    words = spec.choices if spec.choices is not None else [spec.words]
    return ", ".join(spoken(each) if field.kind in ("choice", "choices") else each for each in words)


def field_title(of: Any, library: Library) -> str:
    """What the field of a compared fact is called."""
    category = library.categories.get(of.category)
    found = [each.title for each in category.specs if each.key == of.field] if category is not None else []
    return found[0] if found else spoken(of.field)


def facts_named(of: str, library: Library) -> str:
    """A reason with its facts called by their titles: "fork.steerer_material" is "fork, material of the steerer"."""

    def named(match: re.Match[str]) -> str:
        owner, key = match[1] or "", match[2]
        category = library.categories.get(owner)
        if category is None:
            return spoken(match[0].replace(".", ", "))
        titles = {spec.key: spec.title for spec in category.specs}
        return f"{category.title}, {titles.get(key, spoken(key))}".lower()

    return _FACT.sub(named, of)


FILTERS: Mapping[str, Any] = {
    each.__name__: each
    for each in (
        *(number, km, day, until_words, when, minutes, place, title, at_place, sentence),
        *(unit, spoken, tool, consumable, fact, field_title, facts_named),
    )
}
