"""The checklist of a category with nothing stored: one part at a place, and the facts that are given."""

from collections.abc import Collection, Mapping
from dataclasses import replace
from datetime import UTC, datetime
from uuid import UUID

from service.domain.bicycle import Bicycle, BuildFacts, Origin, Part, Placed, SpecFact, StartedJob
from service.domain.checklist import draw_up_around
from service.domain.ends import WORKS, end_in
from service.domain.facts import category_of, check_fact, field_of
from service.domain.joins import with_joins
from service.domain.order import WHOLE, places_of
from service.domain.places import Surroundings
from service.domain.procedure import Category, Job, Library
from service.domain.steps import Checklist
from service.errors import Refusal

Given = float | str
_JOB = UUID(int=1)
_BUILD = UUID(int=2)
_OWN = UUID(int=3)
_NEVER = datetime(2000, 1, 1, tzinfo=UTC)
ORIGINS: tuple[Origin, ...] = ("new", "second-hand", "owned", "came fitted")


def draw_up_for_category(
    library: Library, category: str, job: Job, place: str | None, facts: Mapping[str, Given]
) -> Checklist:
    """The steps of one category for a job at a place; `facts` are its specs, and "category.spec" of other parts.

    "host.spec" is what the part is fitted to, "origin" where it comes from. What is not given is not known: steps that
    hang on it are shown as undecided. Raises Refusal for a category, place or fact that does not exist.
    """
    known = category_of(library, category)
    where = _place(known, place, library)
    own, others = _sorted_out(facts, known, where, library)
    origin = _origin(facts)
    mine = _placed(_OWN, known.category, where, own, library)
    parts = [replace(mine, part=replace(mine.part, origin=origin))]
    parts += [
        _placed(UUID(int=10 + number), name, where, given, library)
        for number, (name, given) in enumerate(sorted(others.items()))
    ]
    build = BuildFacts(_BUILD, "", "planned", "", False, None, None, None, 0, 0)
    alone = _without_steps_of({WHOLE, *others}, library)
    around = with_joins(Surroundings(tuple(parts), None, alone, job, all_there=False))
    bicycle = Bicycle(build, {placed.part.id: placed.part for placed in parts}, tuple(parts))
    asked = StartedJob(_JOB, job, _OWN, None, _NEVER, None)
    return draw_up_around(around, bicycle, asked, now=_NEVER, today=_NEVER.date())


def _without_steps_of(names: Collection[str], library: Library) -> Library:
    kept = {
        name: replace(category, steps=(), used=()) if name in names else category
        for name, category in library.categories.items()
    }
    program = library.program and _without_steps_of(names, library.program)
    return replace(library, categories=kept, program=program)


def _place(category: Category, place: str | None, library: Library) -> str:
    places = places_of(category.category, library.categories)
    if place is None:
        return places[0]
    if place not in places:
        right = ", ".join(each for each in places if each) or "no place at all: leave it out"
        raise Refusal(f"{category.title} has no place {place}; it has {right}.", errors=[("/place", right)])
    return place


def _origin(facts: Mapping[str, Given]) -> Origin:
    given = facts.get("origin", "new")
    for origin in ORIGINS:
        if given == origin:
            return origin
    right = ", ".join(ORIGINS)
    raise Refusal(f"There is no origin {given}; there are {right}.", errors=[("/origin", right)])


def _sorted_out(
    facts: Mapping[str, Given], category: Category, place: str, library: Library
) -> tuple[dict[str, Given], dict[str, dict[str, Given]]]:
    own: dict[str, Given] = {}
    others: dict[str, dict[str, Given]] = {}
    for name, given in facts.items():
        other, dot, key = name.rpartition(".")
        if name == "origin":
            continue
        if not dot:
            own[key] = given
            continue
        others.setdefault(_host(category, place) if other == "host" else other, {})[key] = given
    if category.category in others:
        own |= others.pop(category.category)
    return own, others


def _host(category: Category, place: str) -> str:
    end = end_in(place) or next(iter(WORKS[category.end].names if category.end else ()), "")
    host = category.host.get(end) or category.host.get("")
    inside = next((name for name in category.into if name != "build"), None)
    if host is None and inside is None:
        raise Refusal(
            f"{category.title} sits on the build itself, not in a host.", errors=[("/host", "name the category")]
        )
    return host or inside or ""


def _placed(key: UUID, name: str, place: str, given: Mapping[str, Given], library: Library) -> Placed:
    category_of(library, name)
    specs = {field: (_fact(library, name, field, value),) for field, value in given.items()}
    part = Part(
        id=key, category=name, name=name, tag=None, origin="new", state="in hand", expected_on=None, pieces=1,
        metres_before=None, made_on=None, price_minor=None, price_new_minor=None, mass_claimed_g=None,
        mass_weighed_g=None, version=0, specs=specs,
    )  # fmt: skip
    there = _fitting_place(name, place, library)
    return Placed(part, name, there, there.split(".")[-1], None, key, None, planned=True)


def _fitting_place(name: str, place: str, library: Library) -> str:
    """The place of another part that goes with this one: the same, the same end, or its only one."""
    places = places_of(name, library.categories)
    if place in places:
        return place
    end = end_in(place)
    return next((each for each in places if end and end_in(each) == end), places[0])


def _fact(library: Library, category: str, key: str, given: Given) -> SpecFact:
    field = field_of(library, category, key)
    many = field.kind in ("numbers", "choices")
    check_fact(field, [given], many=many, sure=True)
    number = float(given) if isinstance(given, int | float) else None
    return SpecFact(key, number, None if isinstance(given, int | float) else given, "guessed")
