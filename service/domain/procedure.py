"""The values that the trade's knowledge is made of: categories, specs, joins, fastenings, steps, tasks, wear."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

from service.domain.basis import Basis, Strict
from service.domain.lists import Factors, Milestone, Source, Stage, Stuff, Tool
from service.domain.symptom import Symptom

When = Mapping[str, Any]
"""A condition as it stands in the file; `domain/condition.py` answers it with yes, no or not known."""

Job = Literal["assemble", "replace", "service", "strip", "check"]
Weight = Literal["safety", "damage", "comfort"]
Grade = Literal["draft", "complete", "read through"]
SpecKind = Literal["number", "choice", "yes-no", "label", "day", "numbers", "choices"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SpecField(Strict):
    """A fact of a part that decides what it meets; a number's unit is the end of its key.

    `at_most` names another number of the same part that this one cannot exceed; `until_measured` the number that joins
    take for it until it is entered, `marked_within` how far apart the two may be. `basis`: of its sizes; where it has
    none, of its low and high; of a choice, of the figures in its words.
    """

    key: str
    title: str
    kind: SpecKind
    measure: str
    choices: Mapping[str, str] = field(default_factory=dict)
    low: float | None = None
    high: float | None = None
    nominal: tuple[float, ...] = ()
    snap: float | None = None
    sizes: tuple[tuple[float, float, float], ...] = ()
    give: float = 0.1
    at_most: str | None = None
    until_measured: str | None = None
    marked_within: float = 0.0
    decided: bool = False
    basis: Basis | None = None
    source: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Fastening(Strict):
    """Where something is tightened between two parts: a range in N·m, or by feel.

    `over_ceiling` says why a figure above what a bolt of this thread is reckoned to take stands all the same.
    `audit`: does a torque audit go over it once more? Left out: where there is a figure.
    """

    key: str
    title: str
    between: tuple[str, ...]
    count: int = 1
    thread: str | None = None
    when: When = field(default_factory=dict)
    low_nm: float | None = None
    high_nm: float | None = None
    feel: str | None = None
    as_printed: str | None = None
    dressing: str | None = None
    left_hand: bool = False
    over_ceiling: str | None = None
    audit: bool | None = None
    basis: Basis
    source: str | None = None
    note: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CareCase(Strict):
    """One alternative of a join that works with care, under its own key."""

    key: str
    say: str
    tests: tuple[When, ...] = ()
    any: tuple[tuple[When, ...], ...] = ()
    bridged_by: str | None = None
    even_if_meets: bool = False
    basis: Basis | None = None
    source: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Join(Strict):
    """Where two or more parts meet, and how to tell whether they do."""

    key: str
    title: str
    with_: tuple[str, ...] = ()
    when: When = field(default_factory=dict)
    meets_if: tuple[When, ...] = ()
    care_if: tuple[CareCase, ...] = ()
    say: str
    acceptable: bool = False
    accepting_adds: str | None = None
    by: str | None = None
    inputs: tuple[str, ...] = ()
    care_keys: tuple[str, ...] = ()
    once_per: Literal["place", "end", "bicycle"] = "place"
    basis: Basis
    source: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Consumable(Strict):
    """An amount of something that is used up; never stock."""

    what: str
    amount: float
    unit: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SmallPart(Strict):
    """What must be bought with a part; `carried` on a tour as well, or only then."""

    what: str
    amount: float = 1
    unit: str = "piece"
    when: When = field(default_factory=dict)
    carried: Literal["also", "only"] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Record(Strict):
    """What a step asks to write down: a check, a spec, a wear reading, a mass or a set-up figure."""

    into: str
    title: str
    low: float | None = None
    high: float | None = None
    otherwise: str | None = None
    choices: Mapping[str, str] = field(default_factory=dict)
    text: bool = False
    basis: Basis | None = None
    source: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Need(Strict):
    """A milestone that only parts of the named categories must have reached."""

    milestone: str
    of: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Step(Strict):
    """One action at the stand; `minutes` is hands-on, `waits_minutes` is what must cure or rest after it."""

    key: str
    title: str
    text: str
    stage: str | None = None
    jobs: tuple[Job, ...] = ("assemble", "replace")
    when: When = field(default_factory=dict)
    one_of: str | None = None
    for_each: Literal["part"] | None = None
    about: Literal["fitting", "part"] = "fitting"
    after: tuple[str, ...] | None = None
    needs: tuple[str | Need, ...] = ()
    gives: tuple[str, ...] = ()
    fits: bool | tuple[str, ...] = False
    works_on: tuple[str, ...] = ()
    touches: tuple[str, ...] = ()
    cuts: bool = False
    where: Literal["home", "shop", "anywhere"] = "home"
    home_with: tuple[str, ...] = ()
    tools: tuple[str, ...] = ()
    consumables: tuple[Consumable, ...] = ()
    fastenings: tuple[str, ...] | Literal["all"] = ()
    records: tuple[Record, ...] | Literal["all-wear"] = ()
    cautions: tuple[str, ...] = ()
    reject: str | None = None
    minutes: int
    waits_minutes: int = 0
    safety: bool = False
    basis: Basis | None = None
    source: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Span(Strict):
    """Whichever comes first: kilometres, days, hours, days in the wet, parts used up, a share of the forecast."""

    km: float | None = None
    days: int | None = None
    hours: float | None = None
    wet_days: int | None = None
    parts: int | None = None
    parts_of: str | None = None
    share_of_forecast: float | None = None
    least_km: float | None = None
    overdue_km: float | None = None
    overdue_days: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Task(Strict):
    """What must be done again, first and every, and what starts it afresh."""

    key: str
    title: str
    say: str | None = None
    first: Span | None = None
    every: Span | None = None
    after: tuple[str, ...] = ()
    season: str | None = None
    factors: str | None = None
    when: When = field(default_factory=dict)
    in_bin: bool = False
    steps: tuple[str, ...] = ()
    done_by: tuple[str, ...] = ()
    restarts: tuple[str, ...] = ()
    weight: Weight
    needs_shop: bool = False
    basis: Basis
    source: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Rate(Strict):
    """How fast a dimension wears in dry, ordinary care; spread is relative."""

    end: Literal["front", "rear"] | None = None
    when: When = field(default_factory=dict)
    per_1000_km: float | None = None
    per_30_days: float | None = None
    spread: float
    basis: Basis
    source: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit(Strict):
    """Where a dimension asks for an action; the first known of an action governs."""

    action: Literal["replace", "stop", "look"]
    value: float | None = None
    spec: str | None = None
    of_new: float | None = None
    of_first_reading: float | None = None
    when: When = field(default_factory=dict)
    basis: Basis
    source: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Wear(Strict):
    """One wearing dimension of a part; its unit is the end of its key.

    `in_hand`: it is read only with the part off, so the first reading of a whole bicycle leaves it out.
    `same_as`: the dimension of this category that is the same wear read by another tool; one of them is followed.
    """

    key: str
    title: str
    scale: Literal["amount", "grade", "pass"] = "amount"
    places: tuple[str, ...] = ()
    direction: Literal["grows", "shrinks"]
    new: float | Mapping[str, str] | None = None
    new_spread: float | None = None
    reading_error: Mapping[str, float] = field(default_factory=dict)
    running_in_km: float = 0
    measure: str
    in_hand: bool = False
    same_as: str | None = None
    rates: tuple[Rate, ...] = ()
    factors: str | None = None
    limits: tuple[Limit, ...]
    when: When = field(default_factory=dict)
    weight: Weight = "damage"
    basis: Basis | None = None
    source: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Category(Strict):
    """Everything the trade knows of one kind of part.

    `grade` says how far the file is: complete = every list is filled, or named in `exempt` with the reason;
    read through = the checklists made from it were read start to end as a mechanic would.
    """

    category: str
    title: str
    deprecated: str | None = None
    grade: Grade = "draft"
    exempt: Mapping[str, str] = field(default_factory=dict)
    into: tuple[str, ...] = ()
    places: tuple[str, ...] | Mapping[str, tuple[str, ...]] | Literal["joins"] = ()
    end: Literal["front", "rear", "none"] | None = None
    host: Mapping[str, str] = field(default_factory=dict)
    each: Literal["whole", "step"] = "whole"
    stage: str
    wanted: When | Literal["always"] | None = None
    wanted_because: str | None = None
    disturbs: tuple[str, ...] = ()
    stands_in_for: tuple[str, ...] | Mapping[str, str] = ()
    takes: tuple[str, ...] = ()
    small_parts: tuple[SmallPart, ...] = ()
    specs: tuple[SpecField, ...] = ()
    fastenings: tuple[Fastening, ...] = ()
    joins: tuple[Join, ...] = ()
    used: tuple[Step, ...] = ()
    steps: tuple[Step, ...] = ()
    tasks: tuple[Task, ...] = ()
    wear: tuple[Wear, ...] = ()


@dataclass(frozen=True, slots=True)
class Library:
    """The whole of what the service knows of the trade; `order` is the reference order of all steps.

    `order` maps (category, step key, place) to its rank; `digest` names this state of the files;
    `own_figures` names values that come from a person's own folder, as "category.kind.key"; where that folder changes
    what the program has, `program` is the library without it.
    """

    categories: Mapping[str, Category]
    milestones: Mapping[str, Milestone]
    stages: Mapping[str, Stage]
    tools: Mapping[str, Tool]
    consumables: Mapping[str, Stuff]
    sources: Mapping[str, Source]
    factors: Mapping[str, Factors]
    symptoms: Mapping[str, Symptom]
    order: Mapping[tuple[str, str, str], int]
    digest: str
    own_figures: frozenset[str] = frozenset()
    program: "Library | None" = None
