"""The reference order holds every edge, against networkx as an outside judge, and names what goes round in circles."""

from collections.abc import Mapping
from functools import cache

import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.domain.lists import Milestone, Stage
from service.domain.order import (
    Edge,
    Node,
    edges,
    ends_at,
    places_of,
    reference_order,
    with_taken,
)
from service.domain.procedure import Category, Library, Need, SpecField, Step
from tests.procedures import whole_library

STAGES = {key: Stage(key=key, title=key) for key in ("early", "late")}


def step(key: str, **known: object) -> Step:
    return Step(key=key, title=key, text=key, minutes=1, **known)  # type: ignore[arg-type]


def category(name: str, *steps: Step, **known: object) -> Category:
    facts: dict[str, object] = {"into": ("build",), "stage": "early"} | known
    return Category(category=name, title=name, steps=steps, **facts)  # type: ignore[arg-type]


def milestones(per: str, *keys: str) -> dict[str, Milestone]:
    return {key: Milestone(key=key, title=key, per=per) for key in keys}  # type: ignore[arg-type]


def library(*categories: Category) -> dict[str, Category]:
    return {each.category: each for each in categories}


def shown(categories: Mapping[str, Category], known: Mapping[str, Milestone]) -> list[str]:
    return [node.shown() for node in reference_order(categories, known, STAGES).nodes]


def graph(met: list[Edge]) -> "nx.DiGraph[Node]":
    return nx.DiGraph([(edge.before, edge.after) for edge in met])


@cache
def ours() -> Library:
    return whole_library()


def test_networkx_finds_the_whole_library_free_of_cycles_and_our_order_topological() -> None:
    whole = {name: with_taken(each, ours().categories) for name, each in ours().categories.items()}
    met = edges(whole, ours().milestones)
    assert nx.is_directed_acyclic_graph(graph(met))
    assert len(met) > 500
    rank = ours().order
    assert [edge for edge in met if rank[edge.before] >= rank[edge.after]] == []


def test_the_order_is_the_first_of_all_topological_orders_by_stage_file_place_and_step() -> None:
    """networkx's lexicographic topological sort with the same key is the outside judge."""
    whole = {name: with_taken(each, ours().categories) for name, each in ours().categories.items()}
    stage = {key: number for number, key in enumerate(ours().stages)}
    keys: dict[Node, tuple[object, ...]] = {}
    for name, each in whole.items():
        for place in places_of(name, whole):
            for number, s in enumerate((*each.used, *each.steps)):
                side = place if each.each == "whole" else ""
                keys[Node(name, s.key, place)] = (stage[s.stage or each.stage], name, side, number, place)
    dag = graph(edges(whole, ours().milestones))
    dag.add_nodes_from(keys)
    assert list(nx.lexicographical_topological_sort(dag, key=keys.__getitem__)) == list(map(Node._make, ours().order))


@st.composite
def tangles(draw: st.DrawFn) -> tuple[dict[str, Category], dict[str, Milestone]]:
    """Random categories whose steps give and need random milestones; some go round in circles."""
    known = milestones(draw(st.sampled_from(["end", "bicycle"])), *"mnopq")
    some = st.lists(st.sampled_from("mnopq"), max_size=2, unique=True).map(tuple)
    categories = []
    for name in "abcd":
        places = draw(st.sampled_from([(), ("front", "rear"), ("left", "right")]))
        steps = [
            step(f"s{number}", gives=draw(some), needs=draw(some), after=draw(st.sampled_from([None, ()])))
            for number in range(draw(st.integers(1, 3)))
        ]
        categories.append(category(name, *steps, places=places, stage=draw(st.sampled_from(["early", "late"]))))
    return library(*categories), known


@settings(max_examples=300, deadline=None)
@given(tangles())
def test_random_libraries_are_ordered_or_refused_as_networkx_says(
    tangle: tuple[dict[str, Category], dict[str, Milestone]],
) -> None:
    categories, known = tangle
    met = edges(categories, known)
    found = reference_order(categories, known, STAGES)
    dag = graph(met)
    assert bool(found.cycles) is not nx.is_directed_acyclic_graph(dag)
    rank = {node: number for number, node in enumerate(found.nodes)}
    assert all(rank[edge.before] < rank[edge.after] for edge in met if edge.after in rank)
    for cycle in found.cycles:
        assert set(cycle) <= set(met)
        assert all(
            edge.after == following.before for edge, following in zip(cycle, (*cycle[1:], cycle[0]), strict=True)
        )
    knots = [knot for knot in nx.strongly_connected_components(dag) if len(knot) > 1]
    loops = {edge.before for edge in met if edge.before == edge.after}
    assert len(found.cycles) == len(knots) + len(loops - set().union(*knots))


def test_a_step_follows_the_one_above_at_the_same_place_and_all_of_one_place_come_first() -> None:
    brake = category("brake", step("hang"), step("tighten"), places=("front", "rear"))
    assert shown(library(brake), {}) == [
        "brake.hang@front",
        "brake.tighten@front",
        "brake.hang@rear",
        "brake.tighten@rear",
    ]


def test_each_step_takes_the_places_in_turn_where_the_file_says_so() -> None:
    brake = category("brake", step("hang"), step("tighten"), places=("front", "rear"), each="step")
    assert shown(library(brake), {}) == [
        "brake.hang@front",
        "brake.hang@rear",
        "brake.tighten@front",
        "brake.tighten@rear",
    ]


def test_a_written_after_replaces_the_step_above() -> None:
    brake = category("brake", step("a"), step("b", after=()), step("c", after=("a",)))
    assert {(edge.before.step, edge.after.step, edge.why) for edge in edges(library(brake), {})} == {
        ("a", "c", "after")
    }


def test_where_the_step_above_may_not_apply_the_next_one_above_counts_too() -> None:
    brake = category("brake", step("a"), step("b", when={"kind": "x"}, after=()), step("c"))
    assert {(edge.before.step, edge.after.step) for edge in edges(library(brake), {})} == {("b", "c"), ("a", "c")}


def test_a_milestone_of_an_end_binds_only_steps_at_that_end() -> None:
    giver = category("rotor", step("true", gives=("rotor-true",)), places=("front", "rear"))
    needer = category("pads", step("fit", needs=("rotor-true",)), places=("front", "rear"))
    met = edges(library(giver, needer), milestones("end", "rotor-true"))
    assert {(edge.before.place, edge.after.place) for edge in met} == {("front", "front"), ("rear", "rear")}


def test_an_end_that_only_a_spec_knows_counts_as_both() -> None:
    works = SpecField(key="works_brake", title="w", kind="choice", measure="m", choices={"front": "f", "rear": "r"})
    lever = category("lever", step("set", gives=("set",)), places=("left", "right"), specs=(works,))
    needer = category("pads", step("fit", needs=("set",)), places=("front",))
    assert ends_at(lever, "left") == {"front", "rear"}
    assert len(edges(library(lever, needer), milestones("end", "set"))) == 2


def test_a_place_that_is_no_end_is_joined_with_both() -> None:
    derailleur = category("derailleur", step("fit", gives=("on",)), places=("front",), end="none")
    needer = category("chain", step("cut", needs=("on",)), places=("rear",))
    assert len(edges(library(derailleur, needer), milestones("end", "on"))) == 1


def test_a_milestone_of_the_bicycle_waits_for_every_giver() -> None:
    giver = category("pads", step("set", gives=("set",)), places=("front", "rear"))
    needer = category("test", step("ride", needs=("set",)))
    assert len(edges(library(giver, needer), milestones("bicycle", "set"))) == 2


def test_a_milestone_of_each_part_is_given_by_the_whole_bicycle_to_all_parts() -> None:
    whole = category("whole-bicycle", step("clean", for_each="part", gives=("clean",)), into=())
    tyre = category("tyre", step("look", needs=("clean",)))
    assert len(edges(library(whole, tyre), milestones("part", "clean"))) == 1


def test_a_need_can_be_limited_to_some_categories() -> None:
    frame, fork = category("frame", step("a", gives=("seen",))), category("fork", step("b", gives=("seen",)))
    needer = category("stand", step("c", needs=(Need(milestone="seen", of=("frame",)),)))
    assert {e.before.category for e in edges(library(frame, fork, needer), milestones("bicycle", "seen"))} == {"frame"}


def test_looks_come_before_every_step_that_fits_or_touches_the_part_at_its_end() -> None:
    fork = category("fork", step("fit", fits=True), used=(step("look"),), end="front")
    brake = category(
        "brake", step("hang", touches=("host",)), places=("front", "rear"), host={"front": "fork", "rear": "frame"}
    )
    met = edges(library(fork, brake), {})
    assert {edge.after.shown() for edge in met if edge.why == "look"} == {"fork.fit", "brake.hang@front"}


def test_looks_of_what_stands_in_count_for_the_role() -> None:
    combined = category("combined", step("fit", fits=True), used=(step("look"),), stands_in_for=("lever",))
    cable = category("cable", step("cut", touches=("lever",)))
    assert ("combined.look", "cable.cut") in {
        (e.before.shown(), e.after.shown()) for e in edges(library(combined, cable), {})
    }


def test_what_sits_in_a_wheel_takes_its_places() -> None:
    wheel = category("wheel", step("in"), places=("front", "rear"))
    spokes = category("spokes", step("lace"), into=("wheel", "factory-wheel"), places=("left", "right"))
    tyre = category("tyre", step("on"), into=("wheel",))
    axle = category("axle", step("in"), into=("build", "wheel"), places={"build": ("front", "rear"), "wheel": ()})
    whole = library(wheel, spokes, tyre, axle)
    assert places_of("spokes", whole) == ("front.left", "front.right", "rear.left", "rear.right")
    assert places_of("tyre", whole) == places_of("axle", whole) == ("front", "rear")


def test_taken_steps_are_read_as_if_they_stood_in_the_taker() -> None:
    lever = category("lever", step("slide"), step("tie", after=("slide",)), step("else"), stage="late")
    combined = category("combined", step("own"), takes=("lever.slide", "lever.tie"))
    whole = with_taken(combined, library(lever, combined))
    assert [(each.key, each.stage) for each in whole.steps] == [("slide", "late"), ("tie", "late"), ("own", None)]
    assert ("combined.slide", "combined.tie") in {
        (edge.before.shown(), edge.after.shown()) for edge in edges(library(lever, whole), {})
    }


def test_a_cycle_is_named_with_each_edge_and_its_reason() -> None:
    a = category("a", step("first", gives=("m",), needs=("n",)))
    b = category("b", step("second", needs=("m",)), step("third", gives=("n",)))
    c = category("c", step("behind", needs=("n",)))
    found = reference_order(library(a, b, c), milestones("bicycle", "m", "n"), STAGES)
    (cycle,) = found.cycles
    assert {(e.before.shown(), e.after.shown(), e.why, e.milestone) for e in cycle} == {
        ("a.first", "b.second", "milestone", "m"),
        ("b.second", "b.third", "above", ""),
        ("b.third", "a.first", "milestone", "n"),
    }
    assert found.nodes == ()


def test_a_step_that_needs_what_it_gives_is_a_cycle_of_one() -> None:
    found = reference_order(
        library(category("a", step("x", gives=("m",), needs=("m",)))), milestones("end", "m"), STAGES
    )
    assert [(edge.before.step, edge.after.step) for edge in found.cycles[0]] == [("x", "x")]


@pytest.mark.parametrize("stage", ["early", "late"])
def test_stages_only_break_ties(stage: str) -> None:
    a = category("a", step("x", needs=("m",)))
    b = category("b", step("y", gives=("m",)), stage=stage)
    assert shown(library(a, b), milestones("bicycle", "m")) == ["b.y", "a.x"]
