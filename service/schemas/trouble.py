"""Trouble as it is shown: symptoms, their causes in order, and what each is begun with."""

from typing import Literal
from uuid import UUID

from pydantic import Field

from service.domain.symptom import Ride
from service.domain.trouble import Spot, Tried, Trouble, concerns
from service.schemas.fields import Shown


class SpotShown(Shown):
    """A part of the build that a cause may sit in."""

    part: UUID | None = Field(description="The part; null for the bicycle as a whole.")
    name: str = Field(description="What it is called.")
    place: str = Field(description="Its place, such as front or front.left.")
    starts_job: bool = Field(description="POST /builds/{id}/checklists with the task and this part starts the job.")


class StartShown(Shown):
    """What a cause is begun with."""

    kind: Literal["task", "step", "event"] = Field(
        description="A task to do, a step to follow, or nothing but what was found, to be logged as an event."
    )
    id: str | None = Field(description="The task or step as category.key; null for an event.")
    title: str = Field(description="What it is called.")
    on: list[SpotShown] = Field(description="The parts of the build it is done on; empty without a build.")


class CauseShown(Shown):
    """One cause with the check that tells it apart from the others."""

    say: str = Field(description="The cause.")
    check: str = Field(description="What tells it apart.")
    ride: Ride = Field(description="What may be done until it is put right.")
    start: StartShown = Field(description="What to begin with.")
    absent: str | None = Field(description="Why it comes last: its part is not entered on this build; else null.")


class SymptomShown(Shown):
    """What is heard, felt or seen, with its causes in the order to try them."""

    id: str = Field(description="Its key in the library.")
    title: str = Field(description="What is heard, felt or seen.")
    stages: list[str] = Field(description="When it turns up.")
    categories: list[str] = Field(description="What it concerns: the categories its causes are begun at.")
    ride: Ride = Field(description="Until the cause is known: the hardest that any of its causes asks for.")
    causes: list[CauseShown] = Field(
        description="Likely and cheap first; what is not entered on this build comes last."
    )


class TroublePage(Shown):
    """All symptoms that were asked for."""

    items: list[SymptomShown] = Field(description="In the library's order.")
    next: None = Field(description="Always null: all of them are here.")


def show_trouble(found: Trouble) -> SymptomShown:
    """A symptom as it is shown."""
    symptom = found.symptom
    return SymptomShown(
        id=symptom.key,
        title=symptom.title,
        stages=list(symptom.stage),
        categories=sorted(concerns(symptom)),
        ride=found.ride,
        causes=[_cause(each) for each in found.causes],
    )


def _cause(tried: Tried) -> CauseShown:
    start = StartShown(
        kind=tried.start.kind, id=tried.start.id, title=tried.start.title, on=[_spot(each) for each in tried.spots]
    )
    cause = tried.cause
    return CauseShown(say=cause.say, check=cause.check, ride=cause.ride, start=start, absent=tried.absent)


def _spot(spot: Spot) -> SpotShown:
    return SpotShown(part=spot.part_id, name=spot.name, place=spot.place, starts_job=spot.has_job)
