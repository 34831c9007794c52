"""Bicycles put together by chance from the procedures: any parts, any facts, some of either left out."""

import random
from typing import Any

from service.domain.ends import own_places
from service.domain.procedure import Category, Library, SpecField
from tests.domain.bicycles import Workshop

INSTEAD = {"one-piece-bar": ("stem", "handlebar"), "combined-lever": ("brake-lever", "shifter")}
"""What one part replaces: either it or those are on a bicycle."""


def any_fact(field: SpecField, dice: random.Random) -> Any:
    """Some value that this field may have."""
    if field.kind in ("choice", "choices"):
        return dice.choice(list(field.choices))
    if field.kind == "yes-no":
        return dice.random() < 0.5
    if field.kind in ("number", "numbers"):
        sizes = [*field.nominal, *(size for _, _, size in field.sizes)]
        low = field.low if field.low is not None else 1
        high = field.high if field.high is not None else low + 300
        return dice.choice(sizes) if sizes else round(dice.uniform(low, high), 1)
    return "2024-05-01" if field.kind == "day" else "mark"


def any_bicycle(library: Library, dice: random.Random, *, missing: float = 0.25, unknown: float = 0.25) -> Workshop:
    """A planned bicycle: `missing` is the chance that a part is left out, `unknown` that a fact is not entered."""
    shop = Workshop(library)
    without = {name for one, others in INSTEAD.items() for name in (others if dice.random() < 0.3 else (one,))}
    hosts: list[tuple[Any, str]] = [(None, "build")]
    fitted: set[str] = set()
    while hosts:
        into, kind = hosts.pop(0)
        for name, category in library.categories.items():
            if kind not in category.into or name in without or category.places == "joins":
                continue
            for place in own_places(category, kind) or ("",):
                if dice.random() < missing or (name == "axle" and into is not None):
                    continue
                part = shop.part(name, **_with(category, place, dice, unknown))
                shop.choose(part, place, into)
                fitted.add(name)
                hosts.append((part, name))
    return shop


def _with(category: Category, place: str, dice: random.Random, unknown: float) -> dict[str, Any]:
    facts = {f.key: any_fact(f, dice) for f in category.specs if dice.random() >= unknown}
    return facts | {
        "origin": dice.choice(("new", "second-hand", "owned", "came fitted")),
        "state": dice.choice(("in hand", "in hand", "ordered")),
    }
