"""What a bicycle still wants: the places that stay empty, and why each should not."""

from collections.abc import Iterator
from dataclasses import dataclass
from uuid import UUID

from service.domain.bicycle import Bicycle, Part, Placed
from service.domain.condition import Answer, judge
from service.domain.ends import ENDS, compose, end_in, own_places
from service.domain.order import WHOLE
from service.domain.places import Surroundings, surroundings
from service.domain.procedure import Category, Library
from service.domain.wording import filled

NOBODY = UUID(int=0)


@dataclass(frozen=True, slots=True)
class Missing:
    """A place where a part of this category is wanted; `into_part_id` where it belongs into another part."""

    slot: str
    place: str
    because: str
    into_part_id: UUID | None = None


def missing_parts(bicycle: Bicycle, library: Library) -> tuple[Missing, ...]:
    """The wanted parts that are neither fitted nor chosen in the plan, in the order of the library's categories.

    A want that hangs on a fact nobody entered is not reported; one that several parts could hold is reported once.
    """
    around = surroundings(bicycle, library)
    return tuple(
        Missing(category.category, empty.place, because, empty.host_id)
        for category in library.categories.values()
        if category.wanted is not None and category.category != WHOLE
        for empty in _empty_places(category, around)
        if (because := _because(category, empty, around)) is not None
    )


def _because(category: Category, empty: Placed, around: Surroundings) -> str | None:
    here = around.here(empty)
    said = filled(category.wanted_because, here) if category.wanted_because else None
    if category.wanted == "always" or category.wanted is None:
        return said or "every bicycle of this kind has one"
    judged = judge(category.wanted, here)
    if judged.answer is not Answer.YES:
        return None
    return said or "; ".join(judged.because) or "the parts that are there ask for it"


def _empty_places(category: Category, around: Surroundings) -> Iterator[Placed]:
    filled_at = {(placed.host_id, placed.own_place) for placed in around.by_role.get(category.category, ())}
    hosts = [(None, "", "build")] if "build" in category.into else []
    hosts_in = [(p.part.id, p.place, p.slot) for p in around.placed if p.slot in category.into]
    places: set[str] = set()  # an axle goes into the build or into its wheel, and either way it is the front one
    for host_id, host_place, kind in [*hosts, *hosts_in]:
        for word in own_places(category, kind) or ("",):
            place = compose(host_place, word)
            if _works_at(category, place) and (host_id, word) not in filled_at and place not in places:
                places.add(place)
                yield _nobody_at(category, host_id, place, word)


def _works_at(category: Category, place: str) -> bool:
    """A category of one end belongs nowhere at the other: no front wheel wants a cassette."""
    return category.end not in ENDS or end_in(place) in (None, category.end)


def _nobody_at(category: Category, host_id: UUID | None, place: str, word: str) -> Placed:
    nobody = Part(
        id=NOBODY, category=category.category, name="", tag=None, origin="new", state="planned", expected_on=None,
        pieces=1, metres_before=0, made_on=None, price_minor=None, price_new_minor=None, mass_claimed_g=None,
        mass_weighed_g=None, version=0,
    )  # fmt: skip
    return Placed(nobody, category.category, place, word, host_id, NOBODY, None, planned=True)
