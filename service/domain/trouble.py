"""Trouble: which symptoms concern what, and where on a bicycle each cause is begun."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal, NamedTuple
from uuid import UUID

from service.domain.places import Surroundings
from service.domain.procedure import Library
from service.domain.symptom import Cause, Ride, Symptom

WHOLE = "whole-bicycle"
_UNSAID = re.compile(r",?\s*\{\w+\}")
RIDES: tuple[Ride, ...] = ("do not ride", "ride home gently", "ride")
"""From the hardest to the mildest."""


class Start(NamedTuple):
    """What a cause is begun with: a task that can be a job, a step to follow, or what was found, to be written down."""

    kind: Literal["task", "step", "event"]
    id: str | None
    category: str | None
    title: str
    has_job: bool


class Spot(NamedTuple):
    """A part of this bicycle that a cause may sit in; no part for the bicycle as a whole.

    `has_job`: the start can be begun as a job about this part.
    """

    part_id: UUID | None
    name: str
    category: str | None
    place: str
    has_job: bool


@dataclass(frozen=True, slots=True)
class Tried:
    """A cause with what it is begun with and where; `absent` says that its part is not entered on this bicycle."""

    cause: Cause
    start: Start
    spots: tuple[Spot, ...] = ()
    absent: str | None = None


@dataclass(frozen=True, slots=True)
class Trouble:
    """A symptom with its causes in the order to try them; `ride` is the hardest that any of them asks for."""

    symptom: Symptom
    ride: Ride
    causes: tuple[Tried, ...]


def concerns(symptom: Symptom) -> frozenset[str]:
    """The categories it concerns: those that the starts of its causes belong to."""
    return frozenset(begin.partition(".")[0] for cause in symptom.causes for begin in cause.starts)


def find_symptoms(library: Library, *, stage: str | None = None, categories: Iterable[str] = ()) -> list[Symptom]:
    """The symptoms of a stage that concern any of these categories, in the library's order; all where none is named."""
    wanted = frozenset(categories)
    return [
        symptom
        for symptom in library.symptoms.values()
        if (stage is None or stage in symptom.stage) and (not wanted or wanted & concerns(symptom))
    ]


def stages_of(library: Library) -> tuple[str, ...]:
    """The stages that symptoms belong to, in the library's order."""
    return tuple(dict.fromkeys(stage for symptom in library.symptoms.values() for stage in symptom.stage))


def trouble_of(symptom: Symptom, library: Library, around: Surroundings | None = None) -> Trouble:
    """A symptom with its causes; on a bicycle those whose part is not on it come last, each with the reason.

    They count for whether to ride all the same: what is not entered may well be on the bicycle.
    """
    tried = [_tried(cause, library, around) for cause in symptom.causes]
    ride = min((each.cause.ride for each in tried), key=RIDES.index)
    return Trouble(symptom, ride, tuple(sorted(tried, key=lambda each: each.absent is not None)))


def start_of(cause: Cause, library: Library, around: Surroundings | None = None) -> Start:
    """What a cause is begun with, looked up in the library; on a bicycle the first whose part is on it."""
    if not cause.starts:
        return Start("event", None, None, "Write down what you found", False)
    here = [each for each in cause.starts if around is not None and _is_on(each.partition(".")[0], around)]
    begin = (here or cause.starts)[0]
    owner, _, key = begin.partition(".")
    category = library.categories[owner]
    for task in category.tasks:
        if task.key == key:
            return Start("task", begin, owner, _without_place(task.title), bool(task.steps))
    step = next(each for each in (*category.used, *category.steps) if each.key == key)
    return Start("step", begin, owner, _without_place(step.title), False)


def _is_on(category: str, around: Surroundings) -> bool:
    return any(not each.planned for each in around.by_role.get(category, ()))


def _without_place(title: str) -> str:
    """A title of the library without the place that each part on the bicycle says itself."""
    return " ".join(_UNSAID.sub("", title).split())


def _tried(cause: Cause, library: Library, around: Surroundings | None) -> Tried:
    start = start_of(cause, library, around)
    if around is None:
        return Tried(cause, start)
    if start.category is None or start.category == WHOLE:
        return Tried(cause, start, (Spot(None, "the whole bicycle", None, "", start.has_job),))
    spots = tuple(
        Spot(each.part.id, each.part.name, each.slot, each.place, start.has_job and each.slot == start.category)
        for each in around.by_role.get(start.category, ())
        if not each.planned
    )
    title = library.categories[start.category].title.lower()
    return Tried(cause, start, spots, None if spots else f"Not entered on this bicycle: {title}.")
