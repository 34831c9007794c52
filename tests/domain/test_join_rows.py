"""Every place where parts meet has its joins, or a reason why none; what is never accepted cannot be."""

import csv
from collections import Counter
from pathlib import Path
from typing import NamedTuple

import pytest

from service.domain.procedure import Join
from tests.domain.reckoned import books

FILE = Path(__file__).parent / "join_rows.tsv"
PLACES = 112
"""So many the trade lists, with those of its second reading."""


class Row(NamedTuple):
    """One place where parts meet: never to be accepted (N) or with a reason (A), and the joins that judge it."""

    key: str
    may: str
    joins: tuple[str, ...]
    note: str


def rows() -> list[Row]:
    lines = [line for line in FILE.read_text("utf-8").splitlines() if not line.startswith("#")]
    table = csv.reader(lines[1:], delimiter="\t", quoting=csv.QUOTE_NONE)
    return [Row(key, may, tuple(joins.split()), note) for key, may, joins, note in table]


def declared() -> dict[str, Join]:
    return {f"{name}.{each.key}": each for name, category in books().categories.items() for each in category.joins}


@pytest.mark.parametrize("row", rows(), ids=lambda row: f"{row.key} {row.may} {row.joins[:1]}")
def test_what_is_never_accepted_cannot_be_and_the_rest_can(row: Row) -> None:
    joins = declared()
    assert set(row.joins) <= set(joins)
    assert {each: joins[each].acceptable for each in row.joins} == dict.fromkeys(row.joins, row.may == "A")
    assert row.joins or row.note


def test_every_place_of_the_trade_is_there_and_every_join_of_the_library_has_its_place() -> None:
    listed = Counter(row.key for row in rows() if row.key != "-")
    assert len(listed) == PLACES
    assert {key for key, count in listed.items() if count > 1} == {"chain_sprockets", "tyre_rim_width"}
    assert {join for row in rows() for join in row.joins} == set(declared())


def test_a_step_is_only_added_where_a_conflict_can_be_accepted() -> None:
    """And where it is about riding on with it, accepting adds one, but for what a single look at the stand settles."""
    for name, join in declared().items():
        assert join.acceptable or join.accepting_adds is None, name
