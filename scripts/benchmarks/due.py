"""What is due on one bicycle, against its rows by the bare driver; ten years of rides against one."""

import sys
import tempfile
from datetime import UTC, datetime
from uuid import UUID

from _ridden import ridden_bicycle
from _series import compare
from _statements import bare_reader, statements_of

from service.database import Database
from service.domain.procedure import Library
from service.library.read import load, procedures_folder
from service.records import bicycle, care, people
from service.records.people import Who

RIDES_A_YEAR = 100


def _ask(database: Database, library: Library, who: Who, build: UUID) -> object:
    now = datetime.now(UTC)
    with database.reading() as session:
        return care.due_now(bicycle.load(session, who, build, library), library, who, now)


def main() -> int:
    """Prints a line of JSON for each; the exit code says whether one missed its goal."""
    with tempfile.TemporaryDirectory() as folder:
        database = Database(f"sqlite:///{folder}/due.db")
        database.migrate()
        library = load(procedures_folder())
        with database.writing() as session:
            who = people.open_workshop(session, time_zone="Europe/Berlin", currency="EUR")
        old, young = (
            ridden_bicycle(database, library, who, rides=years * RIDES_A_YEAR, every_days=365 / RIDES_A_YEAR)
            for years in (10, 1)
        )

        def ask() -> object:
            return _ask(database, library, who, old)

        floor = bare_reader(database, statements_of(database, ask))
        kept = compare("due of one bicycle: 1,000 rides, 44 parts", ask, floor, goal=8, runs=20)
        kept &= compare(
            "due after ten years against one", ask, lambda: _ask(database, library, who, young), goal=4, runs=20
        )
        database.dispose()
    return int(not kept)


if __name__ == "__main__":
    sys.exit(main())
