"""The rides of the demo: two years of them from a small sequence of our own, the same for the same days."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from service.demo.scene import Scene
from service.records import riding
from service.schemas.riding import Conditions, OdometerRead, RideLogged

COLD_MONTHS = (11, 12, 1, 2, 3)
SATURDAY = 5


def chance(seed: int) -> Iterator[float]:
    """Numbers from 0 to 1 that look like chance and are always the same (a 64-bit linear congruential sequence).

    Multiplier and increment: D. E. Knuth's MMIX, The Art of Computer Programming, volume 2, 3.3.4.
    """
    state = seed
    while True:
        state = (6364136223846793005 * state + 1442695040888963407) % 2**64
        yield (state >> 11) / 2**53


@dataclass(frozen=True, slots=True)
class Habit:
    """How somebody rides: how likely on a work day and at the weekend, and how far, km."""

    seed: int
    work_day: float
    work_km: tuple[float, float]
    weekend: float
    weekend_km: tuple[float, float]
    descents: bool = False
    loaded: bool = False


def ride_days(scene: Scene, build_id: UUID, habit: Habit, *, since: int, until: int) -> float:
    """Logs the rides of the days from `since` to `until` days ago, oldest first; answers their km."""
    drawn = chance(habit.seed + since)
    total = 0.0
    for ago in range(since, until - 1, -1):
        ride = _ride_of(scene.day(ago), habit, drawn)
        if ride is None:
            continue
        km, conditions, hour = ride
        total += km
        sent = RideLogged(
            build=build_id,
            started_at=scene.at(ago, hour, 10),
            km=km,
            moving_s=round(km / 17.5 * 3600),
            conditions=conditions,
            descents=habit.descents,
            loaded=habit.loaded,
            sure=True,
        )
        with scene.action():
            riding.log_ride(scene.session, scene.who, sent, now=scene.now)
    return total


def _ride_of(day: date, habit: Habit, drawn: Iterator[float]) -> tuple[float, Conditions, int] | None:
    """The ride of a day, if there is one; a day draws as many numbers whether it is ridden or not."""
    rides, far, weather = next(drawn), next(drawn), next(drawn)
    at_weekend = day.weekday() >= SATURDAY
    likely, (short, long) = (habit.weekend, habit.weekend_km) if at_weekend else (habit.work_day, habit.work_km)
    if rides >= likely:
        return None
    return round(short + far * (long - short), 1), _conditions(day, weather), 10 if at_weekend else 7


def _conditions(day: date, drawn: float) -> Conditions:
    if day.month in COLD_MONTHS:
        return "salted" if drawn < 0.06 else "gritty" if drawn < 0.10 else "wet" if drawn < 0.36 else "dry"
    return "gritty" if drawn < 0.02 else "wet" if drawn < 0.16 else "dusty" if drawn < 0.3 else "dry"


def read_odometer(scene: Scene, build_id: UUID, ago: int, km: float) -> None:
    """Writes down what the instrument showed on the evening of a day."""
    sent = OdometerRead(build=build_id, at=scene.at(ago, 20), km=round(km, 1))
    with scene.action():
        riding.read_odometer(scene.session, scene.who, sent, now=scene.now)
