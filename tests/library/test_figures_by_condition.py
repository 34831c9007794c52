"""Published figures that hang on what is fitted: wear limits by sprockets and brakes, threads that turn left."""

import re
from collections.abc import Mapping
from typing import Any

import pytest

from service.domain.joins import findings
from service.domain.limit import governing
from service.domain.places import surroundings
from service.domain.procedure import Wear
from service.domain.torque import torques_at
from tests.domain.garage import Garage, at
from tests.library.figure_rows import entries, shelf

Parts = Mapping[str, Mapping[str, Any]]


def garage_of(parts: Parts) -> Garage:
    """A bicycle of these parts, those of a wheel in a rear one."""
    garage = Garage(shelf())
    wheel = garage.part("wheel")
    garage.fit(wheel, at(0), "rear")
    for name, specs in parts.items():
        category = shelf().categories[name]
        part = garage.part(name, **specs)
        if "wheel" in category.into:
            garage.fit(part, at(0), into=wheel)
        else:
            garage.fit(part, at(0), "rear" if "rear" in category.places else next(iter(category.places), ""))
    return garage


def limit(dimension: str, action: str, parts: Parts) -> float | None:
    """The limit that governs an action on a wearing dimension of one of these parts."""
    wear: Wear = entries("wear", dimension)[0]
    around = surroundings(garage_of(parts).bicycle(), shelf())
    here = around.here(around.by_role[dimension.partition(".")[0]][0])
    met = governing(wear, action, here, ())
    return None if met is None or met.unsure else met.reading


# City Cycling Tips: chain wear measurement, https://citycyclingtips.com/?p=748
@pytest.mark.parametrize("dimension", ["chain.elongation_percent", "chain.gauge_step"])
@pytest.mark.parametrize(
    ("sprockets", "percent"),
    [(5, 0.75), (6, 0.75), (7, 0.75), (8, 0.75), (9, 0.75), (10, 0.75), (11, 0.5), (12, 0.5), (13, 0.5)],
)
def test_a_chain_is_worn_by_its_count_of_sprockets(dimension: str, sprockets: int, percent: float) -> None:
    parts: Parts = {"chain": {"roller_family": "standard"}, "cassette": {"sprockets_count": sprockets}}
    assert limit(dimension, "replace", parts) == percent


# City Cycling Tips: chain wear measurement, https://citycyclingtips.com/?p=748
@pytest.mark.parametrize(
    ("other", "rollers", "percent"),
    [
        ({"cassette": {"sprockets_count": 12}}, "oversize", 0.8),
        ({"single-sprocket": {"kind": "splined"}}, "standard", 1.0),
        ({"internal-gear-hub": {"gears_count": 8}}, "standard", 1.0),
        ({"screw-on-freewheel": {"sprockets_count": 6}}, "standard", 0.75),
        ({"screw-on-freewheel": {"sprockets_count": 1}}, "standard", 1.0),
    ],
)
def test_a_chain_is_worn_by_what_it_runs_on(other: dict[str, Any], rollers: str, percent: float) -> None:
    assert limit("chain.elongation_percent", "replace", {"chain": {"roller_family": rollers}} | other) == percent


# TBIS 15194:2019, page 82, http://chctest.tbnet.org.tw/eBOOK-TBIS/15194/EN/files/basic-html/page82.html
# Without a rim brake: from memory
@pytest.mark.parametrize(
    ("brake", "run_out_mm"),
    [("linear-pull-brake", 0.8), ("cantilever-brake", 0.8), ("dual-pivot-brake", 0.8), ("cable-disc-caliper", 2.0)],
)
def test_a_rim_runs_out_by_the_brake_on_it(brake: str, run_out_mm: float) -> None:
    assert limit("rim.lateral_run_out_mm", "look", {"rim": {}, brake: {}}) == run_out_mm


# Wheelbuilding workshop: rim wear, https://wheellab.cc/rim-wear/
def test_the_wall_of_a_braked_rim_stops_the_bicycle_at_a_millimetre() -> None:
    parts = {"rim": {"rim_brake_track": True}, "dual-pivot-brake": {}}
    assert limit("rim.wall_mm", "replace", parts) == limit("rim.wall_mm", "stop", parts) == 1.0


# Forum: rear disc below 1.5 mm minimum, https://emtbforums.com/threads/rear-disc-below-1-5mm-minimum.39079/post-552880
@pytest.mark.parametrize(("mark", "limit_mm"), [(None, 1.5), (1.52, 1.52), (1.55, 1.55)])
def test_a_rotor_is_worn_at_its_own_mark_before_the_usual_one(mark: float | None, limit_mm: float) -> None:
    assert limit("rotor.thickness_mm", "replace", {"rotor": {"min_thickness_mm": mark}}) == limit_mm


# Wikibooks: Bicycles / chain sizes, https://en.wikibooks.org/wiki/Bicycles/Maintenance_and_Repair/Chains/Chain_sizes
# Cycling Boutique: bicycle chain explained, https://cyclingboutique.in/blogs/news/ultimate-guide-bicycle-chain-explained
# A chain one class narrower runs with care: common practice, no source
@pytest.mark.parametrize("sprockets", range(5, 14))
@pytest.mark.parametrize("chain", range(6, 14))
def test_chains_of_5_to_8_sprockets_are_one_class_and_each_later_count_is_its_own(chain: int, sprockets: int) -> None:
    garage = garage_of({"chain": {"sprockets_for_count": chain}, "cassette": {"sprockets_count": sprockets}})
    (met,) = [each for each in findings(garage.bicycle(), shelf()) if each.key == "chain.width"]
    narrower = max(chain, 8) - max(sprockets, 8)
    assert met.answer == {0: "meets", 1: "needs care"}.get(narrower, "conflicts")


def turns_left(name: str, fastening: str, parts: Parts) -> bool:
    """Does this fastening of this part turn in anticlockwise?"""
    around = surroundings(garage_of(parts).bicycle(), shelf())
    (met,) = torques_at(around.here(around.by_role[name][0]), [fastening], ())
    return met.left_hand


# BikeRaceInfo: bottom bracket threading and specifications, http://bikeraceinfo.com/tech/bottom-brackets.html
# M47 and Swiss: common practice, no source
@pytest.mark.parametrize(
    ("kind", "right", "left"),
    [("outboard", "right-cup", "left-cup"), ("cartridge", "cartridge-body", "cartridge-cup")],
)
@pytest.mark.parametrize(
    ("shell", "left_hand"),
    [
        ("threaded_english", True),
        ("threaded_english_26", True),
        ("threaded_italian", False),
        ("threaded_french", False),
        ("threaded_swiss", True),
        ("threaded_m47", True),
    ],
)
def test_the_drive_side_cup_turns_in_as_published(
    kind: str, right: str, left: str, shell: str, left_hand: bool
) -> None:
    parts = {"bottom-bracket": {"kind": kind, "shell": shell}}
    assert turns_left("bottom-bracket", right, parts) is left_hand
    assert turns_left("bottom-bracket", left, parts) is False


# De Fietssite: attachment of pedals, https://defietssite.nl/attachment-the-pedals-to-the-cranks/?lang=en
def test_the_left_pedal_turns_in_anticlockwise_and_the_right_one_does_not() -> None:
    assert turns_left("pedals", "left-axle", {"pedals": {}}) is True
    assert turns_left("pedals", "right-axle", {"pedals": {}}) is False


# The Cycle Mechanic: bolt circle diameter, https://thecyclemechanic.co.uk/bolt-circle-diameter (five arms)
# Cykelcenter: how to measure BCD, http://cykelcenter.eu/content/7-how-to-measure-bolt-circle-diameter-bcd (four)
CIRCLES = {
    5: {74: 43.5, 94: 55.3, 110: 64.7, 130: 76.4, 135: 79.4, 144: 84.6},
    4: {64: 45.3, 88: 62.2, 96: 67.9, 104: 73.5, 120: 84.9},
}


@pytest.mark.parametrize("field", ["chainring.bcd_mm", "crankset.bcd_mm"])
def test_neighbouring_holes_times_the_factor_that_is_told_are_the_published_circles(field: str) -> None:
    told = re.search(r"times (\d\.\d+) with five \w+ or (\d\.\d+) with four", entries("spec", field)[0].measure)
    assert told is not None
    for arms, factor in zip((5, 4), told.groups(), strict=True):
        for circle, neighbours in CIRCLES[arms].items():
            assert neighbours * float(factor) == pytest.approx(circle, abs=0.1)
