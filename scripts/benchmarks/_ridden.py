"""A bicycle of some forty parts with as many rides as are asked for, entered through records."""

from datetime import UTC, datetime
from uuid import UUID

from service.database import Database
from service.demo.care_log import look_over
from service.demo.ridden_parts import town_parts
from service.demo.scene import Scene, add_parts, fit_all
from service.domain.procedure import Library
from service.records import builds, riding
from service.records.people import Who
from service.records.touched import refresh_touched
from service.schemas.builds import BuildSent
from service.schemas.riding import RideLogged

CONDITIONS = ("dry", "dry", "wet", "dusty", "dry", "gritty", "dry", "salted")
LOOKS = 4
"""Each writes some fifty events: what is pressing by then, on each part."""


def ridden_bicycle(database: Database, library: Library, who: Who, *, rides: int, every_days: float) -> UUID:
    """A bicycle in service, ridden every so many days up to now, looked over a few times; answers its id."""
    now = datetime.now(UTC)
    days = round(rides * every_days)
    with database.writing() as session:
        session.info["who"] = who
        scene = Scene(session, who, library, now)
        build, _ = builds.add_build(session, who, BuildSent(name=f"{rides} rides", state="in service", use="town"))
        stock = add_parts(scene, town_parts())
        fit_all(scene, build.id, stock, scene.at(days + 1, 6))
        for number in range(rides):
            _ride(scene, build.id, number, ago=days - int(number * every_days))
            if (number + 1) % max(1, rides // LOOKS) == 0:
                look_over(scene, build.id, days - int(number * every_days))
        refresh_touched(session, who, library=library, now=now)
        return build.id


def _ride(scene: Scene, build_id: UUID, number: int, *, ago: int) -> None:
    sent = RideLogged(
        build=build_id,
        started_at=scene.at(ago, 9, number % 60),
        km=8 + number % 23,
        moving_s=3600,
        conditions=CONDITIONS[number % len(CONDITIONS)],  # type: ignore[arg-type]
        descents=number % 9 == 0,
        sure=True,
    )
    riding.log_ride(scene.session, scene.who, sent, now=scene.now)
