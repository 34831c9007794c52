"""The tourer of the demo: ridden for a year and a quarter, retired, its parts moved on."""

from dataclasses import dataclass
from uuid import UUID

from service.demo.care_log import look_over
from service.demo.ridden_parts import tourer_parts
from service.demo.rides import Habit, ride_days
from service.demo.scene import Scene, Stock, add_parts, fit_all, log, take_off
from service.records import builds
from service.schemas.builds import BuildChanged, BuildSent
from service.schemas.care import EventLogged

BEGAN, ENDED = 760, 300
"""Days ago."""
HABIT = Habit(seed=7, work_day=0.04, work_km=(18, 30), weekend=0.55, weekend_km=(28, 75), descents=True)


@dataclass(frozen=True, slots=True)
class Retired:
    """The retired bicycle, its parts, and the km it was ridden."""

    build_id: UUID
    stock: Stock
    km: float


def ride_and_retire(scene: Scene) -> Retired:
    """Enters the tourer's life; its front wheel, crankset and pedals end up in the parts bin."""
    with scene.action():
        sent = BuildSent(
            name="Green tourer", state="in service", use="touring", rider_mass_g=78000, front_brake_hand="left"
        )
        build, _ = builds.add_build(scene.session, scene.who, sent)
    stock = add_parts(scene, tourer_parts())
    fitted = fit_all(scene, build.id, stock, scene.at(BEGAN, 7))
    km = ride_days(scene, build.id, HABIT, since=BEGAN - 1, until=ENDED + 90)
    look_over(scene, build.id, ENDED + 90)
    km += ride_days(scene, build.id, HABIT, since=ENDED + 89, until=ENDED + 1)
    found = EventLogged(
        part=stock["frame"],
        kind="inspected",
        found="damaged",
        at=scene.at(ENDED, 9),
        tasks=["frame.cracks"],
        note="A hair crack under the down tube, behind the lug. Not to be ridden again.",
    )
    log(scene, found)
    for key in ("crankset", "pedals", "wheel@front"):
        take_off(scene, fitted[key], scene.at(ENDED, 10), "The frame is cracked; this goes on elsewhere.")
    with scene.action():
        note = "Frame cracked; what is good moves on."
        builds.change_build(scene.session, scene.who, build.id, BuildChanged(state="retired", note=note), version=None)
    return Retired(build.id, stock, km)
