"""What is taken to a shop, and how often one has to go there. Common practice, no source.

Visit 0 takes an old bicycle apart, visit 1 does all machining and pressing, visit 2 all that is cut and filled once
the rider has sat on it. Owning the tool brings home what is not machining, pressing, setting or freeing.
"""

import random
from dataclasses import replace

import pytest

from service.domain.bicycle import Bench
from tests.domain.bicycles import Workshop, by_id, spec, without_place
from tests.domain.random_bicycles import any_bicycle
from tests.domain.trade_order import LIBRARY, WHOLE
from tests.domain.whole_bicycles import BICYCLES, WholeBicycle

ALWAYS = {
    "bottom-bracket.chase", "bottom-bracket.face", "bottom-bracket.press-in", "bottom-bracket.fit-cups",
    "headset.ream-face", "headset.press-cups", "headset.press-race", "fork.cut-crown-seat",
    "cable-disc-caliper.face-mount", "hydraulic-disc-caliper.face-mount", "frame.line-up-dropouts",
    "frame.free-stuck", "whole-bicycle.second-look",
}  # fmt: skip
WITHOUT_THE_TOOL = {
    "whole-bicycle.strip-old", "screw-on-freewheel.take-off-old", "frame.look-carbon", "wheel.tension", "tyre.seat",
    "rear-derailleur.gauge-hanger", "crankset.fit-cotters", "fork.cut-metal", "fork.cut-carbon",
    "headset.set-star-nut", "handlebar.trim-metal", "handlebar.trim-carbon", "seatpost.cut-metal",
    "seatpost.cut-carbon", "hydraulic-hose.cut", "hydraulic-hose.bleed-mineral", "hydraulic-hose.bleed-glycol",
    "dropper-post.connect-hose",
}  # fmt: skip
TAKEN_APART = {"whole-bicycle.strip-old", "screw-on-freewheel.take-off-old", "frame.free-stuck"}
CUT = {
    "fork.cut-metal", "fork.cut-carbon", "headset.set-star-nut", "handlebar.trim-metal", "handlebar.trim-carbon",
    "seatpost.cut-metal", "seatpost.cut-carbon", "hydraulic-hose.cut", "hydraulic-hose.bleed-mineral",
    "hydraulic-hose.bleed-glycol", "dropper-post.connect-hose",
}  # fmt: skip
STEPS = {f"{name}.{step.key}": step for name, whole in WHOLE.items() for step in (*whole.used, *whole.steps)}


def test_a_build_goes_to_a_shop_for_these_and_nothing_else() -> None:
    at_a_shop = {name for name, step in STEPS.items() if step.where == "shop" and "assemble" in step.jobs}
    assert at_a_shop == ALWAYS | WITHOUT_THE_TOOL


def test_each_that_a_tool_brings_home_names_the_tool() -> None:
    assert [name for name in WITHOUT_THE_TOOL if not STEPS[name].home_with] == []


def visits(shop: Workshop) -> list[set[str]]:
    """The shop's own steps of each visit, without their places; what is only done there on the way is left out."""
    checklist = shop.checklist()
    at_shop = {step.id: step.where == "shop" for step in checklist.steps}
    return [{each.partition("@")[0] for each in visit.steps if at_shop[each]} for visit in checklist.shop_visits]


def sort_of(name: str) -> int:
    """Which visit a step belongs to: 0 taken apart, 1 machined, pressed and seated, 2 cut and filled."""
    return 0 if name in TAKEN_APART else 2 if name in CUT else 1


@pytest.mark.parametrize("name", BICYCLES)
def test_a_bicycle_is_taken_there_at_most_twice_and_an_old_one_thrice(name: str) -> None:
    bicycle = WholeBicycle(LIBRARY, name)
    old = bicycle.raw["parts"]["frame"].get("specs", {}).get("comes_with_parts") is True
    sorts = [{sort_of(step) for step in visit} for visit in visits(bicycle.shop)]
    assert len(sorts) <= (3 if old else 2)
    assert all(len(each) == 1 for each in sorts), sorts
    assert [min(each) for each in sorts] == sorted({min(each) for each in sorts})


@pytest.mark.parametrize("name", BICYCLES)
def test_with_every_tool_that_can_be_owned_only_the_shop_s_own_work_is_left(name: str) -> None:
    shop = WholeBicycle(LIBRARY, name).shop
    before: set[str] = set().union(*visits(shop))
    shop.bench = Bench(tools=frozenset(tool for each in WITHOUT_THE_TOOL for tool in STEPS[each].home_with))
    after: set[str] = set().union(*visits(shop))
    assert after == before & ALWAYS
    assert before - after <= WITHOUT_THE_TOOL


def test_visit_one_takes_frame_fork_headset_and_the_true_rear_wheel_along() -> None:
    bicycle = WholeBicycle(LIBRARY, "steel-mixed")
    brought = {bicycle.shop.parts[part].category for part in bicycle.shop.checklist().shop_visits[0].bring}
    assert brought >= {"frame", "fork", "headset", "wheel"}


def test_the_wax_that_drains_from_a_steel_frame_before_its_unit_is_pressed_in_costs_a_visit() -> None:
    bicycle = WholeBicycle(LIBRARY, "light-tourer")
    parts = bicycle.shop.parts
    for name, facts in {"frame": {"bb_shell": "press_41"}, "bottom-bracket": {"kind": "press_fit"}}.items():
        part = parts[bicycle.parts[name]]
        changed = {key: (spec(key, value),) for key, value in facts.items()}
        parts[part.id] = replace(part, specs={**part.specs, **changed})
    first, pressed, last = visits(bicycle.shop)
    assert "headset.press-cups" in first
    assert pressed == {"bottom-bracket.press-in"}
    assert {sort_of(step) for step in last} == {2}


def most_visits(steps: set[str]) -> int:
    """Two; one more for what is taken apart or looked into first, for wax before pressing, for cotters."""
    waxed = "frame.wax-inside" in steps and bool(steps & {"bottom-bracket.press-in", "bottom-bracket.fit-cups"})
    old = bool(steps & (TAKEN_APART | {"frame.look-carbon"}))
    return 2 + old + waxed + ("crankset.fit-cotters" in steps)


def too_many_visits(seed: int, bicycles: int) -> list[tuple[int, int]]:
    """Of some random bicycles with every fact known: those with more visits than that, and how many."""
    dice = random.Random(seed)
    met = []
    for number in range(bicycles):
        checklist = any_bicycle(LIBRARY, dice, unknown=0).checklist()
        count = len(checklist.shop_visits)
        if count > most_visits(without_place(by_id(checklist))):
            met.append((number, count))
    return met


def test_no_random_bicycle_is_taken_there_more_often() -> None:
    assert most_visits(set()) == 2
    assert too_many_visits(41, 20) == []


@pytest.mark.slow
def test_none_of_300_random_bicycles_is_taken_there_more_often() -> None:
    assert too_many_visits(42, 300) == []
