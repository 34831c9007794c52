"""What replacing a part asks for, by the procedures that come with the program: common practice, no source."""

from dataclasses import replace

import pytest

from service.domain.procedure import Library
from service.domain.steps import Checklist
from tests.domain.bicycles import by_id, spec, without_place
from tests.domain.mixed_bicycle import MixedBicycle
from tests.domain.whole_bicycles import BICYCLES, WholeBicycle
from tests.procedures import whole_library


@pytest.fixture(scope="module")
def procedures() -> Library:
    return whole_library()


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
        round_of = [f"whole-bicycle.{key}:{bike.parts[name]}" for key in ("lay-out", "measure", "weigh")]
        bench = [ids.index(each) for each in round_of if each in ids]  # pads have nothing to measure
        assert len(bench) == (2 if name.startswith("brake-pads") else 3)
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


def test_the_old_part_comes_off_before_anything_is_put_on(procedures: Library) -> None:
    bike = MixedBicycle(procedures)
    stripped = 0
    for name in bike.parts:
        steps = replacing(bike, name).steps
        strip = [number for number, step in enumerate(steps) if step.stage == "strip"]
        stripped += bool(strip)
        bench = [n for n, step in enumerate(steps) if ":" in step.id or step.look]
        others = [number for number in range(len(steps)) if number not in {*strip, *bench}]
        assert max(strip, default=-1) < min(others, default=len(steps)), name
    assert stripped > len(bike.parts) / 2


@pytest.mark.parametrize("name", BICYCLES)
def test_whatever_is_replaced_comes_off_first(procedures: Library, name: str) -> None:
    bicycle = WholeBicycle(procedures, name, fitted=True)
    never_off = []
    for key, part in bicycle.parts.items():
        steps = bicycle.shop.checklist(bicycle.shop.job("replace", about=part)).steps
        strip = [number for number, step in enumerate(steps) if step.stage == "strip"]
        bench = [number for number, step in enumerate(steps) if ":" in step.id or step.look]
        others = [number for number in range(len(steps)) if number not in {*strip, *bench}]
        assert max(strip, default=-1) < min(others, default=len(steps)), key
        never_off += [] if strip else [key]
    riveted = {key for key, said in bicycle.raw["parts"].items() if said["specs"].get("ring_mount") == "riveted"}
    assert set(never_off) == {key for key in riveted if key.startswith("chainring")}


OPENED_HOSE = "hydraulic-hose.cut hydraulic-hose.bleed-mineral hydraulic-disc-caliper.pads whole-bicycle.brakes-hold"
REPLACED: dict[tuple[str, str], tuple[str, str]] = {
    ("carbon-gravel", "hydraulic-disc-caliper@front"): (
        f"{OPENED_HOSE} hydraulic-disc-caliper.hang hydraulic-disc-caliper.centre hydraulic-disc-caliper.bed-in",
        "bar-tape.wrap whole-bicycle.position chain.join",
    ),
    ("carbon-gravel", "combined-lever@left"): (
        f"{OPENED_HOSE} combined-lever.tighten-drop combined-lever.tie bar-tape.wrap",
        "hydraulic-disc-caliper.hang chain.join",
    ),
    ("carbon-gravel", "brake-pads@rear"): (
        "hydraulic-disc-caliper.pads hydraulic-disc-caliper.centre hydraulic-disc-caliper.bed-in",
        "hydraulic-hose.cut hydraulic-hose.bleed-mineral hydraulic-disc-caliper.hang",
    ),
    ("carbon-gravel", "factory-wheel@rear"): (
        "factory-wheel.check-bought factory-wheel.pass rim-tape.fit-tape tyre.seat rotor.fit-splined cassette.fit "
        "rear-derailleur.set-stops hydraulic-disc-caliper.centre",
        "wheel.lace rear-derailleur.gauge-hanger whole-bicycle.position",
    ),
    ("hub-geared", "internal-gear-hub@rear"): (
        "wheel.lace internal-gear-hub.fit-sprocket tyre.fit-with-tube chain.length-single internal-gear-hub.set",
        "rear-derailleur.index cassette.fit crankset.check",
    ),
    ("hub-geared", "tube@front"): ("tube.check tyre.fit-with-tube", "rim-tape.fit-strip wheel.lace"),
    ("hub-geared", "brake-cable@rear"): (
        "brake-cable.cut-casing hub-brake.cable hub-brake.set whole-bicycle.brakes-hold",
        "hub-brake.fit-roller linear-pull-brake.cable",
    ),
    ("old-town", "brake-pads@front"): (
        "dual-pivot-brake.pads dual-pivot-brake.centre dual-pivot-brake.bed-in",
        "dual-pivot-brake.hang brake-cable.cut-casing",
    ),
    ("old-town", "screw-on-freewheel@rear"): (
        "screw-on-freewheel.fit chain.length rear-derailleur.set-stops rear-derailleur.index",
        "screw-on-freewheel.take-off-old wheel.lace crankset.fit-square",
    ),
    ("old-town", "quill-stem"): (
        "quill-stem.tighten whole-bicycle.position whole-bicycle.twist-test brake-cable.cut-casing",
        "headset.build-threaded stem.tighten-metal",
    ),
    ("off-road", "dropper-post"): (
        "whole-bicycle.position dropper-post.route dropper-post.connect-cable dropper-post.tighten saddle.tighten",
        "seatpost.cut-metal seat-clamp.tighten-metal",
    ),
    ("belt-city", "belt"): ("belt.lay-on belt.tension whole-bicycle.hub-gears-run", "chain.join chain.slack"),
}


@pytest.mark.parametrize(("name", "key"), REPLACED)
def test_replacing_asks_for_what_the_part_needs_and_nothing_foreign(procedures: Library, name: str, key: str) -> None:
    bicycle = WholeBicycle(procedures, name, fitted=True)
    job = bicycle.shop.job("replace", about=bicycle.parts[key])
    ids = without_place(by_id(bicycle.shop.checklist(job)))
    wanted, foreign = (set(names.split()) for names in REPLACED[name, key])
    assert wanted - ids == set()
    assert foreign & ids == set()
