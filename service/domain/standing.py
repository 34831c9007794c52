"""How one task or wearing dimension stands: the value that is due, its states and their order."""

import re
from dataclasses import dataclass, field
from datetime import date
from typing import Literal, get_args
from uuid import UUID

from service.domain.ahead import Ahead
from service.domain.between import Between
from service.domain.procedure import Weight

__all__ = ["QUIET", "STATES", "WEIGHTS", "Between", "Due", "State"]

State = Literal["do not ride", "overdue", "due", "look once", "plan it", "fine", "resting", "switched off"]
STATES: tuple[State, ...] = get_args(State)
WEIGHTS: tuple[Weight, ...] = get_args(Weight)
QUIET: tuple[State, ...] = ("fine", "resting", "switched off")
"""States that ask for nothing now."""
EVER = date.max


@dataclass(frozen=True, slots=True)
class Due:
    """Where one task, or one wearing dimension, of a part or of the whole bicycle (no `part_id`) stands.

    `task` is "category.key". `metres_left` (equivalent) and `days_left` are facts of an interval, less than 0 where it
    is over; None where they do not count. `km_left` (kilometres as ridden lately) and `on` are when it will fall due,
    for wear with a range; `refused` says why there is none. `chance`: of being past the limit to replace on by now.
    `share` is the used part of the limit, 1 and more is due.
    `cycle` is the id of the row that began this round. A put-off stands beside the state and never changes it.
    `within`: the bundle, "category.key", that is due as well and completes this when it is done.
    `ahead` is what a longer look ahead, such as that before a tour, goes by.
    """

    build_id: UUID
    part_id: UUID | None
    part_name: str | None
    task: str
    title: str
    place: str
    state: State
    weight: Weight
    metres_left: int | None
    days_left: int | None
    on: Between[date] | None
    share: float
    why: str
    last: date | None
    cycle: str
    put_off: str | None
    done_by: tuple[str, ...]
    steps: tuple[str, ...]
    by_wear: bool
    needs_shop: bool
    within: str | None = None
    km_left: Between[float] | None = None
    chance: float | None = None
    refused: str | None = None
    ahead: Ahead | None = field(default=None, compare=False, repr=False)

    @property
    def where(self) -> str:
        """Its place in words, unless its title says it already: "front", "rear inner"."""
        said = re.findall(r"\w+", self.title)
        return " ".join(word for word in self.place.split(".") if word and word not in said)

    @property
    def day(self) -> date | None:
        """The day to go by: the early one where safety is at stake, else the middle one."""
        if self.on is None:
            return None
        return self.on.early if self.weight == "safety" else self.on.middle

    @property
    def has_job(self) -> bool:
        """Can a job be started for it?"""
        return bool(self.steps)

    @property
    def rank(self) -> tuple[int, int, date, float, str, str, str]:
        """State, weight, day (none comes last), share used, name: no two items are alike in all of them."""
        name = (self.title, self.place, f"{self.part_id or ''} {self.task}")
        return STATES.index(self.state), WEIGHTS.index(self.weight), self.day or EVER, -self.share, *name
