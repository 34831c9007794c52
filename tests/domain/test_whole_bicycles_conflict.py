"""The whole test bicycles with one thing about them bought wrong: the conflict, its numbers and the way out in words.

Each calculated join that can conflict has one. The figures are sums of the facts in the files of the bicycles, which
are invented; the limits are those of `test_calculated_joins`.
"""

import tomllib
from pathlib import Path
from typing import Any

import pytest

from service.domain.calculations import CALCULATIONS
from tests.domain.reckoned import books, changed, finding
from tests.domain.reckoned_cases import Change
from tests.domain.test_calculated_joins import NEVER

FOLDER = Path(__file__).parents[1] / "checklists"
NEVER_TO_BE_ACCEPTED, WITH_A_REASON = False, True

BOUGHT_WRONG: list[tuple[str, str, list[Change], bool, tuple[str, ...]]] = [
    # 198 − 140 − 25 − 40 + 3 = −4
    ("headset.stack", "single-speed", [("fork.steerer_length_mm", 198)], NEVER_TO_BE_ACCEPTED,
     ("4 mm too short", "longer steerer")),
    # 170 − 145 − 24 − 13 = −12
    ("headset.threaded-stack", "old-town", [("fork.steerer_length_mm", 170)], NEVER_TO_BE_ACCEPTED,
     ("ends 12 mm below the top of the locknut", "longer thread")),
    # 300 − 230 = 70 of at least 90 (40 + 50 below the joint)
    ("seatpost.depth", "light-tourer", [("seatpost.exposed_mm", 230)], NEVER_TO_BE_ACCEPTED,
     ("70 mm stand in the frame", "90 mm must", "longer post")),
    # 440 − 210 = 230 of 220
    ("dropper-post.depth", "off-road", [("frame.post_depth_mm", 220)], WITH_A_REASON,
     ("230 mm have to go in", "takes 220 mm", "A shorter dropper")),
    ("dropper-post.insertion", "off-road", [("dropper-post.exposed_mm", 335)], NEVER_TO_BE_ACCEPTED,
     ("105 mm stand in the frame", "110 mm must", "A longer dropper")),
    # 32 and 51 teeth, axles 435 mm apart: 112.3 with the two beyond taut
    ("chain.length", "off-road", [("chain.links_count", 110)], NEVER_TO_BE_ACCEPTED,
     ("has 110 links, 114 are needed", "A longer chain")),
    # 48 − 26 + 34 − 11 = 45
    ("rear-derailleur.capacity", "light-tourer", [("rear-derailleur@rear.capacity_teeth", 33)], WITH_A_REASON,
     ("differ by 45 teeth, the cage takes up 33", "A longer cage")),
    # 67.5 − 4.5 − 18.25 = 44.75
    ("crankset.chainline", "light-tourer", [("crankset.chainline_mm", 52)], WITH_A_REASON,
     ("Front 52 mm, rear 44.8 mm", "spindle")),
    # |4.35 − 3.4 × 1.1| × 8 ÷ 2 = 2.4
    ("shifter.shift-index", "light-tourer",
     [("shifter@right.pull_per_click_mm", 3.4), ("rear-derailleur@rear.shift_ratio", 1.1)], WITH_A_REASON,
     ("2.4 mm off at the end sprockets", "tried on a stand before they are paid for")),
    ("front-derailleur.rings", "light-tourer", [("chainring@outer.ring_teeth", 42)], WITH_A_REASON,
     ("42 teeth, the cage is for 46 to 52", "other rings")),
    # 9 − (60 − 50) = −1
    ("front-derailleur.tyre-gap", "light-tourer", [("tyre@rear.width_marked_mm", 60)], WITH_A_REASON,
     ("-1 mm between cage and tyre", "A narrower tyre")),
    # 1.9 × 24 = 45.6 teeth
    ("internal-gear-hub.primary-ratio", "belt-city", [("chainring@outer.ring_teeth", 45)], WITH_A_REASON,
     ("Ring 45, at least 45.6 teeth", "A larger ring or a smaller sprocket")),
    # 5 − (32 − 25) ÷ 2 = 1.5
    ("frame.clearance-side", "single-speed", [("tyre@rear.width_marked_mm", 32)], NEVER_TO_BE_ACCEPTED,
     ("1.5 mm beside a tyre of 32 mm", "A narrower tyre")),
    ("fork.clearance-side", "single-speed", [("tyre@front.width_marked_mm", 35)], NEVER_TO_BE_ACCEPTED,
     ("1 mm beside a tyre of 35 mm", "A narrower tyre")),
    # 9 − (46 − 40) = 3, on mixed surfaces
    ("frame.clearance-crown", "carbon-gravel", [("tyre@rear.width_marked_mm", 46)], NEVER_TO_BE_ACCEPTED,
     ("3 mm over a tyre of 46 mm", "4 mm at the very least", "A lower tyre")),
    ("fork.clearance-crown", "carbon-gravel", [("tyre@front.width_marked_mm", 46)], NEVER_TO_BE_ACCEPTED,
     ("3 mm over a tyre of 46 mm", "A lower tyre")),
    # 17 − (62 − 50) − 3 − 1 = 1
    ("mudguards.crown-room@front", "light-tourer", [("tyre@front.width_marked_mm", 62)], NEVER_TO_BE_ACCEPTED,
     ("1 mm stay between tyre and guard", "A smaller tyre")),
    # 560 − 170 − (311 + 37) = 42
    ("crankset.toe-room", "belt-city", [("frame.front_centre_mm", 560)], WITH_A_REASON,
     ("42 mm from pedal to front wheel", "Shorter cranks")),
    # 348 − 110 − 170 − 14 = 54 high, 182.5 out: 16.5 degrees
    ("pedals.ground", "belt-city", [("frame.bb_drop_mm", 110)], WITH_A_REASON,
     ("at a lean of 16.5 degrees, 25 are asked", "Shorter cranks")),
    ("spokes.length@front.left", "light-tourer", [("spokes@front.left.length_mm", 264)], NEVER_TO_BE_ACCEPTED,
     ("The spokes are 264 mm", "is the length to buy")),
    ("tyre.pressure-ceiling@rear", "carbon-gravel", [("tyre@rear.pressure_planned_kpa", 520)], NEVER_TO_BE_ACCEPTED,
     ("520 kPa are planned", "the bead leaves the rim")),
    # 74 + 22 + 50 kg on wheels for 140
    ("whole-bicycle.mass-limit", "light-tourer", [("frame.mass_g", 50_000)], NEVER_TO_BE_ACCEPTED,
     ("at least 146 kg", "at most 140 kg (wheel) for all together", "Less on it")),
    # 12 + 8 = 20
    ("rack.load", "light-tourer", [("rack@rear.load_kg", 8)], NEVER_TO_BE_ACCEPTED,
     ("22 kg are planned, the racks carry 20 kg", "Leave something behind")),
    ("whole-bicycle.two-brakes", "hub-geared", ["-hub-brake@rear"], NEVER_TO_BE_ACCEPTED,
     ("No brake works on the rear wheel", "is not ridden")),
]  # fmt: skip


def _single_facts(facts: dict[str, Any]) -> dict[str, Any]:
    """Lists of sizes are left out: no calculation reads one."""
    return {key: fact for key, fact in facts.items() if not isinstance(fact, list)}


@pytest.mark.parametrize(
    ("join", "name", "changes", "acceptable", "words"), BOUGHT_WRONG, ids=[each[0] for each in BOUGHT_WRONG]
)
def test_what_was_bought_wrong_is_told_with_its_numbers_and_the_way_out(
    join: str, name: str, changes: list[Change], acceptable: bool, words: tuple[str, ...]
) -> None:
    raw = tomllib.loads((FOLDER / f"{name}.toml").read_text("utf-8"))
    parts = {key: _single_facts(part.get("specs", {})) for key, part in raw["parts"].items()}
    met = finding(join, changed(parts, *changes), **raw["build"])
    assert (met.answer, met.acceptable) == ("conflicts", acceptable), met.say
    assert [each for each in words if each not in met.say] == [], met.say


def test_every_calculation_that_can_conflict_is_among_them() -> None:
    there = {join.partition("@")[0] for join, *_ in BOUGHT_WRONG}
    declared = {
        f"{name}.{each.key}" for name, category in books().categories.items() for each in category.joins if each.by
    }
    assert {each for each in declared if "conflicts" not in NEVER.get(each, set())} == there
    assert len(CALCULATIONS) <= len(declared)
