"""What the demo writes down between rides: looks at everything that is due, oiling, readings."""

from collections import defaultdict
from uuid import UUID

from service.demo.scene import Scene, log
from service.records import care
from service.records.bicycle import load
from service.schemas.care import EventKind, EventLogged

PRESSING = ("do not ride", "overdue", "due", "look once", "plan it")


def look_over(scene: Scene, build_id: UUID, ago: int, *, leave: frozenset[str] = frozenset()) -> None:
    """Does on one evening what was due by then, but for the tasks left out: one event a part and kind of work."""
    at = scene.at(ago, 19)
    bicycle = load(scene.session, scene.who, build_id, scene.library)
    done: dict[tuple[UUID | None, EventKind], list[str]] = defaultdict(list)
    for due in care.due_now(bicycle, scene.library, scene.who, at):
        if due.state in PRESSING and due.done_by and due.task not in leave:
            done[due.part_id, _kind(due.done_by[0])].append(due.task)
    for (part_id, kind), tasks in done.items():
        subject = {"build": build_id} if part_id is None else {"part": part_id}
        log(scene, EventLogged.model_validate({**subject, "kind": kind, "found": "fine", "at": at, "tasks": tasks}))


def _kind(word: str) -> EventKind:
    kinds: dict[str, EventKind] = {
        each: each
        for each in (
            *("inspected", "adjusted", "tightened", "cleaned", "lubricated", "renewed", "trued", "overhauled"),
            *("repaired",),
        )
    }
    return kinds[word]
