"""What is still to be got: parts not in hand, small parts by condition, consumables, tools and the visits they save."""

from dataclasses import replace
from uuid import UUID

from service.domain.bicycle import Bench, Bicycle
from service.domain.places import surroundings
from service.domain.shopping import Shopping, shopping_list
from service.domain.small_parts import small_parts_of
from tests.domain.bicycles import NOW, TODAY
from tests.domain.small_bicycle import LIBRARY, Bike


def shopping(bike: Bike, **changes: object) -> Shopping:
    """What is to be got for the bicycle; it is being assembled and has no open job."""
    bicycle: Bicycle = replace(bike.shop.bicycle(), **changes)  # type: ignore[arg-type]
    return shopping_list(bicycle, LIBRARY, (), now=NOW, today=TODAY)


def test_a_part_that_is_chosen_and_not_in_hand_is_to_be_got() -> None:
    bike = Bike()
    ordered, planned = (bike.shop.part("brake-lever", state=state) for state in ("ordered", "planned"))
    bike.shop.choose(ordered, "right")
    bike.shop.choose(planned, "left")  # passed over: another one is chosen there
    found = shopping(bike)
    assert {(each.part.id, each.place) for each in found.parts} == {(ordered, "right"), (planned, "left")}


def test_small_parts_follow_their_condition_and_an_unknown_fact_says_perhaps() -> None:
    bike = Bike()
    bike.add("cable-disc-caliper", "rear", mount="flat")
    [bolts] = shopping(bike).small_parts
    assert (bolts.what, bolts.amount, bolts.unit, bolts.decided) == ("caliper-bolt", 2, "piece", True)
    assert bolts.part_ids == (bike.calliper,)
    unknown = Bike()
    rear = unknown.add("cable-disc-caliper", "rear")
    sure, perhaps = shopping(unknown).small_parts
    assert (sure.decided, perhaps.decided) == (True, False)
    assert [(each.part_id, each.field) for each in perhaps.settles] == [(rear, "mount")]


def test_small_parts_of_several_parts_are_summed_and_came_fitted_needs_none() -> None:
    bike = Bike()
    rear = bike.add("cable-disc-caliper", "rear", mount="post")
    [bolts] = shopping(bike).small_parts
    assert (bolts.amount, set(bolts.part_ids)) == (4, {bike.calliper, rear})
    fitted = replace(bike.shop.parts[rear], origin="came fitted")
    bike.shop.parts[rear] = fitted
    around = surroundings(bike.shop.bicycle(), LIBRARY)
    assert [each.amount for each in small_parts_of(around, around.placed)] == [2]


def test_what_is_fitted_already_needs_no_small_parts() -> None:
    assert shopping(Bike(planned=False)).small_parts == ()


def test_consumables_are_summed_over_the_open_steps() -> None:
    bike = Bike()
    bike.add("cable-disc-caliper", "rear", mount="flat")
    assert [(each.what, each.amount, each.unit) for each in shopping(bike).consumables] == [("grease", 2, "dab")]


def test_tools_that_home_steps_need_and_the_bench_lacks_are_named_with_the_steps() -> None:
    found = shopping(Bike())
    assert [(each.tool.tool, each.tool.size) for each in found.tools] == [("hex", "5")]
    assert found.tools[0].steps == ("Hang the front calliper",)
    assert not found.bench_known
    owned = shopping(Bike(), bench=Bench(tools=frozenset({"hex"})))
    assert owned.tools == ()
    assert owned.bench_known


def test_a_tool_that_brings_the_last_step_of_a_visit_home_saves_that_visit() -> None:
    bike = Bike()
    found = shopping(bike)
    kits = {tuple(each.tool for each in kit.tools): kit for kit in found.instead_of_a_shop}
    saw = kits["hacksaw",]
    assert saw.steps == ("Cut",)
    after = shopping(bike, bench=Bench(tools=frozenset({"hacksaw"})))
    assert (
        len(found.visits) - len(after.visits) == saw.visits_saved == 1
    )  # the cut waits for the position: a visit alone
    assert "Cut" not in [step for visit in after.visits for step in visit.steps]


def test_a_visit_says_what_to_bring_and_what_those_parts_need() -> None:
    bike = Bike()
    first, *_ = shopping(bike).visits
    assert bike.frame in {part.id for part in first.bring}
    assert first.visit == 1
    assert first.steps


def test_a_new_chain_on_a_ridden_bicycle_asks_for_what_replacing_it_takes() -> None:
    bike = Bike(planned=False)
    pads = bike.shop.part("brake-pads", state="ordered")
    calliper: UUID = bike.calliper
    bike.shop.choose(pads, "", calliper)
    bicycle = bike.shop.bicycle()
    ridden = replace(bicycle, build=replace(bicycle.build, state="in service"))
    found = shopping_list(ridden, LIBRARY, (), now=NOW, today=TODAY)
    assert [each.part.id for each in found.parts] == [pads]
    assert [(each.what, each.amount) for each in found.consumables] == [("grease", 1)]  # pads disturb the set brake
    assert shopping_list(replace(ridden, plan=()), LIBRARY, (), now=NOW, today=TODAY).consumables == ()
