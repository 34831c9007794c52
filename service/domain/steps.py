"""The values of a checklist: its steps with all that stands on them, the visits to a shop, what to measure and buy."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Literal
from uuid import UUID

from service.domain.procedure import Consumable
from service.domain.torque import TorqueShown

StepState = Literal["open", "done", "skipped"]
WhereDone = Literal["home", "shop", "anywhere"]
Kind = Literal["step", "part", "tool", "fact", "wait", "shop"]


@dataclass(frozen=True, slots=True)
class ToolUse:
    """A tool that is needed; `owned` where the workshop has it on its list."""

    tool: str
    size: str | None
    title: str
    owned: bool


@dataclass(frozen=True, slots=True)
class BlockedBy:
    """One thing that holds a step up: a step before it, a part, a tool, a fact, a wait, a visit to a shop."""

    kind: Kind
    say: str
    step: str | None = None
    part_id: UUID | None = None
    expected_on: date | None = None
    until: datetime | None = None
    tool: str | None = None
    field: str | None = None


@dataclass(frozen=True, slots=True)
class FactAsked:
    """A spec that decides whether a step applies: where it is entered and how it is found out.

    `part_id` is None for a fact of the build, and where the part itself is not known yet.
    """

    part_id: UUID | None
    category: str
    field: str
    title: str
    how: str


@dataclass(frozen=True, slots=True)
class RecordAsked:
    """Something to write down: `key` names it within the step, `number` or `words` is what was written.

    A reading belongs to `part_id` and, where the dimension has places, to its own `place` ("inner").
    """

    key: str
    into: str
    title: str
    low: float | None = None
    high: float | None = None
    otherwise: str | None = None
    choices: Mapping[str, str] = field(default_factory=dict)
    text: bool = False
    part_id: UUID | None = None
    place: str = ""
    basis: str | None = None
    source: str | None = None
    number: float | None = None
    words: str | None = None


@dataclass(frozen=True, slots=True)
class ChecklistStep:
    """One action with its words filled in, what it needs, what it waits for and why it is here.

    `minutes` is hands-on, `waits_minutes` what must rest after it. `undecided` lists the facts that would settle
    whether it applies; it is shown all the same. `fits` are the planned parts that ticking it puts on.
    """

    id: str
    title: str
    text: str
    stage: str
    state: StepState
    reopened: str | None
    marked_at: datetime | None
    mark_note: str
    wording_changed: bool
    fingerprint: str
    category: str
    parts: tuple[UUID, ...]
    place: str
    where: WhereDone
    minutes: int
    waits_minutes: int
    safety: bool
    cuts: bool
    look: bool
    cautions: tuple[str, ...]
    reject: str | None
    tools: tuple[ToolUse, ...]
    consumables: tuple[Consumable, ...]
    torques: tuple[TorqueShown, ...]
    records: tuple[RecordAsked, ...]
    after: tuple[str, ...]
    blocked_by: tuple[BlockedBy, ...]
    because: tuple[str, ...]
    undecided: tuple[FactAsked, ...]
    fits: tuple[UUID, ...]
    step_hash: str
    basis: str | None = None
    source: str | None = None


@dataclass(frozen=True, slots=True)
class MeasureFirst:
    """A fact to find out before starting, with how many steps it decides."""

    fact: FactAsked
    decides: int


@dataclass(frozen=True, slots=True)
class ShopVisit:
    """One visit to a shop: its steps, the parts to bring, and what has to be there or done before it is worth going."""

    visit: int
    steps: tuple[str, ...]
    bring: tuple[UUID, ...]
    ready: bool
    waits_for: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class LongestChain:
    """The longest chain of minutes, waits and arrivals from now to the end, and the steps on it."""

    minutes: int
    steps: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SmallPartToBuy:
    """Something small that a part needs and is rarely in its box; `undecided` where a spec decides whether."""

    what: str
    amount: float
    unit: str
    part_id: UUID
    undecided: bool = False


@dataclass(frozen=True, slots=True)
class Progress:
    """How many steps there are, how many are done, skipped, still open, and of those how many are undecided."""

    total: int
    done: int
    skipped: int
    open: int
    undecided: int


@dataclass(frozen=True, slots=True)
class Checklist:
    """A started job drawn up for these parts today."""

    id: UUID
    job: str
    about_part_id: UUID | None
    task: str | None
    finished_at: datetime | None
    notes: tuple[str, ...]
    steps: tuple[ChecklistStep, ...]
    measure_first: tuple[MeasureFirst, ...]
    minutes_left: int
    longest_chain: LongestChain
    tools: tuple[ToolUse, ...]
    consumables: tuple[Consumable, ...]
    small_parts: tuple[SmallPartToBuy, ...]
    shop_visits: tuple[ShopVisit, ...]
    today: tuple[str, ...]
    needs_mechanic: str | None
    progress: Progress
