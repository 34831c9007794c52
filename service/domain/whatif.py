"""The same bicycle with other parts supposed on it: another value, stored nowhere, and what would come off for it."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from uuid import UUID, uuid5

from service.domain.bicycle import Bicycle, Fitting, Origin, Part, Placed, PlanRow, SpecFact
from service.domain.ends import ENDS, compose, end_in, own_places, roles_of
from service.domain.facts import category_of
from service.domain.places import WHEELS
from service.domain.procedure import Category, Library
from service.domain.seats import check_place, place_parts
from service.errors import Refusal, at_pointer

Seat = tuple[UUID | None, str]
"""What a part sits in (None: on the bicycle itself), and its own word for the place there."""


@dataclass(frozen=True, slots=True)
class Supposed:
    """A part as it would be put on: one that exists nowhere yet, or one that is there already.

    `place` is its whole place on the bicycle ("front.left"), with `into_part_id` its own place in that part; None
    stands for where the part sits that it replaces. `pointer` says where in the question it stands.
    """

    part: Part
    place: str | None = None
    into_part_id: UUID | None = None
    replaces: tuple[UUID, ...] = ()
    pointer: str = ""


@dataclass(frozen=True, slots=True)
class WhatIf:
    """The bicycle as it would be, what would be put on it, and what would come off: present parts at their places."""

    bicycle: Bicycle
    on: tuple[Placed, ...]
    off: tuple[Placed, ...]


def imagined(
    part_id: UUID,
    category: str,
    name: str,
    specs: Iterable[SpecFact] = (),
    *,
    origin: Origin = "new",
    pieces: int = 1,
    price_minor: int | None = None,
    mass_g: float | None = None,
) -> Part:
    """A part that exists nowhere: only planned, its price in minor units, its mass as claimed."""
    facts: dict[str, tuple[SpecFact, ...]] = {}
    for fact in specs:
        facts[fact.field] = (*facts.get(fact.field, ()), fact)
    return Part(
        id=part_id, category=category, name=name, tag=None, origin=origin, state="planned", expected_on=None,
        pieces=pieces, metres_before=0 if origin == "new" else None, made_on=None, price_minor=price_minor,
        price_new_minor=None, mass_claimed_g=mass_g, mass_weighed_g=None, version=0, specs=facts,
    )  # fmt: skip


def suppose(bicycle: Bicycle, wanted: Sequence[Supposed], library: Library) -> WhatIf:
    """The bicycle with these parts on it, each in place of whatever fills its place now.

    What sat in a part that comes off moves into the one that takes its place, where it can; else it comes off too.
    Raises Refusal for a place, a host or a replaced part that is not there, and for two parts at one place.
    """
    board = _Board(bicycle, library)
    named: set[UUID] = set()
    for each in wanted:
        if each.part.id in named:
            say = f"{each.part.name} stands in this question twice; a part is in one place."
            raise Refusal(say, errors=[(f"{each.pointer}/part", "is named twice")])
        named.add(each.part.id)
    for each in sorted(wanted, key=lambda one: one.into_part_id in named):  # hosts first
        with at_pointer(each.pointer):
            board.put(each)
    return board.answer()


def seat_of(category: Category, place: str, placed: Sequence[Placed]) -> Seat | None:
    """Where a part of this category goes at a whole place ("front.left") of this bicycle; None for a wheel to come.

    Raises Refusal for a place that it does not have there, naming what it goes into.
    """
    if "build" in category.into:
        check_place(category, "build", place)
        return None, place
    for host in placed:
        if host.slot in category.into:
            for own in own_places(category, host.slot) or ("",):
                if compose(host.place, own) == place:
                    return host.part.id, own
    if WHEELS & set(category.into) and end_in(place) is not None:
        check_place(category, "wheel", place.partition(".")[2])
        return None
    there = ", ".join(dict.fromkeys(_places_there(category, placed)))
    right = f"one of {there}" if there else f"a place in a {' or '.join(category.into)}, and there is none"
    raise Refusal(f"A {category.title.lower()} has no place {place!r} here: it goes to {right}.", errors=[
        ("/place", f"should be {right}")])  # fmt: skip


def _places_there(category: Category, placed: Sequence[Placed]) -> Iterator[str]:
    for host in placed:
        if host.slot in category.into:
            yield from (compose(host.place, own) for own in own_places(category, host.slot) or ("",))
    if WHEELS & set(category.into):
        yield from (compose(end, own) for end in ENDS for own in own_places(category, "wheel") or ("",))


class _Board:
    """The seats of a bicycle while parts are put on and come off."""

    def __init__(self, bicycle: Bicycle, library: Library) -> None:
        here = {placed.fitting_id for placed in bicycle.placed if not placed.planned}
        self.bicycle, self.library = bicycle, library
        self.parts = dict(bicycle.parts)
        self.fitted = {f.part_id: f for f in bicycle.fittings if f.to_at is None and f.id in here}
        self.rows = {row.part_id: row for row in bicycle.plan}
        self.on: list[UUID] = []
        self.off: dict[UUID, Placed] = {}

    def answer(self) -> WhatIf:
        """What it has come to."""
        placed = self.placed()
        there = {each.part.id: each for each in placed}
        bicycle = replace(self.bicycle, parts=self.parts, plan=tuple(self.rows.values()), placed=placed)
        off = tuple(each for part_id, each in self.off.items() if part_id not in there)
        return WhatIf(bicycle, tuple(there[part_id] for part_id in self.on if part_id in there), off)

    def placed(self) -> tuple[Placed, ...]:
        """Every part where it is now."""
        return place_parts(self.parts, self.fitted.values(), self.rows.values(), self.library)

    def put(self, each: Supposed) -> None:
        """Puts one part on; what fills its place comes off."""
        part, category = each.part, category_of(self.library, each.part.category)
        if self._stays(each):
            self.on.append(part.id)
            return
        self._lift(part)
        placed = self.placed()
        replaced = _named(each.replaces, placed)
        host_id, own = self._seat(each, category, replaced, placed)
        roles = set(self._roles(part, category.category))
        here = [p for p in placed if (p.host_id, p.own_place) == (host_id, own)]
        taken = [p for p in here if roles & set(self._roles(p.part, p.slot))]
        self._check_free(part, taken)
        for row in list(self.rows.values()):
            at = row.chosen and (row.into_part_id, row.place) == (host_id, own)
            if at and roles & set(self._roles(self.parts[row.part_id], row.slot)):
                self.rows[row.part_id] = replace(row, chosen=False)
        old = self.rows.get(part.id)
        row_id = old.id if old is not None else part.id
        self.rows[part.id] = PlanRow(row_id, part.id, host_id, category.category, own, True)
        self.on.append(part.id)
        heirs = {old.part.id for old in taken or replaced[:1]}
        for gone in {old.part.id: old for old in (*taken, *replaced)}.values():
            self._take_off(gone, part if gone.part.id in heirs else None, placed)

    def _stays(self, each: Supposed) -> bool:
        """Is it on the bicycle, and asked for at no other place?"""
        moves = each.place is not None or each.into_part_id is not None or each.replaces
        return not moves and each.part.id in {placed.part.id for placed in self.placed()}

    def _lift(self, part: Part) -> None:
        """Takes a part from where it is now, with all that sits in it."""
        self.parts[part.id] = part
        self.fitted.pop(part.id, None)
        if part.id in self.rows:
            self.rows[part.id] = replace(self.rows[part.id], chosen=False)
        inside = {part.id}
        for _ in range(len(self.bicycle.fittings)):
            found = [f for f in self.bicycle.fittings if f.to_at is None and f.into_part_id in inside]
            fresh = [f for f in found if f.part_id not in inside]
            if not fresh:
                break
            self.fitted |= {f.part_id: f for f in fresh}
            inside |= {f.part_id for f in fresh}

    def _seat(self, each: Supposed, category: Category, replaced: Sequence[Placed], placed: Sequence[Placed]) -> Seat:
        if each.into_part_id is not None:
            return self._seat_in(each.into_part_id, each.place or "", category, placed)
        if each.place is None and replaced:
            slots = {p.part.id: p.slot for p in placed}
            for old in replaced:
                host = slots.get(old.host_id, "") if old.host_id is not None else "build"
                if host in category.into:
                    check_place(category, host, old.own_place)
                    return old.host_id, old.own_place
        seat = seat_of(category, each.place or "", placed)
        return seat if seat is not None else (self._wheel_to_come(each), (each.place or "").partition(".")[2])

    def _seat_in(self, host_id: UUID, own: str, category: Category, placed: Sequence[Placed]) -> Seat:
        host = next((p for p in placed if p.part.id == host_id), None)
        if host is None:
            raise Refusal("What it should go into is not on this bicycle.", errors=[
                ("/into_part", "should be a part of this bicycle")])  # fmt: skip
        if host.slot not in category.into:
            right = " or ".join(category.into)
            raise Refusal(f"A {category.title.lower()} does not go into a {host.slot}; it goes into {right}.", errors=[
                ("/into_part", f"should be a {right}")])  # fmt: skip
        check_place(category, host.slot, own)
        return host_id, own

    def _wheel_to_come(self, each: Supposed) -> UUID:
        """A tyre, a rim, a rotor brings the wheel that it needs."""
        end = end_in(each.place or "") or ""
        wheel = imagined(uuid5(each.part.id, end), "wheel", f"{end.capitalize()} wheel")
        self.parts[wheel.id] = wheel
        self.rows[wheel.id] = PlanRow(wheel.id, wheel.id, None, "wheel", end, True)
        return wheel.id

    def _roles(self, part: Part, slot: str) -> tuple[str, ...]:
        return roles_of(part, slot, self.library)

    def _check_free(self, part: Part, taken: Sequence[Placed]) -> None:
        """Raises Refusal where another part of the same question is there already."""
        for other in taken:
            if other.part.id in self.on:
                say = f"Two parts are chosen for one place: {other.part.name} and {part.name}. Choose one of them."
                raise Refusal(say, errors=[("/place", f"is taken by {other.part.name}")])

    def _take_off(self, gone: Placed, heir: Part | None, placed: Sequence[Placed]) -> None:
        """Takes a part off; what sits in it moves into the heir where that has room for it."""
        self.off[gone.part.id] = gone
        self.fitted.pop(gone.part.id, None)
        if gone.part.id in self.rows:
            self.rows[gone.part.id] = replace(self.rows[gone.part.id], chosen=False)
        for child in [p for p in placed if p.host_id == gone.part.id]:
            if heir is None or not self._moves_into(child, heir):
                self._take_off(child, None, placed)

    def _moves_into(self, child: Placed, heir: Part) -> bool:
        """Moves a part into the heir of what it sat in; no where that is none of its hosts or has such a part."""
        roles, own = set(self._roles(child.part, child.slot)), child.own_place
        category = self.library.categories.get(child.slot)
        if category is None or heir.category not in category.into or roles & set(self._roles(heir, heir.category)):
            return False
        seats: list[Fitting | PlanRow] = [*self.fitted.values(), *(row for row in self.rows.values() if row.chosen)]
        for seat in seats:
            there = seat.into_part_id == heir.id and seat.place == own
            if there and roles & set(self._roles(self.parts[seat.part_id], seat.slot)):
                return False
        if child.part.id in self.fitted:
            moved = replace(self.fitted[child.part.id], into_part_id=heir.id)
            self.fitted[child.part.id] = moved
        else:
            self.rows[child.part.id] = replace(self.rows[child.part.id], into_part_id=heir.id)
        return True


def _named(part_ids: Sequence[UUID], placed: Sequence[Placed]) -> list[Placed]:
    there = {each.part.id: each for each in placed}
    for part_id in part_ids:
        if part_id not in there:
            raise Refusal("What it should replace is not on this bicycle, nor chosen for it.", errors=[
                ("/replaces", f"{part_id} should be a part of this bicycle")])  # fmt: skip
    return [there[part_id] for part_id in part_ids]
