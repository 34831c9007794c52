"""What the trade demands for each test bicycle stands on its printed checklist, nothing foreign: common practice."""

import re

import pytest

from tests.checklists.bicycle import BICYCLES, FOLDER

FOREIGN = {
    "steel-mixed": (
        "bleed",
        "hydraulic-",
        "quill",
        "hub-brake",
        "linear-pull",
        "dropper-post",
        "internal-gear-hub",
        "tube.",
    ),
    "carbon-gravel": ("brake-cable", "quill-stem", "hub-brake", "front-derailleur.", "tube.", "star-nut", "handlebar."),
    "old-town": ("Six-lobe", "bleed", "hydraulic-", "tubeless", "cassette.", "cable-disc", "rotor.", "headset.preload"),
    "hub-geared": ("bleed", "hydraulic-", "rear-derailleur", "front-derailleur", "cassette.", "tubeless", "cable-disc"),
    "off-road": ("brake-cable", "quill-stem", "drop-bar", "hub-brake", "front-derailleur.", "bar-tape", "mudguards."),
    "light-tourer": ("bleed", "hydraulic-", "tubeless", "cable-disc", "dropper-post", "internal-gear-hub"),
    "belt-city": ("chain.", "cassette.", "rear-derailleur", "brake-cable", "tubeless", "hub-brake"),
    "single-speed": ("bleed", "hydraulic-", "rear-derailleur", "cassette.", "tubeless", "internal-gear-hub"),
}
"""Beginnings of step ids, and words, that would belong to another bicycle."""

DEMANDED = {
    "steel-mixed": ("bottom-bracket.face", "wheel.lace@rear", "rotor.true-up@front", "tubeless-valve.add-sealant@rear"),
    "carbon-gravel": ("hydraulic-hose.bleed-", "bar-tape.wrap", "fork.cut-carbon", "factory-wheel.", "cleats.fit"),
    "old-town": (
        "whole-bicycle.strip-old",
        "quill-stem.",
        "screw-on-freewheel.",
        "wheel.in-nuts@front",
        "dual-pivot-brake.",
    ),
    "hub-geared": ("internal-gear-hub.set@rear", "hub-brake.", "dynamo-hub.", "kickstand.", "linear-pull-brake."),
    "off-road": ("rear-shock.", "dropper-post.", "chain-guide.", "hydraulic-hose.bleed-"),
    "light-tourer": ("cantilever-brake.", "front-derailleur.", "bar-tape.", "rack.fit@front", "dynamo-hub."),
    "belt-city": ("belt.", "one-piece-bar.", "internal-gear-hub.set@rear", "hydraulic-disc-caliper."),
    "single-speed": ("single-sprocket.", "chain.length-single"),
}


def steps_of(name: str) -> str:
    """The printed steps of a bicycle: what stands in brackets after each title, and the tools."""
    lines = (FOLDER / f"{name}.txt").read_text("utf-8").splitlines()
    return "\n".join(line for line in lines if re.match(r"\d+\. ", line) or line.startswith("    + "))


def test_every_bicycle_is_looked_at() -> None:
    assert set(FOREIGN) == set(DEMANDED) == set(BICYCLES)


@pytest.mark.parametrize("name", FOREIGN)
def test_nothing_foreign_stands_on_a_checklist(name: str) -> None:
    said = steps_of(name)
    assert [each for each in FOREIGN[name] if f"[{each}" in said or (each[0].isupper() and each in said)] == []


@pytest.mark.parametrize("name", DEMANDED)
def test_what_the_trade_demands_stands_on_it(name: str) -> None:
    said = steps_of(name)
    assert [each for each in DEMANDED[name] if f"[{each}" not in said] == []
