"""What a ride asks for once it is over: only what was ticked about it, only of parts that are on the bicycle."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from uuid import UUID

from service.domain.bicycle import Ride
from service.domain.procedure import Library, Task
from service.domain.standing import Due

WET = "wet"
GRITTY = "gritty"
PADS = ("brake-pads.look", "brake-pads.look-blocks")
TRACKS = ("rotor.thickness-look", "rim.track")
ASKS: Mapping[str, tuple[str, ...]] = {"wet": (WET,), "gritty": (WET, GRITTY), "salted": (WET,)}
"""What each condition asks for; on dry and dusty ground, on a roller and on a trainer nothing is asked."""
WHY = {
    "wet": "Dry and oil it before the next ride; wipe rims and rotors.",
    "gritty": "Rinse the grit off, dry and oil; wipe rims and rotors.",
    "salted": "Wash the salt off the same day, then dry and oil.",
}
WHY_PADS = "A wet, gritty day can take 1.5 mm of lining."
WHY_BRAKED = "Loaded, or long braking: it wears and heats. Let it cool, then look and feel."
WHOLE = "whole-bicycle"
KINDS = ("lubricated", "inspected")
"""What is logged by one tap, where the task is done so: the first of these."""


@dataclass(frozen=True, slots=True)
class Ask:
    """One thing to do after a ride: a task, "category.key", of a part or of the whole bicycle (no `part_id`).

    `kind`: what is logged when it is done.
    """

    part_id: UUID | None
    task: str
    title: str
    where: str
    why: str
    kind: str


def asks_after(ride: Ride, dues: Iterable[Due], library: Library) -> tuple[Ask, ...]:
    """What this ride asks for, of all that stands on the bicycle; nothing after a dry ride without load and descents.

    What was done since the ride, or is switched off, is not asked for.
    """
    wanted = _wanted(ride, library)
    asked = {
        (due.task, due.part_id, due.where): _ask(due, wanted[due.task])
        for due in dues
        if due.task in wanted and due.state != "switched off" and (due.last is None or due.last < ride.day)
    }
    return tuple(sorted(asked.values(), key=lambda ask: (list(wanted).index(ask.task), ask.where)))


def _wanted(ride: Ride, library: Library) -> dict[str, str]:
    """The tasks asked for, in order, each with why."""
    words = ASKS.get(ride.conditions, ())
    wanted: dict[str, str] = {}
    if WET in words:
        wanted |= {f"{WHOLE}.{task.key}": WHY[ride.conditions] for task in _tasks(library, WHOLE) if WET in task.after}
    if GRITTY in words:
        wanted |= dict.fromkeys(PADS, WHY_PADS)
    outdoors = ride.conditions not in ("roller", "indoor")
    if outdoors and (ride.loaded or ride.descents):
        wanted = dict.fromkeys((*PADS, *TRACKS), WHY_BRAKED) | wanted
    return wanted


def _tasks(library: Library, owner: str) -> tuple[Task, ...]:
    category = library.categories.get(owner)
    return category.tasks if category is not None else ()


def _ask(due: Due, why: str) -> Ask:
    kind = next((kind for kind in KINDS if kind in due.done_by), due.done_by[0] if due.done_by else "inspected")
    return Ask(due.part_id, due.task, due.title, due.where, why, kind)
