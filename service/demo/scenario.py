"""The demo as a whole: built once into an empty database, found again afterwards."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from sqlmodel import Session

from service.database import Database
from service.demo.bench import set_up_bench
from service.demo.mixed import begin_to_assemble
from service.demo.scene import Scene
from service.demo.tourer import ride_and_retire
from service.demo.town import ride_in_town
from service.domain.procedure import Library
from service.errors import Conflict
from service.records import builds, checklists, coming, parts, people
from service.records.people import Who
from service.records.touched import refresh_touched

NAME = "Club workshop (demo)"


@dataclass(frozen=True, slots=True)
class First:
    """What to open first: the job at the stand, and a part with a life behind it."""

    job_id: UUID
    part_id: UUID


def open_demo(database: Database, library: Library, *, time_zone: str, now: datetime) -> First:
    """The demo in this database: built whole or not at all where it is empty, else the one that is there.

    Raises Conflict for a database that holds somebody's own workshop.
    """
    with database.writing() as session:
        who = people.open_workshop(session, time_zone=time_zone, currency="EUR", name=NAME)
        session.info["who"] = who
        if people.workshop_of(session, who).name != NAME:
            raise Conflict(f"The database {database.shown} holds a workshop of somebody's own; name another file.")
        if not builds.list_builds(session, who, limit=1):
            _build(Scene(session, who, library, now))
    with database.reading() as session:
        return _first(session, who, library, now)


def _build(scene: Scene) -> None:
    set_up_bench(scene)
    retired = ride_and_retire(scene)
    ride_in_town(scene, retired)
    begin_to_assemble(scene, retired)
    refresh_touched(scene.session, scene.who, library=scene.library, now=scene.now)


def _first(session: Session, who: Who, library: Library, now: datetime) -> First:
    """The oldest job at the stand, and the most pressing part; those that are left where somebody tidied up."""
    every = builds.list_builds(session, who, limit=50)
    jobs = [job for build in every for job in checklists.list_jobs(session, who, build["id"])]
    assembling = [job.id for job in jobs if job.job == "assemble"] or [job.id for job in jobs]
    _, found = coming.due_of_builds(session, who, build=None, after=None, limit=50, library=library, now=now)
    pressing = [
        each.part_id
        for _, dues in found
        for each in sorted(dues, key=lambda each: not (each.by_wear and each.last))
        if each.part_id is not None
    ]
    pressing += [row[0] for row in parts.list_parts(session, who, limit=1)]
    if not assembling or not pressing:
        raise Conflict("The demo was taken apart: remove its file, and it is built anew.")
    return First(assembling[0], pressing[0])
