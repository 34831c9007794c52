"""Nothing of the trade's order is dropped in silence: each act has its counterpart, each pair is kept or left out.

`trade_order.tsv` lists the acts of a build with what each follows directly, `trade_milestones.tsv` what they give and
wait for: common practice, no source. Of the pairs of
steps that gives, `must_come_before_left_out.tsv` names those that need not hold, act by act with the reason, by kind:
other part (one look at several parts there, one look for each part here), later job (done after the first rides, as a
job of its own), either or (the two are never on one bicycle at one end). All others are held by
`test_order_of_procedures.py`.
"""

import pytest

from service.domain.order import Node, ends_at, milestones_of
from tests.domain.test_order_of_procedures import nodes_of, reached
from tests.domain.trade_order import (
    ACTS,
    LEFT_OUT,
    LIBRARY,
    PAIRS,
    WHOLE,
    Pair,
    all_pairs,
    category_of,
    covers,
    never_together,
    of_kind,
    rows,
    step_of,
)

NODES, REACHED = nodes_of(LIBRARY), reached(LIBRARY)
STEPS = {f"{name}.{step.key}" for name, whole in WHOLE.items() for step in (*whole.used, *whole.steps)}


def follows(pair: Pair) -> bool:
    """Does it follow from the files alone, at every place where the two meet?"""
    return all(
        other in REACHED[one] for one in NODES[pair.before] for other in NODES[pair.after] if _share_an_end(one, other)
    )


def _share_an_end(one: Node, other: Node) -> bool:
    here = ends_at(LIBRARY.categories[one.category], one.place)
    there = ends_at(LIBRARY.categories[other.category], other.place)
    return not here or not there or bool(here & there)


def test_every_act_of_the_trade_has_its_counterpart() -> None:
    assert len(ACTS) == 195
    assert {key for act in ACTS.values() for key in act.after} <= set(ACTS)
    assert [act.key for act in ACTS.values() if not act.steps or not set(act.steps) <= STEPS] == []


def test_every_milestone_of_the_trade_is_given_and_waited_for_as_there() -> None:
    """An act waits for it by name, or follows what gives it by its own file."""
    table = rows("trade_milestones.tsv")
    assert len(table) == 97
    for row in table:
        name, givers = row["milestone"], row["given_by"].split(",")
        assert LIBRARY.milestones[name].per == row["per"], name
        given = [step for act in givers for step in ACTS[act].steps if name in step_of(step).gives]
        assert {act for act in givers if not set(ACTS[act].steps) & set(given)} == set(), name
        for act in row["needed_by"].split(","):
            named = any(name == key for step in ACTS[act].steps for key, _ in milestones_of(step_of(step)))
            own = [Pair(one, other, (one, act)) for one in given for other in ACTS[act].steps]
            assert named or any(follows(pair) for pair in own), f"{act} does not wait for {name}"


def test_there_are_as_many_pairs_as_the_trade_gives_and_few_are_left_out() -> None:
    pairs = list(all_pairs())
    assert len(pairs) > 1750
    assert len(PAIRS) > 0.8 * len(pairs)


def test_each_line_that_leaves_out_says_why_and_is_needed() -> None:
    idle = [row for row in LEFT_OUT if all(follows(pair) for pair in all_pairs() if covers(row, pair))]
    assert idle == []
    assert all(row["reason"] for row in LEFT_OUT)
    named = {row[end] for row in LEFT_OUT for end in ("before", "after")} - {"*"}
    assert named <= set(ACTS)


def test_a_pair_that_does_not_follow_is_of_a_kind_that_is_left_out() -> None:
    """But for a pair of one part, which the test of order holds at the same place."""
    broken = {(pair.before, pair.after) for pair in PAIRS if not follows(pair)}
    assert broken == {("shifter.charge", "shifter.pair"), ("combined-lever.charge", "combined-lever.pair")}


def test_what_is_left_to_a_later_job_is_asked_for_by_a_task_after_the_first_rides() -> None:
    later = {name for pair in all_pairs() for name in (pair.before, pair.after) if "assemble" not in step_of(name).jobs}
    asked = {
        f"{name}.{step}": task.first
        for name in {name.partition(".")[0] for name in later}
        for task in category_of(f"{name}.").tasks
        if task.first is not None
        for step in task.steps
    }
    assert len(later) > 20
    assert later <= set(asked)
    assert min(asked[name].km or 999 for name in later) == asked["whole-bicycle.first-ride-torque"].km


@pytest.mark.parametrize(
    ("one", "other", "never"),
    [
        ("bottom-bracket.fit-cartridge", "bottom-bracket.fit-outboard", True),
        ("handlebar.clamp", "quill-stem.tighten", True),
        ("fork.cut-metal", "headset.set-plug", True),
        ("chain.length-single", "chain.thread", True),
        ("linear-pull-brake.hang", "cable-disc-caliper.tighten", True),
        ("seat-clamp.tighten-metal", "dropper-post.tighten", True),
        ("bottom-bracket.fit-cartridge", "crankset.fit-square", False),
        ("handlebar.clamp", "stem.tighten-metal", False),
        ("linear-pull-brake.hang", "hub-brake.set", False),
        ("fork.cut-metal", "headset.set-star-nut", False),
    ],
)
def test_what_excludes_each_other_is_told_from_what_does_not(one: str, other: str, never: bool) -> None:
    assert never_together(one, other) is never
    assert never_together(other, one) is never


def test_a_look_is_of_another_part_only_where_the_step_neither_is_its_own_nor_handles_it() -> None:
    acts = ("used-crank-look", "crank-square-fit")
    assert of_kind(Pair("pedals.look-over", "crankset.fit-square", acts), "other part")
    assert not of_kind(Pair("crankset.look-over", "crankset.fit-square", acts), "other part")
    assert not of_kind(Pair("bottom-bracket.look-over", "crankset.fit-square", acts), "other part")
    assert not of_kind(Pair("crankset.fit-square", "pedals.fit", acts), "other part")
