"""What replacing a part asks for, by the procedures that come with the program: common practice, no source."""

from dataclasses import replace

import pytest

from service.domain.procedure import Library
from service.domain.steps import Checklist
from service.library.read import load, procedures_folder
from tests.domain.bicycles import by_id, spec, without_place
from tests.domain.mixed_bicycle import MixedBicycle


@pytest.fixture(scope="module")
def procedures() -> Library:
    return load(procedures_folder())


def replacing(bike: MixedBicycle, name: str) -> Checklist:
    return bike.shop.checklist(bike.shop.job("replace", about=bike.parts[name]))


def test_a_new_headset_brings_its_race_to_a_fork_that_wears_the_old_one(procedures: Library) -> None:
    bike = MixedBicycle(procedures)
    bike.shop.parts[bike.parts["fork"]].specs["crown_race_on"] = (spec("crown_race_on", True),)  # type: ignore[index]
    assert "headset.press-race" in by_id(replacing(bike, "headset"))
    assert "headset.press-race" not in by_id(bike.shop.checklist())


def test_a_new_hub_puts_the_wheel_the_rotor_and_the_pads_in_their_places_again(procedures: Library) -> None:
    ids = without_place(by_id(replacing(MixedBicycle(procedures), "hub@rear")))
    assert ids >= {
        "wheel.lace", "wheel.in-quick-release", "tyre.seat", "tubeless-valve.add-sealant", "cassette.fit",
        "rotor.fit-six-bolt", "rotor.true-up", "cable-disc-caliper.tighten", "rear-derailleur.set-stops",
        "rear-derailleur.index",
    }  # fmt: skip


def test_new_rim_tape_goes_in_before_the_tyre_and_the_tyre_before_its_air(procedures: Library) -> None:
    ids = list(by_id(replacing(MixedBicycle(procedures), "rim-tape@front")))
    tape, tyre, seat, sealant = (
        ids.index(f"{name}@front")
        for name in ("rim-tape.fit-tape", "tyre.fit-tubeless", "tyre.seat", "tubeless-valve.add-sealant")
    )
    assert tape < tyre < seat < sealant


def test_the_bench_round_of_a_new_part_comes_before_all_that_is_done_with_it(procedures: Library) -> None:
    bike = MixedBicycle(procedures)
    for name in ("tyre@front", "rim@rear", "headset", "rear-derailleur@rear", "brake-pads@front"):
        ids = list(by_id(replacing(bike, name)))
        bench = [ids.index(f"whole-bicycle.{key}:{bike.parts[name]}") for key in ("lay-out", "measure", "weigh")]
        own = [number for number, each in enumerate(ids) if each.startswith(name.partition("@")[0] + ".fit")]
        assert max(bench) < min(own, default=len(ids)), name
        assert max(bench) <= 3, name


def test_a_used_wheel_is_looked_over_before_the_dropouts_are_lined_up_and_its_removal_opens_nothing(
    procedures: Library,
) -> None:
    bike = MixedBicycle(procedures)
    for name in ("frame", "wheel@rear", "hub@rear"):
        part = bike.shop.parts[bike.parts[name]]
        bike.shop.parts[part.id] = replace(part, origin="second-hand")
    wheel = bike.shop.parts[bike.parts["wheel@rear"]]
    wheel.specs["built_by"] = (spec("built_by", "factory"),)  # type: ignore[index]
    steps = by_id(bike.shop.checklist())
    assert "wheel.look@rear" in steps["frame.line-up-dropouts"].after
    job = bike.shop.tick_all()
    bike.shop.off_and_on(wheel.id)
    assert by_id(bike.shop.checklist(job))["frame.line-up-dropouts"].state == "done"
    assert by_id(bike.shop.checklist(job))["wheel.in-quick-release@rear"].state == "open"
