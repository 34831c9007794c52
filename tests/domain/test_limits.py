"""Wear readings against limits. The limits and chances are worked cases: derived from the rules, no outside source."""

from typing import Any

import pytest

from service.domain.procedure import Rate
from tests.domain.garage import Garage, Limit, Wear, at, category, choice, library, number


def limit(action: Any, value: float | None = None, **more: Any) -> Limit:
    more.setdefault("basis", "common practice")
    return Limit(action=action, value=value, **more)


LINING = Wear(
    key="lining_mm", title="Lining", places=("inner", "outer"), direction="shrinks", new=2.5, measure="Across.",
    reading_error={"any": 0.15, "calliper": 0.05}, weight="safety",
    rates=(Rate(per_1000_km=0.3, spread=0.8, basis="from memory"),),
    limits=(limit("replace", spec="min_lining_mm", basis="maker"), limit("replace", 1.0), limit("stop", 0.5)),
)  # fmt: skip
ELEVEN = {"cassette.sprockets_count": {"min": 11}}
NONE = {"lacks": "cassette"}
TEN = {"cassette.sprockets_count": {"min": 5, "max": 10}}
STRETCH = Wear(
    key="elongation_percent", title="Elongation", direction="grows", new=0.0, measure="Twelve links.",
    limits=(limit("replace", 0.5, when=ELEVEN), limit("replace", 0.75, when=TEN), limit("replace", 1.0, when=NONE)),
)  # fmt: skip
BEND = Wear(
    key="bend_mm", title="Side bend", direction="grows", measure="Sag.", limits=(limit("look", of_first_reading=1.5),),
    weight="comfort",
)  # fmt: skip
NOTCH = Wear(
    key="notch", title="Notch", scale="grade", direction="grows", new=0, measure="Turn.", reading_error={"any": 0.5},
    limits=(limit("look", 1), limit("replace", 2)), weight="safety",
)  # fmt: skip
SEALANT = Wear(
    key="sealant_ml", title="Sealant", direction="shrinks", new={"spec": "filled_ml"}, measure="Dip.",
    limits=(limit("replace", of_new=1 / 3),),
)  # fmt: skip
SHELF = library(
    category("pads", places=("front", "rear"), specs=(number("min_lining_mm"),), wear=(LINING,)),
    category("chain", wear=(STRETCH, BEND)),
    category("cassette", specs=(number("sprockets_count"),)),
    category("headset", wear=(NOTCH,)),
    category("valve", specs=(number("filled_ml"), choice("kind", "a")), wear=(SEALANT,)),
)


CHAINS = Wear(
    key="chains_used", title="Chains worn out on it", direction="grows", new=0, measure="Count them.",
    limits=(limit("replace", 3),),
)  # fmt: skip
COUNTED = library(category("chain"), category("cassette", wear=(CHAINS,)))


@pytest.mark.parametrize(("swaps", "says"), [(0, "0 chains came off"), (1, "1 chain came off"), (2, "2 chains came")])
def test_chains_that_came_off_are_counted_until_somebody_reads_them(swaps: int, says: str) -> None:
    garage = Garage(COUNTED)
    chain, cassette = garage.part("chain"), garage.part("cassette")
    garage.fit(chain, at(0))
    garage.fit(cassette, at(0))
    for day in range(1, swaps + 1):
        fresh = garage.part("chain")
        garage.swap(chain, fresh, at(day))
        chain = fresh
    found = garage.due(5)["cassette.chains_used"]
    assert f"Not read yet; {says}" in found.why
    assert (found.state, found.share) == ("fine", 0.0)  # a count is no reading: how worn they came off is not known
    garage.read(cassette, "chains_used", at(4), 2)
    assert "came off" not in garage.due(5)["cassette.chains_used"].why


def bicycle(name: str, *, origin: Any = "new", **specs: Any) -> tuple[Garage, Any]:
    garage = Garage(SHELF)
    part = garage.part(name, origin=origin, metres_before=0 if origin == "new" else None, **specs)
    garage.fit(part, at(0), "front" if name == "pads" else "")
    return garage, part


@pytest.mark.parametrize(
    ("reading", "state"),
    [
        (2.0, "fine"),
        (1.25, "fine"),  # 83 % of the way from new to the limit
        (1.2, "plan it"),  # 87 %
        (1.04, "due"),  # chance of being past 1.0 at an error of 0.05: 0.21
        (1.0, "due"),
        (0.9, "overdue"),  # chance 0.98
        (0.55, "overdue"),
        (0.5, "do not ride"),
    ],
)
def test_a_safety_reading_is_judged_by_its_error(reading: float, state: str) -> None:
    garage, pads = bicycle("pads")
    garage.read(pads, "lining_mm", at(1), reading, place="inner", tool="calliper")
    assert garage.due(2)["pads.lining_mm@front.inner"].state == state


def test_a_coarser_tool_is_due_earlier_and_each_pad_is_judged_alone() -> None:
    garage, pads = bicycle("pads")
    garage.read(pads, "lining_mm", at(1), 1.1, place="inner")
    garage.read(pads, "lining_mm", at(1), 1.1, place="outer", tool="calliper")
    found = garage.due(2)
    assert found["pads.lining_mm@front.inner"].state == "due"
    assert found["pads.lining_mm@front.outer"].state == "plan it"


def test_a_reading_short_of_its_limit_that_is_due_says_why() -> None:
    garage, pads = bicycle("pads")
    garage.read(pads, "lining_mm", at(1), 1.1, place="inner")
    garage.read(pads, "lining_mm", at(1), 0.9, place="outer")
    found = garage.due(2)
    assert "so it may be there already. Read it again with a calliper." in found["pads.lining_mm@front.inner"].why
    assert "may be there already" not in found["pads.lining_mm@front.outer"].why


def test_the_makers_own_mark_governs_before_the_general_limit() -> None:
    garage, pads = bicycle("pads", min_lining_mm=1.5)
    garage.read(pads, "lining_mm", at(1), 1.4, place="inner", tool="calliper")
    found = garage.due(2)["pads.lining_mm@front.inner"]
    assert found.state == "overdue"
    assert "Replace at 1.5 mm, maker; do not ride past 0.5 mm" in found.why


def test_the_owners_own_limit_stands_for_the_one_to_replace_at_not_for_the_stop() -> None:
    garage, pads = bicycle("pads")
    garage.rule("pads.lining_mm", pads, limit_reading=0.7, reason="short rides")
    garage.read(pads, "lining_mm", at(1), 0.9, place="inner", tool="calliper")
    assert garage.due(2)["pads.lining_mm@front.inner"].state == "plan it"
    garage.read(pads, "lining_mm", at(2), 0.4, place="inner", tool="calliper")
    assert garage.due(3)["pads.lining_mm@front.inner"].state == "do not ride"


def test_near_a_stop_limit_two_standard_deviations_are_kept_even_from_an_owners_laxer_one() -> None:
    garage, pads = bicycle("pads")
    garage.rule("pads.lining_mm", pads, limit_reading=0.5)
    garage.read(pads, "lining_mm", at(1), 0.79, place="inner")
    assert garage.due(2)["pads.lining_mm@front.inner"].state == "due"
    garage.read(pads, "lining_mm", at(3), 0.81, place="inner")
    assert garage.due(4)["pads.lining_mm@front.inner"].state == "fine"


@pytest.mark.parametrize(
    ("sprockets", "low", "high", "state"),
    [
        (11, 0.25, 0.5, "fine"),
        (11, 0.5, 0.75, "due"),
        (11, 0.75, 1.0, "overdue"),
        (10, 0.5, 0.75, "fine"),
        (10, 0.75, 1.0, "due"),
        (10, 1.0, None, "overdue"),
        (10, 0.6, 0.9, "due"),  # half of the bracket lies past 0.75
        (10, 0.55, 0.8, "fine"),  # a fifth of it
    ],
)
def test_a_gauge_reading_stays_a_bracket(sprockets: int, low: float, high: float | None, state: str) -> None:
    garage, chain = bicycle("chain")
    garage.fit(garage.part("cassette", sprockets_count=sprockets), at(0))
    garage.read(chain, "elongation_percent", at(1), low, high)
    assert garage.due(2)["chain.elongation_percent"].state == state


def test_a_condition_that_is_not_known_takes_the_strictest_limit_and_says_so() -> None:
    garage, chain = bicycle("chain")
    garage.fit(garage.part("cassette"), at(0))
    garage.read(chain, "elongation_percent", at(1), 0.55)
    found = garage.due(2)["chain.elongation_percent"]
    assert found.state == "overdue"
    assert "sprockets count not known" in found.why
    alone, chain = bicycle("chain")
    alone.read(chain, "elongation_percent", at(1), 0.55)
    assert alone.due(2)["chain.elongation_percent"].state == "fine"


def test_without_a_reading_a_new_part_is_fine_and_one_of_unknown_past_is_read_once() -> None:
    garage, _ = bicycle("pads")
    garage.ride(at(1), 200)
    assert garage.due(2)["pads.lining_mm@front.outer"].state == "fine"
    assert "Not read yet; 200 km" in garage.due(2)["pads.lining_mm@front.outer"].why
    used, pads = bicycle("pads", origin="second-hand")
    assert used.due(2)["pads.lining_mm@front.inner"].state == "look once"
    used.read(pads, "lining_mm", at(3), 2.0, place="inner")
    assert used.due(4)["pads.lining_mm@front.inner"].state == "fine"
    assert used.due(4)["pads.lining_mm@front.outer"].state == "look once"


def test_a_reading_says_what_was_read_when_and_how_far_ago() -> None:
    garage, pads = bicycle("pads")
    garage.read(pads, "lining_mm", at(1), 2.1, place="inner")
    last = garage.read(pads, "lining_mm", at(10), 1.9, place="inner")
    garage.ride(at(11), 42)
    found = garage.due(12)["pads.lining_mm@front.inner"]
    assert "Read 1.9 mm on 11 January, 42 km ago; before that 2.1 mm on 2 January." in found.why
    assert (found.cycle, found.last, found.by_wear) == (str(last), at(10).date(), True)


@pytest.mark.parametrize(("grade", "state"), [(0, "fine"), (1, "plan it"), (2, "due"), (3, "overdue")])
def test_a_grade_is_judged_as_it_is_felt(grade: float, state: str) -> None:
    garage, headset = bicycle("headset")
    garage.read(headset, "notch", at(1), grade)
    assert garage.due(2)["headset.notch"].state == state


def test_a_share_of_new_and_of_the_first_reading_are_limits_too() -> None:
    garage, valve = bicycle("valve", filled_ml=60)
    garage.read(valve, "sealant_ml", at(1), 21)
    assert garage.due(2)["valve.sealant_ml"].state == "plan it"
    garage.read(valve, "sealant_ml", at(3), 20)
    assert garage.due(4)["valve.sealant_ml"].state == "due"
    garage, chain = bicycle("chain")
    garage.read(chain, "bend_mm", at(1), 20)
    garage.read(chain, "bend_mm", at(50), 29)
    assert garage.due(51)["chain.bend_mm"].state == "fine"
    garage.read(chain, "bend_mm", at(60), 31)
    assert garage.due(61)["chain.bend_mm"].state == "due"


def test_a_limit_nobody_knows_is_said() -> None:
    garage, valve = bicycle("valve")
    garage.read(valve, "sealant_ml", at(1), 5)
    assert "No limit is known." in garage.due(2)["valve.sealant_ml"].why


def test_a_stop_limit_holds_while_the_bicycle_is_laid_up() -> None:
    garage, pads = bicycle("pads")
    garage.state = "laid up"
    garage.read(pads, "lining_mm", at(1), 0.8, place="inner")
    garage.read(pads, "lining_mm", at(1), 0.3, place="outer")
    found = garage.due(2)
    assert found["pads.lining_mm@front.inner"].state == "resting"
    assert found["pads.lining_mm@front.outer"].state == "do not ride"
