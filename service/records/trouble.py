"""Trouble as a workshop asks for it: of a stage, a category or a part, on a build or on none."""

from typing import NamedTuple
from uuid import UUID

from sqlmodel import Session

from service.domain.bicycle import Bicycle
from service.domain.places import Surroundings, surroundings
from service.domain.procedure import Library
from service.domain.trouble import Trouble, find_symptoms, stages_of, trouble_of
from service.errors import NotFound, Refusal
from service.records.bicycle import load
from service.records.parts import get_part
from service.records.people import Who


class Asked(NamedTuple):
    """What trouble is looked for."""

    stage: str | None = None
    category: str | None = None
    part: UUID | None = None
    build: UUID | None = None


def list_trouble(session: Session, who: Who, asked: Asked, library: Library) -> tuple[Bicycle | None, list[Trouble]]:
    """The build that was named, and the symptoms asked for, each with its causes there.

    Raises NotFound for a build or a part of another workshop, Refusal for a stage or a category that does not exist.
    """
    _check(asked, library)
    bicycle = load(session, who, asked.build, library) if asked.build is not None else None
    around = surroundings(bicycle, library) if bicycle is not None else None
    found = find_symptoms(library, stage=asked.stage, categories=_categories(session, who, asked, around))
    return bicycle, [trouble_of(symptom, library, around) for symptom in found]


def get_trouble(
    session: Session, who: Who, key: str, build: UUID | None, library: Library
) -> tuple[Bicycle | None, Trouble]:
    """One symptom, on a build or on none. Raises NotFound."""
    if key not in library.symptoms:
        raise NotFound("symptom", key)
    bicycle = load(session, who, build, library) if build is not None else None
    around = surroundings(bicycle, library) if bicycle is not None else None
    return bicycle, trouble_of(library.symptoms[key], library, around)


def _check(asked: Asked, library: Library) -> None:
    stages = stages_of(library)
    if asked.stage is not None and asked.stage not in stages:
        wanted = ", ".join(stages)
        raise Refusal(f"There is no stage {asked.stage!r}; there are: {wanted}.", errors=[("/stage", wanted)])
    if asked.category is not None and asked.category not in library.categories:
        raise Refusal(
            f"There is no category {asked.category!r}.", errors=[("/category", "should be an id of /categories")]
        )


def _categories(session: Session, who: Who, asked: Asked, around: Surroundings | None) -> set[str]:
    """The categories asked for: a part's own, and on a build what it stands in for there."""
    wanted = {asked.category} if asked.category is not None else set()
    if asked.part is not None:
        wanted.add(get_part(session, who, asked.part).category)
        placed = around.by_part.get(asked.part) if around is not None else None
        if around is not None and placed is not None:
            wanted |= set(around.here(placed).roles)
    return wanted
