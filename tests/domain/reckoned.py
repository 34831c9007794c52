"""The parts of a calculated join in a few words: what is there and known, and the finding that follows."""

from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from typing import Any
from uuid import UUID

from service.domain.bicycle import Bicycle
from service.domain.joins import Finding, findings
from service.domain.procedure import Library
from tests.domain.bicycles import Workshop
from tests.procedures import whole_library

Parts = Mapping[str, Mapping[str, Any]]
"""Facts by part: "hub@rear"; a part of a wheel brings its wheel."""


@cache
def books() -> Library:
    """The procedures that come with the program."""
    return whole_library()


def bicycle(parts: Parts, **build: Any) -> Bicycle:
    """These parts fitted, hosts made as they are needed; a fact of None is not entered."""
    shop, there = Workshop(books()), dict[str, UUID]()
    for key, facts in sorted(parts.items(), key=lambda each: _depth(each[0])):
        name, _, place = key.partition("@")
        name = name.partition("#")[0]
        host, own = _host(shop, there, name, place)
        plain = {field: fact for field, fact in facts.items() if field not in ("mass_g", "is_called")}
        part = shop.part(name, **plain)
        grams = facts.get("mass_g")
        shop.parts[part] = replace(shop.parts[part], mass_weighed_g=grams, name=facts.get("is_called", name))
        shop.fit(part, own, host)
        there[key] = part
    whole = shop.bicycle()
    return replace(whole, build=replace(whole.build, **build))


def _depth(key: str) -> int:
    into = books().categories[key.partition("@")[0].partition("#")[0]].into
    return 0 if "build" in into else 2 if "brake-pads" in key else 1


def _host(shop: Workshop, there: dict[str, UUID], name: str, place: str) -> tuple[UUID | None, str]:
    into = books().categories[name].into
    if "build" in into:
        return None, place
    end, _, own = (place or "rear").partition(".")
    if "wheel" not in into:
        at_end = next((there[f"{host}@{end}"] for host in into if f"{host}@{end}" in there), None)
        return (at_end, own) if at_end else (there[into[0]], place)
    known = there.get(f"factory-wheel@{end}") or there.get(f"wheel@{end}")
    if known is None:
        known = there[f"wheel@{end}"] = shop.part("wheel")
        shop.fit(known, end)
    return known, own


def changed(base: Parts, *changes: str | tuple[str, Any]) -> dict[str, dict[str, Any]]:
    """The same parts with "part.fact" set otherwise; a fact of None is taken out, "-part" takes the part away."""
    parts = {key: dict(facts) for key, facts in base.items()}
    for change in changes:
        if isinstance(change, str):
            del parts[change.removeprefix("-")]
            continue
        key, _, field = change[0].rpartition(".")
        parts.setdefault(key, {})[field] = change[1]
    return parts


def finding(join: str, parts: Parts, **build: Any) -> Finding:
    """The only finding on one join, "category.key" or with "@place"."""
    met = [each for each in findings(bicycle(parts, **build), books()) if join in (each.key, each.join)]
    assert len(met) == 1, f"{len(met)} findings on {join}"
    return met[0]


def shown(met: Finding) -> str:
    """The answer, with the key of what needs care."""
    return f"{met.answer}: {met.care}" if met.care else met.answer
