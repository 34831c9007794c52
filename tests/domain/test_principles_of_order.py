"""Why a build goes in this order: fifteen principles, each held on every test bicycle. Common practice, no source.

A chain names steps, `>` between those that follow and `|` between those that stand for one another; whatever of it is
on a bicycle, at one end, must be there in this order. Each step named is on at least one of the bicycles.
"""

from collections.abc import Mapping
from functools import cache
from uuid import UUID

import pytest

from service.domain.ends import ends_of
from service.domain.steps import Checklist, ChecklistStep
from tests.domain.whole_bicycles import BICYCLES, WholeBicycle
from tests.procedures import whole_library

LIBRARY = whole_library()
BRAKES = ("cable-disc-caliper", "hydraulic-disc-caliper", "linear-pull-brake", "cantilever-brake", "dual-pivot-brake")
WHEEL_IN = "wheel.in-quick-release | wheel.in-through-axle | wheel.in-nuts | " + (
    "factory-wheel.in-quick-release | factory-wheel.in-through-axle | factory-wheel.in-nuts"
)
UNIT_IN = (
    "bottom-bracket.fit-cartridge | bottom-bracket.fit-outboard | bottom-bracket.fit-loose-ball | "
    "bottom-bracket.press-in"
)
FORK_IN = "headset.try-fork | headset.build-threaded"
CRANK_ON = "crankset.fit-square | crankset.fit-pinch | crankset.fit-large-bolt | crankset.fit-cotters"
BAR_IN = "handlebar.in-stem | drop-bar.in-stem | one-piece-bar.trial | quill-stem.thread-bar"
LEVERS_LOOSE = "brake-lever.slide-on | shifter.slide-on | combined-lever.slide-on"
LEVERS_TIGHT = "brake-lever.tighten-flat | brake-lever.tighten-drop | shifter.tighten | combined-lever.tighten-drop"
COVERED = "grips.fit-clamped | grips.fit-slip-on | bar-tape.wrap"
DRIVEN = "whole-bicycle.gears-run | whole-bicycle.hub-gears-run | whole-bicycle.drive-runs"
BRAKE_HUNG = " | ".join(f"{brake}.hang" for brake in BRAKES)
POSITION = "whole-bicycle.position > whole-bicycle.steerer-wanted"
STEM_TIGHT = "stem.tighten-metal | stem.tighten-carbon | one-piece-bar.tighten-metal | quill-stem.tighten"

CHAINS: dict[str, tuple[str, ...]] = {
    "02 what is old is tried, stripped, cleaned and judged before a shop is paid": (
        "whole-bicycle.record-old-set-up > frame.try-post-and-stem > whole-bicycle.strip-old > "
        "whole-bicycle.clean-used > frame.look-tubes > whole-bicycle.used-verdict > "
        "fork.cut-crown-seat | bottom-bracket.chase | headset.ream-face | frame.line-up-dropouts",
        "whole-bicycle.strip-old > screw-on-freewheel.take-off-old > hub.look > hub.overhaul > wheel.pass",
        "whole-bicycle.clean-used > fork.look-blades > whole-bicycle.used-verdict > fork.inspect",
    ),
    "03 cut before bearings, chips out, cups in, wax, then what closes the tubes": (
        f"bottom-bracket.chase > bottom-bracket.face > frame.wash-chips-out > frame.wax-inside > {UNIT_IN}",
        f"headset.ream-face > headset.press-cups > frame.wax-inside > {FORK_IN}",
        f"fork.cut-crown-seat > headset.press-race > {FORK_IN}",
        "cable-disc-caliper.face-mount | hydraulic-disc-caliper.face-mount > frame.wash-chips-out",
        f"frame.line-up-dropouts > frame.wax-inside > {UNIT_IN}",
    ),
    "04 guide lines before the tubes are closed, hoses while the fork is out": (
        f"frame.guide-lines > headset.press-cups > {FORK_IN}",
        f"frame.guide-lines > {UNIT_IN}",
        "whole-bicycle.position > hydraulic-hose.feed > headset.build > hydraulic-disc-caliper.hang",
    ),
    "05 a wheel is trued, taped, shod and sealed before its rotor": (
        "wheel.measure > wheel.check-spokes > wheel.lace > wheel.true-and-dish > wheel.relieve > wheel.tension > "
        "wheel.pass > rim-tape.fit-tape | rim-tape.fit-strip > tyre.fit-tubeless | tyre.fit-with-tube > tyre.seat > "
        "tubeless-valve.add-sealant > rotor.fit-six-bolt | rotor.fit-splined > rotor.cure",
        "factory-wheel.check-bought > factory-wheel.pass > rim-tape.fit-tape | rim-tape.fit-strip",
        "tube.check > tyre.fit-with-tube",
        "wheel.pass | factory-wheel.pass > cassette.fit | screw-on-freewheel.fit | single-sprocket.fit-fixed | "
        f"internal-gear-hub.fit-sprocket > {WHEEL_IN}",
    ),
    "06 the hanger is gauged against a true wheel, before the derailleur hangs on it": (
        "wheel.pass | factory-wheel.pass > rear-derailleur.gauge-hanger > rear-derailleur.hang",
        "derailleur-hanger.fit | frame.line-up-dropouts > rear-derailleur.gauge-hanger",
    ),
    "07 bearings, rings, crank, derailleurs, chain, stops, cable, gears": (
        f"{UNIT_IN} > {CRANK_ON} > crankset.check > front-derailleur.hang > chain.length > chain.join",
        f"chainring.bolt-on | chainring.direct-on > {CRANK_ON} > pedals.fit",
        "rear-derailleur.hang | rear-derailleur.hang-claw > chain.length > chain.join > rear-derailleur.set-stops > "
        "rear-derailleur.anchor-cable > rear-derailleur.index > rear-derailleur.pulley-gap > whole-bicycle.gears-run",
        "rear-derailleur.set-stops > front-derailleur.set-inner-stop > front-derailleur.anchor-trim > "
        "whole-bicycle.gears-run",
        "gear-cable.cut > rear-derailleur.anchor-cable | front-derailleur.anchor-trim | internal-gear-hub.set",
        "rear-derailleur.index > front-derailleur.anchor-trim",
    ),
    "08 the rider sits on it before anything is cut": (
        f"{FORK_IN} > {BAR_IN} > {LEVERS_LOOSE} > {POSITION}",
        f"{WHEEL_IN} > tyre.measure-room > {POSITION}",
        f"pedals.fit | saddle.trial > {POSITION}",
        "whole-bicycle.position > seatpost.cut-metal | seatpost.cut-carbon > "
        "seat-clamp.tighten-metal | seat-clamp.tighten-carbon > saddle.tighten",
    ),
    "09 steerer, stem, bar and levers are final before casing and hose get their length": (
        "fork.mark-steerer > fork.cut-metal | fork.cut-carbon > headset.set-star-nut | headset.set-plug > "
        "headset.build > headset.preload > stem.tighten-metal | stem.tighten-carbon | one-piece-bar.tighten-metal > "
        f"handlebar.clamp | drop-bar.clamp > whole-bicycle.twist-test > {LEVERS_TIGHT} > "
        "brake-cable.cut-casing | hydraulic-hose.cut | gear-cable.cut",
        f"quill-stem.tighten > whole-bicycle.twist-test > {LEVERS_TIGHT} > brake-cable.cut-casing",
        "brake-cable.cut-casing > gear-cable.cut",
        "whole-bicycle.position > handlebar.trim-metal > whole-bicycle.twist-test",
    ),
    "10 a bare bar goes through a one-clamp stem; a one-piece bar is judged before it goes on": (
        f"quill-stem.thread-bar > {LEVERS_LOOSE} > quill-stem.tighten > {COVERED}",
        f"one-piece-bar.trial > {LEVERS_LOOSE} > {COVERED}",
    ),
    "11 play out first, then the bolts that hold it": (
        f"headset.preload > {STEM_TIGHT.removesuffix(' | quill-stem.tighten')}",
        f"hub.overhaul > {WHEEL_IN}",
        "cable-disc-caliper.set-fixed-pad | cable-disc-caliper.centre-pads > cable-disc-caliper.tighten",
        f"{CRANK_ON} > crankset.check",
    ),
    "12 hose cut, bled without pads, lever rested, pads, centring; a cable before its pads are set": (
        "hydraulic-disc-caliper.hang > hydraulic-hose.route > hydraulic-hose.cut > "
        "hydraulic-hose.bleed-mineral | hydraulic-hose.bleed-glycol > brake-lever.tie | combined-lever.tie > "
        "hydraulic-disc-caliper.pads > hydraulic-disc-caliper.centre > whole-bicycle.brakes-hold > "
        "whole-bicycle.levers-do-not-sink",
        "rotor.true-up > brake-lever.tie | combined-lever.tie > hydraulic-disc-caliper.pads",
        "rotor.true-up > cable-disc-caliper.pads > cable-disc-caliper.cable > cable-disc-caliper.set-fixed-pad | "
        "cable-disc-caliper.centre-pads > cable-disc-caliper.tighten > whole-bicycle.brakes-hold",
        *(
            f"{brake}.hang > {brake}.pads > brake-cable.cut-casing > {brake}.cable > {brake}.centre > "
            "whole-bicycle.brakes-hold"
            for brake in ("linear-pull-brake", "cantilever-brake", "dual-pivot-brake")
        ),
        f"{WHEEL_IN} > hub-brake.hold-arm > hub-brake.cable > hub-brake.set > whole-bicycle.brakes-hold",
    ),
    "13 brakes, mudguards, rack, stays, then lights": (
        f"{BRAKE_HUNG} > mudguards.hang > rack.fit > mudguards.stays > lights-and-bell.fit",
        f"{COVERED} > lights-and-bell.fit",
        "tyre.measure-room > mudguards.hang",
    ),
    "14 nothing is covered before it is tight and tried": (
        f"{LEVERS_TIGHT} > whole-bicycle.brakes-hold > {COVERED}",
        f"{DRIVEN} > {COVERED}",
    ),
    "15 torque once, inspection, walk, bedding in, road test, look": (
        "whole-bicycle.torque-audit > whole-bicycle.inspect-steering | whole-bicycle.inspect-wheels | "
        "whole-bicycle.inspect-brakes | whole-bicycle.inspect-drive | whole-bicycle.inspect-contact | "
        "whole-bicycle.inspect-clearance | whole-bicycle.inspect-lights > whole-bicycle.sign-off > "
        "whole-bicycle.walk > cable-disc-caliper.bed-in | hydraulic-disc-caliper.bed-in | "
        "linear-pull-brake.bed-in | cantilever-brake.bed-in | dual-pivot-brake.bed-in > whole-bicycle.road-test > "
        "whole-bicycle.road-test-loaded > whole-bicycle.road-test-look",
        "tubeless-valve.overnight | whole-bicycle.check-wrenches > whole-bicycle.torque-audit",
        "rotor.cure > whole-bicycle.walk",
    ),
}


WHEEL_OUT = "wheel.out-quick-release | wheel.out-nuts | factory-wheel.out-through-axle | factory-wheel.out-nuts"
BRAKE_OFF = " | ".join(f"{brake}.take-off" for brake in BRAKES)
APART = (
    "whole-bicycle.strip-note > mudguards.take-off | rack.take-off | bottle-cage.take-off | lights-and-bell.take-off > "
    f"{WHEEL_OUT} > tyre.off-with-tube | tyre.off-tubeless > rim-tape.take-off > rim.take-off > spokes.take-out",
    f"{WHEEL_OUT} > cassette.take-off | screw-on-freewheel.take-off | rotor.take-off > hub.take-out",
    "pedals.take-off > chain.take-off | belt.take-off > crankset.off-pinch | crankset.off-square > "
    "bottom-bracket.take-out | bottom-bracket.take-apart | bottom-bracket.press-out > frame.take-off",
    "grips.take-off | bar-tape.take-off > brake-cable.take-off | gear-cable.take-off > "
    "brake-lever.take-off | shifter.take-off > handlebar.take-off | drop-bar.take-off > "
    "stem.take-off | quill-stem.take-off > fork.take-out | fork.take-out-threaded > headset.take-off > frame.take-off",
    f"{WHEEL_OUT} > {BRAKE_OFF} > fork.take-out | fork.take-out-threaded",
    "chain.take-off > rear-derailleur.take-off > derailleur-hanger.take-off > frame.take-off",
)
"""The other way round, on a finished bicycle: nothing is undone that still holds or covers something else."""


@cache
def planned(name: str) -> WholeBicycle:
    """One bicycle, nothing done yet."""
    return WholeBicycle(LIBRARY, name)


@cache
def drawn(name: str) -> Checklist:
    """Its checklist."""
    return planned(name).shop.checklist()


@cache
def taken_apart(name: str) -> Checklist:
    """The checklist of taking a finished one apart."""
    shop = WholeBicycle(LIBRARY, name, fitted=True).shop
    return shop.checklist(shop.job("strip"))


@cache
def ends_by_part(name: str) -> dict[UUID, frozenset[str]]:
    """The ends at which each part works: a lever's are those of the brake that it works."""
    return {placed.part.id: ends_of(placed, LIBRARY).names for placed in planned(name).shop.bicycle().placed}


def named(checklist: Checklist, names: str) -> list[tuple[int, ChecklistStep]]:
    """The steps of one link, with where they stand."""
    wanted = set(names.split(" | "))
    return [
        (number, step)
        for number, step in enumerate(checklist.steps)
        if step.id.partition("@")[0].partition(":")[0] in wanted
    ]


def out_of_order(checklist: Checklist, chain: str, ends: Mapping[UUID, frozenset[str]]) -> list[str]:
    """What of a chain stands after what should follow it, at one end."""
    links = [named(checklist, link) for link in chain.split(" > ")]
    return [
        f"{other.id} comes before {one.id}"
        for place, earlier in enumerate(links)
        for later in links[place + 1 :]
        for at, one in earlier
        for there, other in later
        if there < at and _share_an_end(_ends(one, ends), _ends(other, ends))
    ]


def _ends(step: ChecklistStep, ends: Mapping[UUID, frozenset[str]]) -> frozenset[str]:
    return frozenset() if step.category == "whole-bicycle" else ends[step.parts[0]]


def _share_an_end(some: frozenset[str], others: frozenset[str]) -> bool:
    return not some or not others or bool(some & others)


@pytest.mark.parametrize("name", BICYCLES)
@pytest.mark.parametrize("principle", CHAINS)
def test_what_must_follow_follows(principle: str, name: str) -> None:
    ends = ends_by_part(name)
    assert [found for chain in CHAINS[principle] for found in out_of_order(drawn(name), chain, ends)] == []


@pytest.mark.parametrize("name", BICYCLES)
def test_a_finished_one_comes_apart_in_order(name: str) -> None:
    ends = ends_by_part(name)
    assert [found for chain in APART for found in out_of_order(taken_apart(name), chain, ends)] == []


def test_every_link_of_every_chain_is_on_some_bicycle() -> None:
    builds = [(chain, [drawn(name) for name in BICYCLES]) for chains in CHAINS.values() for chain in chains]
    for chain, checklists in [*builds, *((chain, [taken_apart(name) for name in BICYCLES]) for chain in APART)]:
        links = chain.split(" > ")
        assert all(any(named(each, link) for each in checklists) for link in links), chain
        assert any(sum(bool(named(each, link)) for link in links) > 1 for each in checklists), chain


def test_a_step_out_of_its_order_is_found() -> None:
    chain = "whole-bicycle.walk > whole-bicycle.sign-off"
    found = out_of_order(drawn("old-town"), chain, ends_by_part("old-town"))
    assert found == ["whole-bicycle.sign-off comes before whole-bicycle.walk"]


@pytest.mark.parametrize("name", BICYCLES)
def test_01_each_part_is_laid_out_measured_and_weighed_before_it_is_fitted(name: str) -> None:
    steps = drawn(name).steps
    fitted = {part: number for number, step in reversed(list(enumerate(steps))) for part in step.fits}
    bench = [
        (number, step)
        for number, step in enumerate(steps)
        if step.id.partition(":")[0] in ("whole-bicycle.lay-out", "whole-bicycle.measure", "whole-bicycle.weigh")
    ]
    assert len(fitted) > 20
    assert len(bench) >= 2 * len(fitted)  # what cannot be weighed or measured apart has fewer
    laid_out = {step.id.rpartition(":")[2] for _, step in bench if step.id.startswith("whole-bicycle.lay-out")}
    assert len(laid_out) > 0.9 * len(fitted)
    late = [step.id for number, step in bench for part in step.parts if number > fitted.get(part, len(steps))]
    assert late == []


@pytest.mark.parametrize("name", BICYCLES)
def test_02_each_used_part_passes_its_own_look_before_it_is_fitted(name: str) -> None:
    steps = drawn(name).steps
    fitted = {part: number for number, step in reversed(list(enumerate(steps))) for part in step.fits}
    looks = [(number, step) for number, step in enumerate(steps) if step.look]
    late = [step.id for number, step in looks if number > fitted.get(step.parts[0], len(steps))]
    assert late == []


@pytest.mark.parametrize("name", BICYCLES)
def test_08_nothing_is_cut_before_the_position_and_no_brake_is_needed_for_it(name: str) -> None:
    checklist = drawn(name)
    at = {step.id: number for number, step in enumerate(checklist.steps)}
    cuts = [step.id for step in checklist.steps if step.cuts]
    assert len(cuts) > 0
    assert [cut for cut in cuts if at[cut] < at["whole-bicycle.position"]] == []
    waited_for = _all_before(checklist, "whole-bicycle.position")
    of_brakes = {f"{brake}.hang" for brake in BRAKES} | {"brake-cable.cut-casing", "hydraulic-hose.route"}
    assert {each for each in waited_for if each.partition("@")[0] in of_brakes} == set()
    assert "saddle.trial" in waited_for


def _all_before(checklist: Checklist, key: str) -> set[str]:
    """Every step that one waits for, near or far."""
    after = {step.id: step.after for step in checklist.steps}
    met: set[str] = set()
    todo = [key]
    while todo:
        new = set(after.get(todo.pop(), ())) - met
        met |= new
        todo += new
    return met


@pytest.mark.parametrize("name", BICYCLES)
def test_15_the_last_fitting_is_done_when_the_torque_audit_begins(name: str) -> None:
    steps = drawn(name).steps
    audit = next(number for number, step in enumerate(steps) if step.id == "whole-bicycle.torque-audit")
    assert [step.id for step in steps[audit:] if step.fits or step.cuts] == []
    assert sum(bool(step.fits) for step in steps[:audit]) > 15
