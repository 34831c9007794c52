"""The one value that everything is computed from: a build, all it carries and its log, as loaded at one instant."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Literal, NamedTuple
from uuid import UUID

PartState = Literal["planned", "ordered", "in hand", "gone"]
Origin = Literal["new", "second-hand", "owned", "came fitted"]
KnownBy = Literal["measured", "printed", "maker", "guessed"]


@dataclass(frozen=True, slots=True)
class SpecFact:
    """One entered fact: a number in the unit of its field, or words (yes-no is "yes", "no")."""

    field: str
    number: float | None
    words: str | None
    known_by: KnownBy
    note: str = ""


@dataclass(frozen=True, slots=True)
class TorqueFigure:
    """The maker's figure for one fastening, "category.key", in N·m; no low where only a maximum is printed."""

    part_id: UUID
    fastening: str
    low_nm: float | None
    high_nm: float
    as_printed: str
    dressing: str | None = None


@dataclass(frozen=True, slots=True)
class Part:
    """One physical thing with its facts; `metres_before` is None where its former life is not known."""

    id: UUID
    category: str
    name: str
    tag: str | None
    origin: Origin
    state: PartState
    expected_on: date | None
    pieces: int
    metres_before: int | None
    made_on: date | None
    price_minor: int | None
    price_new_minor: int | None
    mass_claimed_g: float | None
    mass_weighed_g: float | None
    version: int
    note: str = ""
    gone_on: date | None = None
    specs: Mapping[str, tuple[SpecFact, ...]] = field(default_factory=dict)
    torque_figures: tuple[TorqueFigure, ...] = ()


@dataclass(frozen=True, slots=True)
class Fitting:
    """A part on a build or in another part, from one instant to another (half open)."""

    id: UUID
    part_id: UUID
    build_id: UUID | None
    into_part_id: UUID | None
    slot: str
    place: str
    from_at: datetime
    to_at: datetime | None
    why_removed: str | None = None


@dataclass(frozen=True, slots=True)
class PlanRow:
    """A candidate for a place; the fitting made from it takes its id."""

    id: UUID
    part_id: UUID
    into_part_id: UUID | None
    slot: str
    place: str
    chosen: bool
    note: str = ""


@dataclass(frozen=True, slots=True)
class Placed:
    """A part where it is now, or where the chosen plan row will put it: its own place composed with its hosts'.

    `place` is the effective place ("front.left"), `own_place` its word on its host; `fitting_id` is the id of the
    fitting or of the plan row; `planned` where nothing is fitted yet.
    """

    part: Part
    slot: str
    place: str
    own_place: str
    host_id: UUID | None
    fitting_id: UUID
    from_at: datetime | None
    planned: bool


class Ride(NamedTuple):
    """A distance in whole metres, counted whole for what was fitted when it began.

    A tuple, where all other values are dataclasses: one answer makes a thousand of these, in a third of the time.
    """

    id: UUID
    build_id: UUID
    started_at: datetime
    day: date
    metres: int
    moving_s: int | None
    conditions: str
    loaded: bool
    descents: bool


@dataclass(frozen=True, slots=True)
class OdometerReading:
    """What the instrument showed, in whole metres; `restarts` where nothing before it is known."""

    id: UUID
    build_id: UUID
    at: datetime
    day: date
    metres: int
    restarts: bool


@dataclass(frozen=True, slots=True)
class DoneTask:
    """A task that an event completes, on the build or on one part: "category.key"."""

    build_id: UUID | None
    part_id: UUID | None
    task: str


@dataclass(frozen=True, slots=True)
class Event:
    """Something done or found."""

    id: UUID
    part_id: UUID | None
    build_id: UUID | None
    kind: str
    found: str | None
    at: datetime
    day: date
    by_shop: bool
    checklist_id: UUID | None
    tasks: tuple[DoneTask, ...] = ()
    note: str = ""


@dataclass(frozen=True, slots=True)
class WearMeasurement:
    """A reading, exact (low = high) or between two marks of a gauge; no high: beyond the last mark."""

    id: UUID
    part_id: UUID
    dimension: str
    place: str
    low: float
    high: float | None
    tool: str | None
    at: datetime
    day: date


@dataclass(frozen=True, slots=True)
class ServiceRule:
    """The owner's own limit for a task, or its switching off with a reason."""

    id: UUID
    build_id: UUID | None
    part_id: UUID | None
    task: str
    off: bool
    metres: int | None
    days: int | None
    hours: float | None
    limit_reading: float | None
    reason: str


@dataclass(frozen=True, slots=True)
class PutOff:
    """A task put off until a day or a distance; stands beside a state, never instead of it."""

    build_id: UUID | None
    part_id: UUID | None
    task: str
    until_on: date | None
    until_metres: int | None
    reason: str


@dataclass(frozen=True, slots=True)
class Acceptance:
    """A finding that somebody accepted with a reason, for exactly these fittings and facts."""

    join: str
    fingerprint: str
    finding: str
    reason: str
    at: datetime


@dataclass(frozen=True, slots=True)
class BuildFacts:
    """The build's own row."""

    id: UUID
    name: str
    state: str
    use: str
    motor: bool
    rider_mass_g: int | None
    load_g: int | None
    front_brake_hand: str | None
    metres_before: int
    version: int
    note: str = ""
    mass_weighed_g: int | None = None
    compare_price_minor: int | None = None


@dataclass(frozen=True, slots=True)
class Wrench:
    """A torque wrench of the workshop: range in N·m, tolerance in percent."""

    id: UUID
    title: str
    low_nm: float
    high_nm: float
    tolerance_percent: float
    checked_on: date | None


@dataclass(frozen=True, slots=True)
class Bench:
    """What the workshop owns: tools as "id" or "id:size", torque wrenches."""

    tools: frozenset[str] = frozenset()
    wrenches: tuple[Wrench, ...] = ()


@dataclass(frozen=True, slots=True)
class Bicycle:
    """A build with its present parts, its plan, and the whole past that decides distance and what is due.

    `parts`: every part that is placed now, is planned, or hosted a placed part in the past.
    `placed`: present fittings and chosen plan rows of unfilled places, hosts before what sits in them.
    `fittings`: all fittings, past and present, of the parts placed now and of their past hosts, and all that ever were
    on this build or in its placed parts (so that swaps are seen).
    `rides`, `odometer_readings`: of this build and of every build those fittings name, in time order.
    """

    build: BuildFacts
    parts: Mapping[UUID, Part]
    placed: tuple[Placed, ...]
    plan: tuple[PlanRow, ...] = ()
    fittings: tuple[Fitting, ...] = ()
    rides: Mapping[UUID, tuple[Ride, ...]] = field(default_factory=dict)
    odometer_readings: Mapping[UUID, tuple[OdometerReading, ...]] = field(default_factory=dict)
    metres_before: Mapping[UUID, int] = field(default_factory=dict)
    events: tuple[Event, ...] = ()
    measurements: tuple[WearMeasurement, ...] = ()
    rules: tuple[ServiceRule, ...] = ()
    put_offs: tuple[PutOff, ...] = ()
    acceptances: tuple[Acceptance, ...] = ()
    bench: Bench = Bench()


@dataclass(frozen=True, slots=True)
class Mark:
    """A tick or a skip of one step for exactly these parts; `step_hash` says which wording was ticked."""

    step_id: str
    fingerprint: str
    state: Literal["done", "skipped"]
    at: datetime
    by_id: UUID | None
    step_hash: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class StepRecord:
    """What a step asked to write down, under its name."""

    step_id: str
    fingerprint: str
    key: str
    number: float | None
    words: str | None


@dataclass(frozen=True, slots=True)
class TorqueReading:
    """A torque that was used at one bolt, N·m, and with which wrench."""

    step_id: str
    fingerprint: str
    fastening: str
    bolt: int
    nm: float
    wrench_id: UUID | None


@dataclass(frozen=True, slots=True)
class StartedJob:
    """A checklist as stored: a started job with its marks."""

    id: UUID
    job: Literal["assemble", "replace", "service", "strip", "check"]
    about_part_id: UUID | None
    task: str | None
    started_at: datetime
    finished_at: datetime | None
    marks: tuple[Mark, ...] = ()
    records: tuple[StepRecord, ...] = ()
    torque_readings: tuple[TorqueReading, ...] = ()
