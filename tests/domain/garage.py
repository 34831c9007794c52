"""Ridden bicycles in a few words for tests: parts fitted on days, rides, readings, events, all at explicit instants."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, time, timedelta
from itertools import count
from typing import Any
from uuid import UUID

from service.domain.bicycle import (
    Bicycle,
    BuildFacts,
    DoneTask,
    Event,
    Fitting,
    OdometerReading,
    Part,
    PutOff,
    Ride,
    ServiceRule,
    SpecFact,
    TorqueFigure,
    WearMeasurement,
)
from service.domain.due import Due, due_of
from service.domain.lists import Factors
from service.domain.procedure import (
    Category,
    Fastening,
    Join,
    Library,
    Limit,
    Span,
    SpecField,
    Task,
    Wear,
)
from service.domain.seats import place_parts

START = date(2026, 1, 1)
BUILD, OTHER = UUID(int=1), UUID(int=2)


def at(day: int, hour: float = 0) -> datetime:
    """An instant so many days after the start."""
    return datetime.combine(START, time(), UTC) + timedelta(days=day, hours=hour)


def number(key: str, **more: Any) -> SpecField:
    """A number field."""
    return SpecField(key=key, title=key.replace("_", " "), kind="number", measure=f"Measure {key}.", **more)


def choice(key: str, *choices: str, kind: Any = "choice", **more: Any) -> SpecField:
    """A field of words."""
    named = {each: each for each in choices}
    return SpecField(key=key, title=key, kind=kind, measure=f"Look at {key}.", choices=named, **more)


def task(key: str, *, first: Span | None = None, every: Span | None = None, **more: Any) -> Task:
    """A task of the weight damage, common practice, unless said otherwise."""
    more.setdefault("weight", "damage")
    more.setdefault("basis", "common practice")
    return Task(key=key, title=key.capitalize(), first=first, every=every, **more)


def category(name: str, **more: Any) -> Category:
    """A category with the fields under test."""
    more.setdefault("into", ("build",))
    return Category(category=name, title=name.replace("-", " ").capitalize(), stage="frame", **more)


def library(*categories: Category, factors: dict[str, Factors] | None = None) -> Library:
    """A library of these categories."""
    return Library(
        categories={each.category: each for each in categories}, milestones={}, stages={}, tools={}, consumables={},
        sources={}, factors=factors or {}, symptoms={}, order={}, digest="test",
    )  # fmt: skip


@dataclass
class Garage:
    """One bicycle and its log, told as it happened."""

    library: Library
    state: str = "in service"
    motor: bool = False
    metres_before: int = 0
    parts: dict[UUID, Part] = field(default_factory=dict)
    fittings: list[Fitting] = field(default_factory=list)
    rides: list[Ride] = field(default_factory=list)
    readings: list[OdometerReading] = field(default_factory=list)
    events: list[Event] = field(default_factory=list)
    measurements: list[WearMeasurement] = field(default_factory=list)
    rules: list[ServiceRule] = field(default_factory=list)
    put_offs: list[PutOff] = field(default_factory=list)
    ids: Any = field(default_factory=lambda: count(100))

    def new_id(self) -> UUID:
        """An id whose last digits differ."""
        one = next(self.ids)
        return UUID(int=one << 64 | one)

    def part(
        self,
        name: str,
        *,
        origin: Any = "new",
        metres_before: int | None = 0,
        figures: Sequence[tuple[str, float | None, float]] = (),
        **specs: Any,
    ) -> UUID:
        """A part in the bin; a spec of None is not entered, a list has several values."""
        part_id = self.new_id()
        facts = {key: _facts(key, value) for key, value in specs.items() if value is not None}
        printed = tuple(TorqueFigure(part_id, key, low, high, _printed(low, high)) for key, low, high in figures)
        self.parts[part_id] = Part(
            id=part_id, category=name, name=f"A {name}", tag=None, origin=origin, state="in hand", expected_on=None,
            pieces=1, metres_before=metres_before, made_on=None, price_minor=None, price_new_minor=None,
            mass_claimed_g=None, mass_weighed_g=None, version=1, specs=facts, torque_figures=printed,
        )  # fmt: skip
        return part_id

    def fit(
        self, part_id: UUID, when: datetime, place: str = "", into: UUID | None = None, build: UUID = BUILD
    ) -> UUID:
        """Fits a part from an instant on."""
        slot = self.parts[part_id].category
        on = build if into is None else None
        fitting = Fitting(self.new_id(), part_id, on, into, slot, place, when, None)
        self.fittings.append(fitting)
        return fitting.id

    def take_off(self, part_id: UUID, when: datetime) -> Fitting:
        """Takes a part off."""
        number = next(i for i, f in enumerate(self.fittings) if f.part_id == part_id and f.to_at is None)
        self.fittings[number] = replace(self.fittings[number], to_at=when)
        return self.fittings[number]

    def swap(self, old: UUID, new: UUID, when: datetime) -> UUID:
        """Another part in the place of one, in one instant."""
        off = self.take_off(old, when)
        return self.fit(new, when, off.place, off.into_part_id, off.build_id or BUILD)

    def ride(self, when: datetime, km: float, conditions: str = "dry", *, build: UUID = BUILD, **more: Any) -> Ride:
        """A ride."""
        ride = Ride(
            self.new_id(), build, when, when.date(), round(km * 1000), more.get("moving_s"), conditions,
            more.get("loaded", False), more.get("descents", False),
        )  # fmt: skip
        self.rides.append(ride)
        return ride

    def reading(self, when: datetime, km: float, *, restarts: bool = False) -> OdometerReading:
        """An odometer reading."""
        reading = OdometerReading(self.new_id(), BUILD, when, when.date(), round(km * 1000), restarts)
        self.readings.append(reading)
        return reading

    def event(
        self, kind: str, when: datetime, *tasks: str, part: UUID | None = None, build: UUID = BUILD,
        found: str | None = None,
    ) -> Event:  # fmt: skip
        """Something done to a part, or to the bicycle where no part is named."""
        on = build if part is None else None
        done = tuple(DoneTask(on, part, each) for each in tasks)
        event = Event(self.new_id(), part, on, kind, found, when, when.date(), False, None, done)
        self.events.append(event)
        return event

    def read(self, part: UUID, dimension: str, when: datetime, low: float, *more: float | None, **at_: Any) -> UUID:
        """A wear reading; a second number (None: beyond the last mark) makes it a bracket."""
        high = more[0] if more else low
        place, tool = at_.get("place", ""), at_.get("tool")
        self.measurements.append(
            WearMeasurement(self.new_id(), part, dimension, place, low, high, tool, when, when.date())
        )
        return self.measurements[-1].id

    def rule(self, name: str, part: UUID | None = None, **limits: Any) -> None:
        """The owner's own limit."""
        given = {"off": False, "metres": None, "days": None, "hours": None, "limit_reading": None, "reason": "mine"}
        build = BUILD if part is None else None
        self.rules.append(ServiceRule(self.new_id(), build, part, name, **(given | limits)))

    def bicycle(self) -> Bicycle:
        """Everything as it stands."""
        facts = BuildFacts(BUILD, "Test", self.state, "mixed", self.motor, None, None, None, self.metres_before, 1)
        roots = [f for f in self.fittings if f.to_at is None and f.build_id != OTHER]
        builds = {ride.build_id for ride in self.rides} | {BUILD}
        return Bicycle(
            build=facts, parts=self.parts, placed=place_parts(self.parts, roots, (), self.library),
            fittings=tuple(self.fittings),
            rides={build: tuple(ride for ride in self.rides if ride.build_id == build) for build in builds},
            odometer_readings={BUILD: tuple(self.readings)}, events=tuple(self.events),
            measurements=tuple(self.measurements), rules=tuple(self.rules), put_offs=tuple(self.put_offs),
        )  # fmt: skip

    def due(self, day: int) -> dict[str, Due]:
        """What is due so many days after the start, by task (and place, where it has one)."""
        now = at(day, 9)
        found = due_of(self.bicycle(), self.library, today=now.date(), now=now)
        return {f"{each.task}@{each.place}" if each.place else each.task: each for each in found}

    def dues(self, day: int) -> tuple[Due, ...]:
        """The same, in order."""
        now = at(day, 9)
        return due_of(self.bicycle(), self.library, today=now.date(), now=now)


def _facts(key: str, value: Any) -> tuple[SpecFact, ...]:
    known = "printed" if isinstance(value, tuple) else "measured"
    values = value if isinstance(value, list | tuple) else [value]
    return tuple(_fact(key, each, known) for each in values)


def _fact(key: str, value: Any, known: Any) -> SpecFact:
    if isinstance(value, bool):
        return SpecFact(key, None, "yes" if value else "no", known)
    return SpecFact(key, None, value, known) if isinstance(value, str) else SpecFact(key, float(value), None, known)


def _printed(low: float | None, high: float) -> str:
    return f"max {high:g} N·m" if low is None else f"{low:g}–{high:g} N·m"


__all__ = [
    "BUILD", "OTHER", "Category", "Factors", "Fastening", "Garage", "Join", "Limit", "Span", "Wear", "at", "category",
    "choice", "library", "number", "task",
]  # fmt: skip
