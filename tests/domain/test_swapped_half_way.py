"""One part swapped on a finished mixed-surface bicycle: what must open again and what must not.

Common practice, no source: the table says what a mechanic does again after each swap. Every swap opens the torque
audit, the inspection, the walk and the road test; none opens what touches neither the part nor its neighbours.
"""

import pytest

from service.domain.bicycle import SpecFact
from tests.domain.bicycles import by_id, open_ids
from tests.domain.mixed_bicycle import FACTS, MixedBicycle
from tests.procedures import whole_library

LIBRARY = whole_library()
ALWAYS = frozenset(
    f"whole-bicycle.{key}"
    for key in (
        "torque-audit", "inspect-steering", "inspect-wheels", "inspect-brakes", "inspect-drive", "inspect-contact",
        "inspect-clearance", "inspect-lights", "sign-off", "walk", "road-test", "road-test-look",
    )
)  # fmt: skip
POSITION = "whole-bicycle.position"
CASINGS = ("brake-cable.cut-casing@front", "brake-cable.cut-casing@rear")
INDEXING = "rear-derailleur.index@rear"
STOPS = "rear-derailleur.set-stops@rear"
LACING = ("wheel.measure", "wheel.lace", "wheel.true-and-dish", "wheel.relieve", "wheel.tension", "wheel.pass")


def bench(end: str) -> tuple[str, ...]:
    """The bench work of a wheel, tape and tyre included."""
    steps = (*LACING, "rim-tape.fit-tape", "tyre.fit-tubeless", "tyre.seat")
    return tuple(f"{step}@{end}" for step in steps)


def brake(end: str, *keys: str) -> tuple[str, ...]:
    """Steps of the calliper at one end."""
    return tuple(f"cable-disc-caliper.{key}@{end}" for key in keys)


SWAPS: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "fork": (
        ("headset.press-race", "headset.build", "headset.preload", "fork.mark-steerer", "stem.tighten-metal", POSITION,
         "tyre.measure-room@front", CASINGS[0], *brake("front", "face-mount", "hang")),
        ("bottom-bracket.fit-outboard", "chain.join", INDEXING, *bench("front"), *bench("rear"), *brake("rear", "hang"),
         CASINGS[1], "tyre.measure-room@rear"),
    ),
    "headset": (
        (POSITION, "headset.build", "headset.preload", "stem.tighten-metal", *CASINGS),
        ("bottom-bracket.fit-outboard", "chain.join", INDEXING, *bench("front"), *brake("front", "hang")),
    ),
    "stem": (
        (POSITION, "headset.preload", "stem.tighten-metal", "handlebar.clamp", *CASINGS),
        ("headset.press-cups", "chain.length", INDEXING, *bench("front"), *brake("front", "hang")),
    ),
    "spacers": ((POSITION, "headset.preload", "stem.tighten-metal"), ("headset.press-cups", INDEXING)),
    "handlebar": ((POSITION, "handlebar.clamp", *CASINGS), ("headset.press-cups", "chain.join", *bench("rear"))),
    "saddle": (
        (POSITION, "saddle.tighten", "seat-clamp.tighten-metal"),
        ("stem.tighten-metal", INDEXING, *CASINGS, *bench("rear")),
    ),
    "seatpost": ((POSITION, "seat-clamp.tighten-metal"), ("stem.tighten-metal", INDEXING, *CASINGS)),
    "pedals": ((POSITION, "pedals.fit", "seat-clamp.tighten-metal"), ("crankset.fit-pinch", "chain.length", *CASINGS)),
    "crankset": (
        (POSITION, "crankset.fit-pinch", "front-derailleur.hang@front", "chain.length", INDEXING, STOPS),
        ("bottom-bracket.chase", "stem.tighten-metal", *CASINGS, *bench("rear"), *brake("rear", "tighten")),
    ),
    "bottom-bracket": (
        ("crankset.fit-pinch", "front-derailleur.hang@front", "chain.length", INDEXING, STOPS),
        ("stem.tighten-metal", *CASINGS, *bench("rear"), *brake("rear", "tighten")),
    ),
    "chainring@outer": (
        ("front-derailleur.hang@front", "chain.length", INDEXING, STOPS),
        ("bottom-bracket.fit-outboard", POSITION, *bench("rear")),
    ),
    "cassette@rear": (
        ("cassette.fit@rear", "chain.length", STOPS, INDEXING, "rear-derailleur.pulley-gap@rear"),
        ("front-derailleur.hang@front", POSITION, *bench("rear"), *brake("rear", "tighten")),
    ),
    "rear-derailleur@rear": (
        ("rear-derailleur.hang@rear", "chain.length", STOPS, INDEXING, "rear-derailleur.pulley-gap@rear"),
        ("front-derailleur.hang@front", "cassette.fit@rear", POSITION, *CASINGS),
    ),
    "front-derailleur@front": (
        ("front-derailleur.hang@front", "chain.length", "front-derailleur.set-inner-stop@front"),
        ("cassette.fit@rear", "rear-derailleur.hang@rear", POSITION),
    ),
    "chain": (
        ("chain.length", "chain.join", INDEXING, "whole-bicycle.wear-baseline"),
        ("cassette.fit@rear", "rear-derailleur.hang@rear", POSITION, *brake("rear", "tighten")),
    ),
    "shifter@right": (
        (INDEXING, "whole-bicycle.gears-run"),
        ("chain.length", STOPS, "front-derailleur.anchor-trim@front", *CASINGS),
    ),
    "gear-cable@rear": (
        (INDEXING, "gear-cable.cut@rear"),
        ("chain.length", STOPS, "front-derailleur.anchor-trim@front", "gear-cable.cut@front", *CASINGS),
    ),
    "gear-cable@front": (("gear-cable.cut@front", "front-derailleur.anchor-trim@front"), (INDEXING, "chain.length")),
    "rim@rear": (
        bench("rear"),
        (*bench("front"), "cassette.fit@rear", POSITION, INDEXING, *brake("rear", "hang", "tighten")),
    ),
    "hub@rear": (
        (*bench("rear"), "cassette.fit@rear", "rotor.fit-six-bolt@rear"),
        (*bench("front"), POSITION, *brake("rear", "hang")),
    ),
    "wheel@rear": (
        ("wheel.in-quick-release@rear", STOPS, *brake("rear", "set-fixed-pad", "tighten")),
        (*bench("front"), POSITION, "stem.tighten-metal", *CASINGS, *brake("front", "tighten")),
    ),
    "tyre@front": (
        ("tyre.fit-tubeless@front", "tyre.seat@front", "tubeless-valve.add-sealant@front",
         "tubeless-valve.overnight@front", "tyre.measure-room@front"),
        ("rim-tape.fit-tape@front", "wheel.lace@front", "rotor.fit-six-bolt@front", "tyre.seat@rear", POSITION),
    ),
    "rotor@front": (
        ("rotor.fit-six-bolt@front", "rotor.cure@front", "rotor.true-up@front",
         *brake("front", "set-fixed-pad", "tighten", "bed-in")),
        (*bench("front"), *brake("front", "hang"), *brake("rear", "tighten", "bed-in"), CASINGS[0]),
    ),
    "brake-pads@front": (
        brake("front", "pads", "set-fixed-pad", "tighten", "bed-in"),
        (*brake("front", "hang"), *brake("rear", "pads", "tighten"), "rotor.true-up@front", CASINGS[0]),
    ),
    "cable-disc-caliper@front": (
        (*brake("front", "hang", "cable", "set-fixed-pad", "tighten", "bed-in"), CASINGS[0],
         "whole-bicycle.brakes-hold"),
        (*brake("front", "face-mount"), *brake("rear", "hang", "tighten"), "rotor.true-up@front", POSITION),
    ),
    "brake-lever@left": (
        ("brake-lever.tighten-flat@left", "whole-bicycle.brakes-hold", "grips.fit-clamped", CASINGS[0],
         *brake("front", "cable", "tighten")),
        ("brake-lever.tighten-flat@right", "shifter.tighten@left", CASINGS[1], *brake("rear", "cable")),
    ),
    "grips": (("grips.fit-clamped",), ("brake-lever.tighten-flat@left", POSITION, "whole-bicycle.brakes-hold")),
    "axle@front": (("wheel.in-quick-release@front",), (*bench("front"), POSITION, *brake("front", "tighten"))),
}  # fmt: skip


@pytest.mark.parametrize("name", SWAPS)
def test_a_swap_opens_what_touches_the_part_and_nothing_else(name: str) -> None:
    bicycle = MixedBicycle(LIBRARY)
    shop = bicycle.shop
    ticked = shop.checklist()
    job = shop.tick_all(ticked)
    old = bicycle.parts[name]
    kept = {key: _value(facts[0]) for key, facts in shop.parts[old].specs.items()}
    shop.swap(old, bicycle.new(shop.parts[old].category, **kept))
    steps = by_id(shop.checklist(job))
    opened = {key for key, step in steps.items() if step.state == "open"}
    must, must_not = SWAPS[name]
    known = set(by_id(ticked))
    assert {*must, *must_not} <= known, "the table names steps that this bicycle does not have"
    assert {*must, *ALWAYS} - opened == set()
    assert set(must_not) & opened == set()
    assert all(steps[key].reopened for key in opened if key in known)


def _value(fact: SpecFact) -> float | str | bool | None:
    if fact.number is not None:
        return fact.number
    return fact.words == "yes" if fact.words in ("yes", "no") else fact.words


def test_a_new_frame_opens_all_but_finished_wheels_and_bench_work() -> None:
    bicycle = MixedBicycle(LIBRARY)
    shop = bicycle.shop
    ticked = shop.checklist()
    job = shop.tick_all(ticked)
    shop.swap(bicycle.parts["frame"], bicycle.new("frame"))
    opened = open_ids(shop.checklist(job))
    assert {*ALWAYS, POSITION, INDEXING, STOPS, *CASINGS, *brake("rear", "hang", "tighten")} <= opened
    wheels = {"hub", "rim", "spokes", "rim-tape", "tyre", "tubeless-valve", "rotor", "cassette", "wheel"}
    at_bicycle = {"wheel.in-quick-release@rear", "tyre.measure-room@rear"}
    of_wheels = {key for key in opened if key.partition(".")[0] in wheels}
    assert of_wheels <= at_bicycle
    of_other_parts = {key for key in opened if ":" in key and not key.endswith(str(bicycle.parts["frame"]))}
    assert not of_other_parts & set(by_id(ticked))


def test_a_wheel_out_and_in_opens_its_axle_and_nothing_of_its_bench_work() -> None:
    bicycle = MixedBicycle(LIBRARY)
    job = bicycle.shop.tick_all()
    bicycle.shop.off_and_on(bicycle.parts["wheel@rear"])
    opened = open_ids(bicycle.shop.checklist(job))
    assert "wheel.in-quick-release@rear" in opened
    on_the_bench = {*bench("rear"), "cassette.fit@rear", "rotor.fit-six-bolt@rear", "tubeless-valve.add-sealant@rear"}
    assert not on_the_bench & opened
    assert not [key for key in opened if ":" in key]


def test_ticks_made_before_mounting_stay_when_everything_is_mounted() -> None:
    bicycle = MixedBicycle(LIBRARY, planned=True)
    shop = bicycle.shop
    job = shop.tick_all()
    for row in list(shop.plan):
        shop.fit(row.part_id, row.place, row.into_part_id)
    assert open_ids(shop.checklist(job)) == set()


def test_the_facts_of_the_bicycle_are_fields_of_the_procedures() -> None:
    for name, facts in FACTS.items():
        assert set(facts) <= {field.key for field in LIBRARY.categories[name].specs}, name


def test_with_every_fact_known_nothing_is_undecided_and_two_visits_are_enough() -> None:
    """One visit before the first test ride in place, one after: cuts follow the rider's position."""
    checklist = MixedBicycle(LIBRARY, planned=True).shop.checklist()
    assert checklist.progress.undecided == 0
    assert len(checklist.shop_visits) == 2
    assert "fork.cut-metal" in checklist.shop_visits[1].steps
