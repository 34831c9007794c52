"""One part swapped on each kind of bicycle: what must open again beside what the mixed one shows, and what must not.

Common practice, no source. Hydraulic discs, rim and hub brakes, hub gears, quill, one-piece bar, dropper, tubes, belt,
bought wheels. Every swap opens the torque audit, the inspection, the walk and the road test.
"""

from uuid import UUID

import pytest

from tests.domain.bicycles import by_id, open_ids
from tests.domain.test_swapped_half_way import ALWAYS, POSITION
from tests.domain.trade_order import LIBRARY
from tests.domain.whole_bicycles import BICYCLES, WholeBicycle

WHEEL_PARTS = frozenset(
    name for name, category in LIBRARY.categories.items() if {"wheel", "factory-wheel"} & {name, *category.into}
) - {"axle"}
AT_THE_BICYCLE = {"in-quick-release", "in-through-axle", "in-nuts", "measure-room", "hold-arm", "set", "fit-sprocket"}
"""What is done to a wheel and its parts with the frame, so that another frame asks for it again."""


def hydraulic(end: str, side: str, lever: str) -> str:
    """From a joint that was opened to a brake that holds."""
    return (
        f"hydraulic-hose.bleed-mineral@{end} {lever}.tie@{side} hydraulic-disc-caliper.pads@{end} "
        "whole-bicycle.brakes-hold whole-bicycle.levers-do-not-sink"
    )


def rim_brake(brake: str, end: str) -> str:
    """Pads on the track again, and bedded in."""
    return f"{brake}.pads@{end} {brake}.centre@{end} {brake}.bed-in@{end}"


def laced(end: str) -> str:
    """A wheel built anew, with strip, tube and tyre."""
    keys = ("measure", "lace", "true-and-dish", "relieve", "tension", "pass")
    return " ".join([*(f"wheel.{key}@{end}" for key in keys), f"rim-tape.fit-strip@{end} tyre.fit-with-tube@{end}"])


REAR_GEARS = "chain.length rear-derailleur.set-stops@rear rear-derailleur.index@rear"
FIRST_CLAMPS = "headset.preload stem.tighten-carbon whole-bicycle.twist-test"
HOSES = "hydraulic-hose.route@front hydraulic-hose.route@rear"

SWAPS: dict[tuple[str, str], tuple[str, str]] = {
    ("carbon-gravel", "fork"): (
        f"{POSITION} fork.inspect headset.try-fork tyre.measure-room@front fork.mark-steerer fork.cut-carbon "
        f"headset.set-plug headset.build {FIRST_CLAMPS} hydraulic-disc-caliper.hang@front hydraulic-hose.route@front "
        "hydraulic-disc-caliper.centre@front",
        "hydraulic-hose.route@rear hydraulic-disc-caliper.hang@rear chain.join factory-wheel.pass@front "
        "bottom-bracket.press-in rear-derailleur.index@rear",
    ),
    ("carbon-gravel", "stem"): (
        f"{POSITION} drop-bar.clamp {FIRST_CLAMPS} {HOSES} gear-cable.cut@rear",
        "chain.length rear-derailleur.index@rear hydraulic-disc-caliper.hang@front factory-wheel.pass@rear",
    ),
    ("carbon-gravel", "drop-bar"): (
        f"{POSITION} drop-bar.clamp combined-lever.tighten-drop@left combined-lever.tighten-drop@right {HOSES} "
        "gear-cable.cut@rear bar-tape.wrap",
        "headset.preload chain.join hydraulic-disc-caliper.hang@front seat-clamp.tighten-carbon",
    ),
    ("carbon-gravel", "combined-lever@left"): (
        f"combined-lever.tighten-drop@left hydraulic-hose.cut@front {hydraulic('front', 'left', 'combined-lever')} "
        "hydraulic-disc-caliper.centre@front bar-tape.wrap",
        "combined-lever.tighten-drop@right hydraulic-hose.cut@rear hydraulic-hose.bleed-mineral@rear chain.join "
        f"hydraulic-disc-caliper.hang@front {POSITION}",
    ),
    ("carbon-gravel", "hydraulic-disc-caliper@front"): (
        "hydraulic-disc-caliper.hang@front hydraulic-hose.cut@front "
        f"{hydraulic('front', 'left', 'combined-lever')} hydraulic-disc-caliper.centre@front "
        "hydraulic-disc-caliper.bed-in@front",
        "hydraulic-disc-caliper.hang@rear hydraulic-hose.bleed-mineral@rear rotor.true-up@front bar-tape.wrap "
        f"{POSITION}",
    ),
    ("carbon-gravel", "hydraulic-hose@rear"): (
        f"hydraulic-hose.cut@rear {hydraulic('rear', 'right', 'combined-lever')} bar-tape.tape-down",
        f"hydraulic-hose.cut@front hydraulic-disc-caliper.hang@rear {POSITION} chain.join",
    ),
    ("carbon-gravel", "brake-pads@front"): (
        "hydraulic-disc-caliper.pads@front hydraulic-disc-caliper.centre@front hydraulic-disc-caliper.bed-in@front",
        "hydraulic-hose.bleed-mineral@front hydraulic-disc-caliper.pads@rear hydraulic-disc-caliper.hang@front",
    ),
    ("carbon-gravel", "rotor@rear"): (
        "rotor.fit-splined@rear rotor.true-up@rear hydraulic-disc-caliper.centre@rear "
        "hydraulic-disc-caliper.bed-in@rear",
        "tyre.seat@rear hydraulic-hose.bleed-mineral@rear rotor.true-up@front cassette.fit@rear",
    ),
    ("carbon-gravel", "crankset"): (
        f"{POSITION} crankset.check pedals.fit {REAR_GEARS}",
        f"stem.tighten-carbon {HOSES} bottom-bracket.press-in tyre.seat@rear",
    ),
    ("carbon-gravel", "bottom-bracket"): (
        f"crankset.fit-pinch crankset.check {REAR_GEARS}",
        f"{POSITION} {HOSES} tyre.seat@rear cassette.fit@rear",
    ),
    ("carbon-gravel", "chainring@outer"): (REAR_GEARS, f"{POSITION} bottom-bracket.press-in cassette.fit@rear"),
    ("carbon-gravel", "tyre@front"): (
        "tyre.fit-tubeless@front tyre.seat@front tubeless-valve.add-sealant@front tubeless-valve.overnight@front "
        "tyre.measure-room@front whole-bicycle.weigh-complete",
        f"rim-tape.fit-tape@front rotor.fit-splined@front tyre.seat@rear {POSITION}",
    ),
    ("carbon-gravel", "bar-tape"): ("bar-tape.wrap", f"combined-lever.tighten-drop@left {POSITION} drop-bar.clamp"),
    ("old-town", "fork"): (
        f"{POSITION} headset.check-stack headset.build-threaded quill-stem.tighten tyre.measure-room@front "
        f"dual-pivot-brake.hang@front {rim_brake('dual-pivot-brake', 'front').rpartition(' ')[0]} "
        "brake-cable.cut-casing@front mudguards.stays@front",
        "dual-pivot-brake.hang@rear brake-cable.cut-casing@rear chain.join-pin bottom-bracket.fit-loose-ball "
        "wheel.pass@front",
    ),
    ("old-town", "quill-stem"): (
        f"{POSITION} quill-stem.thread-bar quill-stem.tighten whole-bicycle.twist-test brake-cable.cut-casing@front "
        "brake-cable.cut-casing@rear",
        "headset.build-threaded chain.length gear-cable.cut-down-tube@rear dual-pivot-brake.hang@front wheel.pass@rear",
    ),
    ("old-town", "handlebar"): (
        f"{POSITION} quill-stem.tighten brake-lever.tighten-flat@left grips.fit-slip-on brake-cable.cut-casing@rear",
        "headset.build-threaded chain.join-pin shifter.tighten-down-tube@right dual-pivot-brake.hang@front",
    ),
    ("old-town", "screw-on-freewheel@rear"): (
        f"screw-on-freewheel.fit@rear {REAR_GEARS} rear-derailleur.pulley-gap@rear",
        f"wheel.lace@rear tyre.fit-with-tube@rear crankset.fit-square {POSITION}",
    ),
    ("old-town", "dual-pivot-brake@front"): (
        f"dual-pivot-brake.hang@front {rim_brake('dual-pivot-brake', 'front')} brake-cable.cut-casing@front "
        "dual-pivot-brake.cable@front whole-bicycle.brakes-hold",
        f"dual-pivot-brake.hang@rear brake-cable.cut-casing@rear wheel.pass@front {POSITION}",
    ),
    ("old-town", "brake-pads@rear"): (
        rim_brake("dual-pivot-brake", "rear"),
        "dual-pivot-brake.hang@rear dual-pivot-brake.pads@front brake-cable.cut-casing@rear",
    ),
    ("old-town", "hub@rear"): (
        f"{laced('rear')} screw-on-freewheel.fit@rear frame.line-up-dropouts",
        f"wheel.pass@front {POSITION} dual-pivot-brake.hang@rear",
    ),
    ("old-town", "tyre@front"): (
        "tube.check@front tyre.fit-with-tube@front tyre.measure-room@front mudguards.hang@front "
        "mudguards.toe-room@front whole-bicycle.weigh-complete",
        f"rim-tape.fit-strip@front tyre.fit-with-tube@rear wheel.pass@front {POSITION}",
    ),
    ("old-town", "tube@rear"): (
        "tube.check@rear tyre.fit-with-tube@rear",
        f"rim-tape.fit-strip@rear tyre.measure-room@rear mudguards.hang@rear {POSITION}",
    ),
    ("old-town", "mudguards@front"): (
        "mudguards.hang@front dual-pivot-brake.bolt-again@front mudguards.toe-room@front",
        f"dual-pivot-brake.hang@front mudguards.hang@rear {POSITION}",
    ),
    ("hub-geared", "rim@front"): (
        f"{laced('front')} {rim_brake('linear-pull-brake', 'front')}",
        f"linear-pull-brake.hang@front wheel.pass@rear {POSITION} brake-cable.cut-casing@front",
    ),
    ("hub-geared", "dynamo-hub@front"): (
        f"{laced('front')} dynamo-hub.turn-contact@front dynamo-hub.connect@front",
        f"linear-pull-brake.hang@front wheel.pass@rear {POSITION}",
    ),
    ("hub-geared", "internal-gear-hub@rear"): (
        f"{laced('rear')} internal-gear-hub.fit-sprocket@rear chain.length-single chain.slack "
        "internal-gear-hub.set@rear whole-bicycle.hub-gears-run",
        f"wheel.pass@front {POSITION} crankset.check linear-pull-brake.hang@front",
    ),
    ("hub-geared", "hub-brake@rear"): (
        "hub-brake.fit-roller@rear hub-brake.hold-arm@rear hub-brake.cable@rear hub-brake.set@rear "
        "brake-cable.cut-casing@rear whole-bicycle.brakes-hold",
        f"linear-pull-brake.hang@front wheel.lace@rear chain.length-single {POSITION}",
    ),
    ("hub-geared", "shifter@right"): (
        "shifter.tighten@right internal-gear-hub.set@rear whole-bicycle.hub-gears-run",
        f"chain.length-single chain.slack brake-cable.cut-casing@rear {POSITION}",
    ),
    ("hub-geared", "chain"): (
        "chain.length-single chain.join chain.slack whole-bicycle.wear-baseline",
        f"internal-gear-hub.fit-sprocket@rear crankset.check {POSITION}",
    ),
    ("hub-geared", "linear-pull-brake@front"): (
        f"linear-pull-brake.hang@front {rim_brake('linear-pull-brake', 'front')} brake-cable.cut-casing@front",
        f"hub-brake.set@rear brake-cable.cut-casing@rear {POSITION}",
    ),
    ("off-road", "dropper-post"): (
        f"{POSITION} dropper-post.route dropper-post.connect-cable dropper-post.tighten saddle.tighten",
        "stem.tighten-metal hydraulic-hose.route@front chain.join gear-cable.cut@rear",
    ),
    ("off-road", "rear-shock"): (
        "rear-shock.fit rear-shock.full-travel rear-shock.set-sag",
        "chain.join hydraulic-hose.route@rear stem.tighten-metal",
    ),
    ("belt-city", "belt"): (
        "belt.lay-on belt.tension whole-bicycle.hub-gears-run whole-bicycle.wear-baseline",
        f"internal-gear-hub.fit-sprocket@rear crankset.check {POSITION}",
    ),
    ("belt-city", "one-piece-bar"): (
        f"{POSITION} one-piece-bar.trial headset.preload one-piece-bar.tighten-metal whole-bicycle.twist-test "
        f"brake-lever.tighten-flat@left {HOSES} gear-cable.cut@rear grips.fit-clamped",
        "belt.lay-on hydraulic-disc-caliper.hang@front internal-gear-hub.fit-sprocket@rear",
    ),
    ("light-tourer", "cantilever-brake@rear"): (
        f"cantilever-brake.hang@rear {rim_brake('cantilever-brake', 'rear')} cantilever-brake.cross-wire@rear "
        "brake-cable.cut-casing@rear",
        f"cantilever-brake.hang@front {POSITION} chain.join",
    ),
    ("light-tourer", "chainring@outer"): (
        f"front-derailleur.hang@front {REAR_GEARS} front-derailleur.set-inner-stop@front",
        f"pedals.fit cassette.fit@rear {POSITION}",
    ),
    ("single-speed", "single-sprocket@rear"): (
        "single-sprocket.fit-fixed@rear chain.length-single chain.slack whole-bicycle.drive-runs",
        f"dual-pivot-brake.hang@rear {POSITION} tyre.fit-with-tube@rear",
    ),
}


def swapped(name: str, key: str) -> tuple[set[str], set[str]]:
    """The steps there were, and what of them is open after one part gave way to its like."""
    bicycle = WholeBicycle(LIBRARY, name, fitted=True)
    ticked = bicycle.shop.checklist()
    job = bicycle.shop.tick_all(ticked)
    bicycle.same_again(key)
    return set(by_id(ticked)), open_ids(bicycle.shop.checklist(job))


@pytest.mark.parametrize(("name", "key"), SWAPS)
def test_a_swap_opens_what_touches_the_part_and_nothing_else(name: str, key: str) -> None:
    must, must_not = (set(ids.split()) for ids in SWAPS[name, key])
    known, opened = swapped(name, key)
    assert must | must_not <= known, f"not on this bicycle: {sorted((must | must_not) - known)}"
    assert (must | ALWAYS) - opened == set()
    assert must_not & opened == set()


@pytest.mark.parametrize("name", BICYCLES)
def test_a_new_frame_opens_all_but_finished_wheels_and_bench_work(name: str) -> None:
    bicycle = WholeBicycle(LIBRARY, name, fitted=True)
    ticked = bicycle.shop.checklist()
    job = bicycle.shop.tick_all(ticked)
    new = bicycle.same_again("frame")
    after = by_id(bicycle.shop.checklist(job))
    still = [step for step in ticked.steps if step.id in after and ":" not in step.id and not step.look]
    at_the_wheels = {step.id for step in still if step.category in WHEEL_PARTS}
    opened = {step.id for step in still if after[step.id].state == "open"}
    front_mount = {step.id for step in still if step.id.endswith(".face-mount@front")}
    assert {step.id for step in still} - at_the_wheels - front_mount <= opened
    assert {each.partition(".")[2].partition("@")[0] for each in at_the_wheels & opened} <= AT_THE_BICYCLE
    bench = {_own(each) for each, step in after.items() if ":" in each and step.state == "open"}
    assert bench == {new}


def _own(key: str) -> UUID:
    return UUID(key.partition(":")[2])


def test_a_bought_wheel_takes_over_tape_tyre_rotor_and_sprockets() -> None:
    bicycle = WholeBicycle(LIBRARY, "carbon-gravel", fitted=True)
    shop = bicycle.shop
    job = shop.tick_all()
    wheel = bicycle.same_again("factory-wheel@rear")
    for name in ("rim-tape", "tubeless-valve", "tyre", "rotor", "cassette"):
        shop.take_off(bicycle.parts[f"{name}@rear"])
        shop.fit(bicycle.parts[f"{name}@rear"], "", wheel)
    opened = open_ids(shop.checklist(job))
    assert opened >= {
        "factory-wheel.check-bought@rear", "factory-wheel.pass@rear", "factory-wheel.in-through-axle@rear",
        "rim-tape.fit-tape@rear", "tyre.fit-tubeless@rear", "tyre.seat@rear", "tubeless-valve.add-sealant@rear",
        "rotor.fit-splined@rear", "rotor.true-up@rear", "cassette.fit@rear", "rear-derailleur.set-stops@rear",
        "rear-derailleur.index@rear", "hydraulic-disc-caliper.centre@rear", *ALWAYS,
    }  # fmt: skip
    assert "rear-derailleur.gauge-hanger@rear" not in opened
    assert not [each for each in opened if each.endswith("@front")]
