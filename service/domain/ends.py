"""The place of a part in words: composed through hosts, its end and side, and the roles it fills there."""

from collections.abc import Mapping
from dataclasses import dataclass

from service.domain.bicycle import Part, Placed
from service.domain.procedure import Category, Library

ENDS = ("front", "rear")
SIDES = ("left", "right")
GEAR_ROLES = frozenset({"shifter", "gear-cable", "front-derailleur", "rear-derailleur"})


@dataclass(frozen=True, slots=True)
class Ends:
    """The ends of the bicycle that a part works at; not `known` where they hang on a spec nobody entered."""

    names: frozenset[str] = frozenset()
    known: bool = True


NO_END = Ends()
EITHER_END = Ends(frozenset(ENDS), known=False)
WORKS = {
    "front": Ends(frozenset({"front"})),
    "rear": Ends(frozenset({"rear"})),
    "hub": Ends(frozenset({"rear"})),
    "both": Ends(frozenset(ENDS)),
    "none": NO_END,
}


def compose(host_place: str, own_place: str) -> str:
    """The effective place, outermost word first: "front" and "left" are "front.left"."""
    return ".".join(word for word in (host_place, own_place) if word)


def own_places(category: Category, host: str | None = None) -> tuple[str, ...]:
    """The words that a category knows for its places, on one kind of host ("build" or a category) or on any."""
    if category.places == "joins":
        return ()
    if not isinstance(category.places, Mapping):
        return category.places
    if host is not None:
        return category.places.get(host, ())
    return tuple(dict.fromkeys(place for places in category.places.values() for place in places))


def end_in(place: str) -> str | None:
    """The end that a place names: "front.left" is at the front."""
    return next((word for word in place.split(".") if word in ENDS), None)


def side_in(place: str) -> str | None:
    """The side that a place names, the innermost one: "front.left" is on the left."""
    return next((word for word in reversed(place.split(".")) if word in SIDES), None)


def words_of(part: Part, key: str) -> str | None:
    """The entered words of one spec; None where it is not entered."""
    facts = part.specs.get(key, ())
    return facts[0].words if facts else None


def role_specs(category: Category) -> Mapping[str, str | None]:
    """What a category stands in for, with the spec that says which end each role works at, if one does."""
    if isinstance(category.stands_in_for, Mapping):
        return dict(category.stands_in_for)
    return dict.fromkeys(category.stands_in_for)


def roles_of(part: Part, slot: str, library: Library) -> tuple[str, ...]:
    """Its own category first, then every role it fills; a lever that works no brake is no brake lever."""
    category = library.categories.get(slot)
    if category is None:
        return (slot,)
    filled = [role for role, key in role_specs(category).items() if key is None or words_of(part, key) != "none"]
    return (slot, *filled)


def works_spec(category: Category, role: str) -> str | None:
    """The spec that says which end a category works at in one of its roles (levers and shifters have one)."""
    if role != category.category:
        return role_specs(category).get(role)
    declared = {spec.key for spec in category.specs}
    return next((key for key in ("works_brake", "works_gear") if key in declared), None)


def ends_of(placed: Placed, library: Library, role: str | None = None) -> Ends:
    """The ends of a placed part in one of its roles (its own where none is named)."""
    category = library.categories.get(placed.slot)
    if category is not None:
        spec = works_spec(category, role or placed.slot)
        if spec is not None:
            words = words_of(placed.part, spec)
            return EITHER_END if words is None else WORKS.get(words, EITHER_END)
        if category.end is not None:
            return WORKS[category.end]
    named = end_in(placed.place)
    return NO_END if named is None else WORKS[named]


def gear_word(placed: Placed, library: Library, role: str) -> str | None:
    """Which gears a part of the shifting serves, front or rear; None for other parts and where nobody said."""
    if role not in GEAR_ROLES:
        return None
    category = library.categories.get(placed.slot)
    spec = works_spec(category, role) if category is not None else None
    if spec is None:
        return end_in(placed.place)
    words = words_of(placed.part, spec)
    return "rear" if words == "hub" else words
