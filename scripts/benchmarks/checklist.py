"""The checklist of the demo: the whole answer against its rows as JSON, the order alone against graphlib."""

import graphlib
import sys
import tempfile
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from _series import compare
from _served import Served, served_demo
from _statements import Statement, mount_rows, statements_of

from service.domain.following import ordered
from service.records import checklists


def _rows_of(served: Served) -> list[Statement]:
    def draw() -> None:
        with served.database.reading() as session:
            checklists.draw(session, served.who, served.first.job_id, library=served.library, now=datetime.now(UTC))

    return statements_of(served.database, draw)


def _order(served: Served) -> tuple[Any, Any]:
    """Ordering the steps of the checklist, and graphlib's static order of the same graph."""
    with served.database.reading() as session:
        checklist = checklists.draw(
            session, served.who, served.first.job_id, library=served.library, now=datetime.now(UTC)
        )[2]
    number = {step.id: i for i, step in enumerate(checklist.steps)}
    before = [[number[each] for each in step.after] for step in checklist.steps]
    keys = [(i,) for i in range(len(before))]
    assert ordered(before, keys) == tuple(range(len(before)))
    return (
        lambda: ordered(before, keys),
        lambda: tuple(graphlib.TopologicalSorter(dict(enumerate(before))).static_order()),
    )


def main() -> int:
    """Prints a line of JSON for each; the exit code says whether one missed its goal."""
    with tempfile.TemporaryDirectory() as folder, served_demo(Path(folder), prepare=mount_rows) as served:
        served.app.state.statements = _rows_of(served)
        path = f"/api/v1/checklists/{served.first.job_id}"
        ask = served.client.ask
        assert ask("GET", path)[0] == ask("GET", "/api/v1/bench/rows")[0] == 200
        kept = compare(
            "checklist of the demo, whole GET",
            lambda: ask("GET", path),
            lambda: ask("GET", "/api/v1/bench/rows"),
            goal=6,
            runs=10,
        )
        order, floor = _order(served)
        kept &= compare("order of the demo's checklist", order, floor, goal=6)
    return int(not kept)


if __name__ == "__main__":
    sys.exit(main())
