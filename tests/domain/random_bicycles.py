"""Bicycles put together by chance from the procedures: any parts, any facts, some of either left out."""

import random
from collections.abc import Iterable, Mapping
from typing import Any

from service.domain.ends import end_in, own_places
from service.domain.procedure import Category, Library, SpecField
from tests.domain.bicycles import Workshop

Kinds = tuple[str, ...]
INSTEAD: tuple[tuple[Kinds, ...], ...] = (
    (
        ("stem", "handlebar"),
        ("stem", "drop-bar"),
        ("quill-stem", "handlebar"),
        ("quill-stem", "drop-bar"),
        ("one-piece-bar",),
    ),
    (("seatpost",), ("dropper-post",)),
    (("brake-lever", "shifter"), ("combined-lever",)),
    (("chain",), ("belt",)),
    (("rear-derailleur", "front-derailleur", "derailleur-hanger", "chain-guide"), ("chain-guide",), ()),
    (("grips",), ("bar-tape",)),
)
"""What replaces what on a bicycle: of each line one set of kinds is on it."""
INSTEAD_AT_AN_END: tuple[tuple[Kinds, ...], ...] = (
    (
        ("cable-disc-caliper", "brake-cable", "rotor", "brake-adaptor"),
        ("hydraulic-disc-caliper", "hydraulic-hose", "rotor", "brake-adaptor"),
        ("linear-pull-brake", "brake-cable"),
        ("cantilever-brake", "brake-cable"),
        ("dual-pivot-brake", "brake-cable"),
        ("hub-brake", "brake-cable"),
        ("hub-brake", "linear-pull-brake", "brake-cable"),
    ),
    (("wheel",), ("factory-wheel",)),
    (
        ("hub", "cassette"),
        ("hub", "screw-on-freewheel"),
        ("hub", "single-sprocket"),
        ("dynamo-hub", "cassette"),
        ("internal-gear-hub",),
    ),
    (("tube",), ("tubeless-valve",)),
)
"""The same at the front and, chosen anew, at the rear."""
BICYCLE, ENDS = "", ("front", "rear")


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
    without = {BICYCLE: _left_out(INSTEAD, dice)} | {end: _left_out(INSTEAD_AT_AN_END, dice) for end in ENDS}
    hosts: list[tuple[Any, str, str]] = [(None, "build", BICYCLE)]
    while hosts:
        into, kind, end = hosts.pop(0)
        for name, category in library.categories.items():
            if kind not in category.into or category.places == "joins" or (name == "axle" and into is not None):
                continue
            for place in own_places(category, kind) or ("",):
                at = end_in(place) or end
                if not _belongs(name, category, at, without) or dice.random() < missing:
                    continue
                part = shop.part(name, **_with(category, place, dice, unknown))
                shop.choose(part, place, into)
                hosts.append((part, name, at))
    return shop


def _left_out(instead: Iterable[tuple[Kinds, ...]], dice: random.Random) -> set[str]:
    """Everything that the sets chosen by chance replace."""
    chosen = [(dice.choice(sets), sets) for sets in instead]
    return {name for one, sets in chosen for kinds in sets for name in kinds if name not in one}


def _belongs(name: str, category: Category, end: str, without: Mapping[str, set[str]]) -> bool:
    """Can there be such a part at this end, beside what was chosen?"""
    elsewhere = category.end in ENDS and end in ENDS and category.end != end
    return not elsewhere and name not in without[BICYCLE] and name not in without.get(end, ())


def _with(category: Category, place: str, dice: random.Random, unknown: float) -> dict[str, Any]:
    facts = {f.key: any_fact(f, dice) for f in category.specs if dice.random() >= unknown}
    return facts | {
        "origin": dice.choice(("new", "second-hand", "owned", "came fitted")),
        "state": dice.choice(("in hand", "in hand", "ordered")),
    }
