"""How one task or wearing dimension stands: the value that is due, its states and their order."""

import re
from dataclasses import dataclass
from datetime import date
from typing import Literal, get_args
from uuid import UUID

from service.domain.procedure import Weight

State = Literal["do not ride", "overdue", "due", "look once", "plan it", "fine", "resting", "switched off"]
STATES: tuple[State, ...] = get_args(State)
WEIGHTS: tuple[Weight, ...] = get_args(Weight)
EVER = date.max


@dataclass(frozen=True, slots=True)
class Due:
    """Where one task, or one wearing dimension, of a part or of the whole bicycle (no `part_id`) stands.

    `task` is "category.key". `metres_left`, `days_left` and `on` (the day it falls due by days) are facts, less than 0
    or past where it is over; None where they do not count. `share` is the used part of the limit, 1 and more is due.
    `cycle` is the id of the row that began this round. A put-off stands beside the state and never changes it.
    `within`: the bundle, "category.key", that is due as well and completes this when it is done.
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
    on: date | None
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

    @property
    def where(self) -> str:
        """Its place in words, unless its title says it already: "front", "rear inner"."""
        said = re.findall(r"\w+", self.title)
        return " ".join(word for word in self.place.split(".") if word and word not in said)

    @property
    def km_left(self) -> float | None:
        """Equivalent kilometres left."""
        return None if self.metres_left is None else self.metres_left / 1000

    @property
    def has_job(self) -> bool:
        """Can a job be started for it?"""
        return bool(self.steps)

    @property
    def rank(self) -> tuple[int, int, date, float, str, str, str]:
        """State, weight, day (none comes last), share used, name: no two items are alike in all of them."""
        name = (self.title, self.place, f"{self.part_id or ''} {self.task}")
        return STATES.index(self.state), WEIGHTS.index(self.weight), self.on or EVER, -self.share, *name
