"""The town bicycle of the demo: two years in service, in the middle of its winter service."""

from datetime import timedelta
from uuid import UUID

from service.demo.care_log import look_over
from service.demo.ridden_parts import chain, town_parts
from service.demo.rides import Habit, read_odometer, ride_days
from service.demo.scene import Scene, Stock, add_parts, fit_all, log, measure
from service.demo.tourer import ENDED, Retired
from service.records import builds, checklists, rules, swaps
from service.records.rules import Subject
from service.schemas.builds import BuildChanged, BuildSent, SetUpSent, SwapSent
from service.schemas.care import EventLogged, PutOffSent
from service.schemas.checklists import ChecklistStarted

BEGAN, NEW_CHAIN, LAST_LOOK = 730, 210, 12
"""Days ago: new, the chain swapped, everything looked over last."""
AWAY = (101, 118)
"""Days ago: ridden, and not written down; the odometer tells."""
HABIT = Habit(seed=3, work_day=0.72, work_km=(7, 13), weekend=0.3, weekend_km=(12, 34), descents=True)
SPROCKETS = frozenset({"cassette.look"})
"""Left undone since the chain was swapped: the cassette counts one chain."""
LEFT = SPROCKETS | {"chain.clean", "pedals.tight-and-play", "hub.grease"}
"""What nobody did at the last look: so something is due, something overdue, something put off."""


def ride_in_town(scene: Scene, retired: Retired) -> UUID:
    """Enters two years of the town bicycle; answers the build."""
    with scene.action():
        sent = BuildSent(
            name="Town bicycle",
            state="in service",
            use="town",
            rider_mass_g=78000,
            front_brake_hand="left",
            load_g=6000,
            note=f"A tour of 1,200 km starts on {scene.day(-21):%d %B %Y}; the pads should be new by then.",
        )
        build, _ = builds.add_build(scene.session, scene.who, sent)
    stock = add_parts(scene, town_parts())
    fit_all(scene, build.id, stock, scene.at(BEGAN, 6))
    km = _first_chain(scene, build.id, stock)
    _swap_wheel(scene, build.id, stock, retired)
    new_chain = _swap_chain(scene, build.id, stock)
    _second_chain(scene, build.id, stock, new_chain, km)
    _settle(scene, build.id)
    _winter_service(scene, build.id, stock)
    return build.id


def _settle(scene: Scene, build_id: UUID) -> None:
    """How it is ridden, in two set-ups; and the whole bicycle on the scale."""
    first = SetUpSent(
        at=scene.at(BEGAN - 3), saddle_height_mm=742, saddle_setback_mm=58, front_kpa=400, rear_kpa=450,
        note="The first weeks.",
    )  # fmt: skip
    later = SetUpSent(
        at=scene.at(420), saddle_height_mm=738, bar_reach_mm=545, bar_drop_mm=-15, front_kpa=350, rear_kpa=400,
        note="A little lower, softer tyres.",
    )  # fmt: skip
    for sent in (first, later):
        with scene.action():
            builds.add_set_up(scene.session, scene.who, build_id, sent, now=scene.now)
    with scene.action():
        weighed = BuildChanged(mass_weighed_g=12640)
        builds.change_build(scene.session, scene.who, build_id, weighed, version=None)


def _first_chain(scene: Scene, build_id: UUID, stock: Stock) -> float:
    """The first 520 days, the front wheel's change among them; answers the km ridden."""
    read_odometer(scene, build_id, BEGAN, 0)
    km = ride_days(scene, build_id, HABIT, since=BEGAN - 1, until=541)
    measure(scene, stock["chain"], "elongation_percent", 0.3, ago=540)
    look_over(scene, build_id, 540)
    km += ride_days(scene, build_id, HABIT, since=540, until=ENDED + 1)
    measure(scene, stock["chain"], "elongation_percent", 0.55, ago=ENDED + 1)
    read_odometer(scene, build_id, ENDED + 1, km)
    km += ride_days(scene, build_id, HABIT, since=ENDED - 1, until=NEW_CHAIN + 1)
    return km


def _swap_wheel(scene: Scene, build_id: UUID, stock: Stock, retired: Retired) -> None:
    sent = SwapSent(
        off=stock["wheel@front"],
        on=retired.stock["wheel@front"],
        at=scene.at(ENDED, 15),
        why_removed="Two spokes broken, rim bent at a kerb.",
    )
    with scene.action():
        swaps.swap_part(scene.session, scene.who, build_id, sent, library=scene.library, now=scene.now)


def _swap_chain(scene: Scene, build_id: UUID, stock: Stock) -> UUID:
    measure(scene, stock["chain"], "elongation_percent", 0.78, ago=NEW_CHAIN)
    sent = SwapSent(
        off=stock["chain"], new=chain(8, "New chain"), at=scene.at(NEW_CHAIN, 18), why_removed="Elongated by 0.78 %."
    )
    with scene.action():
        done = swaps.swap_part(scene.session, scene.who, build_id, sent, library=scene.library, now=scene.now)
    return done.fitting.part_id


def _second_chain(scene: Scene, build_id: UUID, stock: Stock, new_chain: UUID, km: float) -> None:
    look_over(scene, build_id, NEW_CHAIN - 5, leave=SPROCKETS)
    km += ride_days(scene, build_id, HABIT, since=NEW_CHAIN - 1, until=AWAY[1] + 1)
    read_odometer(scene, build_id, AWAY[1] + 1, km)
    km += 143
    read_odometer(scene, build_id, AWAY[0] - 1, km)
    km += ride_days(scene, build_id, HABIT, since=AWAY[0] - 2, until=LAST_LOOK)
    measure(scene, new_chain, "elongation_percent", 0.35, ago=60)
    for place, readings in (("inner", (1.7, 1.2)), ("outer", (1.8, 1.4))):
        for ago, reading in zip((150, 60), readings, strict=True):
            measure(scene, stock["brake-pads@front"], "lining_mm", reading, ago=ago, place=place)
    look_over(scene, build_id, LAST_LOOK, leave=LEFT)
    km += ride_days(scene, build_id, HABIT, since=LAST_LOOK - 1, until=1)
    read_odometer(scene, build_id, 1, km)
    oiled = EventLogged(part=new_chain, kind="lubricated", at=scene.at(8, 18), tasks=["chain.lubricate"])
    log(scene, oiled)
    measure(scene, stock["brake-pads@front"], "lining_mm", 0.95, ago=2, place="inner")
    measure(scene, stock["brake-pads@front"], "lining_mm", 1.2, ago=2, place="outer")
    measure(scene, new_chain, "elongation_percent", 0.55, ago=2)


def _winter_service(scene: Scene, build_id: UUID, stock: Stock) -> None:
    off = PutOffSent(until_on=scene.day(0) + timedelta(days=24), reason="Waits for the stand to be free.")
    with scene.action():
        rules.put_off(
            scene.session,
            scene.who,
            Subject(part_id=stock["hub@rear"]),
            "hub.grease",
            off,
            library=scene.library,
            today=scene.day(0),
        )
    with scene.action():
        job = ChecklistStarted(job="service", task="whole-bicycle.yearly")
        checklists.start_job(scene.session, scene.who, build_id, job, library=scene.library, now=scene.at(1))
