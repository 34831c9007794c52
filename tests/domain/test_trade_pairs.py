"""Nothing of the trade's order is dropped in silence: every pair of it is kept, or left out for a reason.

`trade_pairs.tsv` lists each direct need of the trade's assembly order between two steps that exist: common practice, no
source. `must_come_before.tsv` are those that hold; `must_come_before_left_out.tsv` those that do not, by kind:
other part (one look at two parts there, one look for each part here), later job (done after the first rides, as a job
of its own), either or (the two are never on one bicycle).
"""

import csv
from pathlib import Path

from service.domain.order import Node, ends_at, with_taken
from service.domain.procedure import Category, Step
from tests.domain.test_order_of_procedures import LIBRARY, nodes_of, reached

Pair = tuple[str, str]
THROUGH_ONE_KIND: set[Pair] = {("bottom-bracket.look-over", "pedals.fit")}
"""It follows where the bottom bracket has a fitting of its own; a one-piece crank has none."""


def rows(name: str) -> list[dict[str, str]]:
    with (Path(__file__).parent / name).open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines, delimiter="\t"))


def pairs(name: str) -> list[Pair]:
    return [(row["before"], row["after"]) for row in rows(name)]


LEFT_OUT = rows("must_come_before_left_out.tsv")


def category_of(name: str) -> Category:
    return with_taken(LIBRARY.categories[name.partition(".")[0]], LIBRARY.categories)


def step_of(name: str) -> tuple[Step, bool]:
    """The step, and whether it is a look at a used part."""
    whole, key = category_of(name), name.partition(".")[2]
    looks = [(step, True) for step in whole.used]
    return next(pair for pair in (*looks, *((step, False) for step in whole.steps)) if pair[0].key == key)


def test_every_pair_of_the_trade_is_kept_or_left_out_and_never_both() -> None:
    trade, kept = pairs("trade_pairs.tsv"), pairs("must_come_before.tsv")
    left_out = pairs("must_come_before_left_out.tsv")
    assert len(trade) == len(set(trade)) > 600
    assert set(kept) & set(left_out) == set()
    assert sorted([*kept, *left_out]) == sorted(trade)


def test_each_left_out_pair_is_of_its_kind_and_says_why() -> None:
    for row in LEFT_OUT:
        (one, look), (other, _) = step_of(row["before"]), step_of(row["after"])
        here, there = category_of(row["before"]), category_of(row["after"])
        of_its_kind = {
            "other part": look and here.category != there.category,
            "later job": "assemble" not in one.jobs or "assemble" not in other.jobs,
            "either or": here.category in there.stands_in_for
            or any(key in other.when and other.when[key] != value for key, value in one.when.items()),
        }
        assert of_its_kind[row["kind"]], row
        assert row["reason"]


def test_no_pair_is_left_out_that_follows_from_the_files() -> None:
    nodes, after = nodes_of(LIBRARY), reached(LIBRARY)
    follow = {
        (row["before"], row["after"])
        for row in LEFT_OUT
        if all(
            other in after[one]
            for one in nodes[row["before"]]
            for other in nodes[row["after"]]
            if share_an_end(one, other)
        )
    }
    assert follow == THROUGH_ONE_KIND


def share_an_end(one: Node, other: Node) -> bool:
    here = ends_at(LIBRARY.categories[one.category], one.place)
    there = ends_at(LIBRARY.categories[other.category], other.place)
    return not here or not there or bool(here & there)
