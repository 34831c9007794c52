"""Sixty-four at once: of overlapping fittings one is stored, of rides none is lost, of a retry one row comes."""

from collections import Counter
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from threading import Barrier
from typing import Any
from uuid import UUID

from service.domain.procedure import Library
from service.errors import Refusal
from service.ids import new_id
from service.records.builds import add_build
from service.records.fitting import fit_part, list_fittings
from service.records.parts import add_part
from service.records.riding import list_rides, log_ride
from service.schemas.builds import BuildSent, FittingSent
from service.schemas.parts import PartSent
from service.schemas.riding import RideLogged
from tests.conftest import NOW, Served

WRITERS = 64


def at_once(service: Served, library: Library, write: Callable[[Any, int], Any]) -> Counter[str]:
    """Lets so many threads write at the same time; answers how often what came of it."""
    gate = Barrier(WRITERS)

    def one(number: int) -> str:
        gate.wait(30)
        try:
            with service.database.writing({"who": service.who}) as session:
                return str(write(session, number))
        except Refusal as refusal:
            return refusal.code

    with ThreadPoolExecutor(WRITERS) as pool:
        return Counter(pool.map(one, range(WRITERS)))


def stored(service: Served, library: Library, builds: int) -> tuple[list[UUID], UUID]:
    """So many builds and a chain."""
    with service.database.writing({"who": service.who}) as session:
        ids = [add_build(session, service.who, BuildSent(name=f"Build {n}"))[0].id for n in range(builds)]
        chain = add_part(session, service.who, PartSent(category="chain", name="Chain"), library)[0].id
    return ids, chain


def test_of_overlapping_fittings_of_one_part_one_is_stored(service: Served, library: Library) -> None:
    builds, chain = stored(service, library, 8)

    def fit(session: Any, number: int) -> bool:
        sent = FittingSent(part=chain, at=NOW - timedelta(days=number))
        return fit_part(session, service.who, builds[number % 8], sent, library=library, now=NOW).new

    assert at_once(service, library, fit) == {"True": 1, "conflict": WRITERS - 1}
    with service.database.reading() as session:
        kept = [row for each in builds for row in list_fittings(session, service.who, each)]
    assert len(kept) == 1


def test_of_rides_of_one_build_none_is_lost(service: Served, library: Library) -> None:
    [on], _ = stored(service, library, 1)

    def log(session: Any, number: int) -> bool:
        sent = RideLogged(build=on, started_at=NOW - timedelta(hours=number), km=number + 1)
        return log_ride(session, service.who, sent, now=NOW)[1]

    assert at_once(service, library, log) == {"True": WRITERS}
    with service.database.reading() as session:
        rides = list_rides(session, service.who, build=on, limit=200)
    assert sum(ride.metres for ride in rides) == 1000 * WRITERS * (WRITERS + 1) // 2


def test_of_one_request_sent_many_times_one_row_comes(service: Served, library: Library) -> None:
    [on], _ = stored(service, library, 1)
    sent = RideLogged(id=new_id(), build=on, started_at=NOW, km=12)

    def log(session: Any, _: int) -> bool:
        return log_ride(session, service.who, sent, now=NOW)[1]

    assert at_once(service, library, log) == {"True": 1, "False": WRITERS - 1}


def test_writers_of_different_builds_all_get_through(service: Served, library: Library) -> None:
    builds, _ = stored(service, library, WRITERS)

    def log(session: Any, number: int) -> bool:
        sent = RideLogged(build=builds[number], started_at=NOW, km=10)
        return log_ride(session, service.who, sent, now=NOW)[1]

    assert at_once(service, library, log) == {"True": WRITERS}
