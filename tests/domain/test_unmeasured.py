"""A fact that nobody measured never removes a step: whatever it turns out to be, its steps were shown before."""

import random
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.domain.bicycle import SpecFact
from service.domain.procedure import Library, SpecField
from tests.domain.bicycles import Workshop, by_id
from tests.domain.bicycles import spec as entered
from tests.domain.random_bicycles import any_bicycle
from tests.domain.small_library import library
from tests.procedures import whole_library

SMALL = library()
LIBRARY = whole_library()


def possible_values(field: SpecField, dice: random.Random) -> list[SpecFact]:
    """Every choice of a field; of a number some sizes, and one from each side of what conditions may ask for."""
    if field.kind in ("choice", "choices"):
        return [entered(field.key, choice) for choice in field.choices]
    if field.kind == "yes-no":
        return [entered(field.key, True), entered(field.key, False)]
    if field.kind in ("number", "numbers"):
        sizes = [*field.nominal, *(size for _, _, size in field.sizes)]
        picked = dice.sample(sizes, min(3, len(sizes))) if sizes else [0, 1, 12, 150, 400]
        return [entered(field.key, float(number)) for number in picked]
    return [entered(field.key, "a mark")]


def keys_asked(conditions: Iterable[Any]) -> Iterator[str]:
    """The names of all facts that these conditions read."""
    for condition in conditions:
        if isinstance(condition, Mapping):
            for name, wanted in condition.items():
                yield name.rpartition(".")[2]
                yield from keys_asked([wanted])
        elif isinstance(condition, list | tuple):
            yield from keys_asked(condition)


def deciding_fields(found: Library, category: str) -> list[SpecField]:
    """The fields of a category whose name some step's condition reads; ends of levers decide places, not steps."""
    steps = (step for each in found.categories.values() for step in (*each.used, *each.steps))
    asked = set(keys_asked(step.when for step in steps)) - {"works_brake", "works_gear"}
    return [field for field in found.categories[category].specs if field.key in asked]


def shown_at_all(shop: Workshop) -> set[str]:
    return set(by_id(shop.checklist()))


def check_one_fact(found: Library, seed: int) -> int:
    """Takes one fact of one part away and puts in everything it could be; how often a step came or went with it."""
    dice = random.Random(seed)
    shop = any_bicycle(found, dice, missing=0.15, unknown=0.1)
    if not shop.parts:
        return 0
    part_id = dice.choice(list(shop.parts))
    part = shop.parts[part_id]
    fields = deciding_fields(found, part.category)
    if not fields:
        return 0
    field = dice.choice(fields)
    shop.parts[part_id] = replace(part, specs={k: v for k, v in part.specs.items() if k != field.key})
    unmeasured = shown_at_all(shop)
    decided = 0
    for fact in possible_values(field, dice):
        shop.parts[part_id] = replace(part, specs={**part.specs, field.key: (fact,)})
        measured = shown_at_all(shop)
        assert measured <= unmeasured, (part.category, field.key, fact, measured - unmeasured)
        decided += measured < unmeasured
    return decided


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 10**9))
def test_an_unmeasured_fact_never_removes_a_step_of_the_small_library(seed: int) -> None:
    assert check_one_fact(SMALL, seed) >= 0


@settings(max_examples=8, deadline=None)
@given(st.integers(0, 10**9))
def test_an_unmeasured_fact_never_removes_a_step_of_the_procedures(seed: int) -> None:
    assert check_one_fact(LIBRARY, seed) >= 0


@pytest.mark.slow
def test_an_unmeasured_fact_never_removes_a_step_of_the_procedures_tried_often() -> None:
    assert sum(check_one_fact(LIBRARY, seed) for seed in range(60)) > 20


def test_facts_do_decide_steps_or_the_checks_above_would_mean_nothing() -> None:
    assert sum(check_one_fact(SMALL, seed) for seed in range(60)) > 10
