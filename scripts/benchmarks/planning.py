"""Findings, what-if and what of the parts bin would meet, each against a handler that reads the same rows."""

import json
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any
from uuid import UUID

from _series import compare
from _served import Served, served_demo
from _statements import mount_rows, statements_of

from service.domain.bicycle import Bicycle
from service.domain.joins import findings_around, with_joins
from service.domain.places import surroundings
from service.records import checklists
from service.records.bicycle import load

IN_THE_BIN = 50
FIELD = {"diameter_mm": {"number": 27.2, "known_by": "measured"}}


def _build_of(served: Served) -> UUID:
    """The bicycle that is being assembled, which has the most joins with something open."""
    with served.database.reading() as session:
        found: UUID = checklists.get_job(session, served.who, served.first.job_id).build_id
    return found


def _load(served: Served, build: UUID) -> Bicycle:
    with served.database.reading() as session:
        return load(session, served.who, build, served.library, with_log=False)


def _afresh(served: Served, build: UUID) -> bool:
    """Every join of a bicycle that nothing is kept of, the calculated ones too, against reading the bicycle itself."""
    bicycle = _load(served, build)

    def work() -> int:
        return len(findings_around(with_joins(surroundings(bicycle, served.library))))

    assert work() > len(bicycle.placed)
    return compare("findings of a build, afresh", work, lambda: _load(served, build), goal=7, runs=10)


def _keep(served: Served, name: str, ask: Callable[[], Any], *, goal: float) -> bool:
    """One request against its own rows; the first answer is looked at."""
    status, _, answer = ask()
    assert status == 200, answer
    assert any(json.loads(answer).values()), answer
    served.app.state.statements = statements_of(served.database, ask)
    return compare(name, ask, lambda: served.client.ask("GET", "/api/v1/bench/rows"), goal=goal, runs=10)


def main() -> int:
    """Prints a line of JSON for each; the exit code says whether one missed its goal."""
    with tempfile.TemporaryDirectory() as folder, served_demo(Path(folder), prepare=mount_rows) as served:
        ask, build = served.client.ask, _build_of(served)
        for number in range(IN_THE_BIN):
            sent = {"category": "seatpost", "name": f"Post {number}", "origin": "new", "specs": FIELD}
            status, _, answer = ask("POST", "/api/v1/parts", sent)
            assert status == 201, answer
        seatpost = {"parts": [{"category": "seatpost", "specs": FIELD}]}
        findings, what_if = f"/api/v1/builds/{build}/findings", f"/api/v1/builds/{build}/what-if"
        fits = f"/api/v1/parts?limit={IN_THE_BIN}&fits={build}:seatpost:"
        kept = _keep(served, "findings of a build, kept", lambda: ask("GET", findings), goal=4)
        kept &= _afresh(served, build)
        kept &= _keep(served, "what if, one part", lambda: ask("POST", what_if, seatpost), goal=14)
        kept &= _keep(served, f"would it fit, {IN_THE_BIN} parts", lambda: ask("GET", fits), goal=65)
    return int(not kept)


if __name__ == "__main__":
    sys.exit(main())
