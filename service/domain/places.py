"""Where each part of a build sits, and what can be seen of the bicycle from there."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Protocol
from uuid import UUID

from service.domain.bicycle import Bicycle, BuildFacts, Fitting, Part, Placed, PlanRow
from service.domain.condition import NO_PART, Answer, Fact, Found, Judged, judge, one_of_them
from service.domain.ends import Ends, compose, ends_of, gear_word, roles_of, side_in, works_spec
from service.domain.procedure import Category, Library, When
from service.domain.readings import read_spec

WHEELS = frozenset({"wheel", "factory-wheel"})
_SeenFrom = tuple[UUID | None, str, tuple[str, ...], str]
BUILD_FACTS = ("use", "motor", "rider_mass_g", "load_g", "front_brake_hand")


@dataclass(frozen=True, slots=True)
class _Seat:
    """A fitting or a chosen plan row, seen alike."""

    id: UUID
    part_id: UUID
    into_part_id: UUID | None
    slot: str
    place: str
    fitting: Fitting | None


def place_parts(
    parts: Mapping[UUID, Part], open_fittings: Iterable[Fitting], plan: Iterable[PlanRow], library: Library
) -> tuple[Placed, ...]:
    """Every part where it is, or where the chosen plan row will put it, hosts before what sits in them.

    `open_fittings` are those of one build and, at any depth, of what it carries. A plan row is passed over where it is
    not chosen, where its part is fitted already, and where one of its roles is filled at that place.
    """
    seats = [_Seat(f.id, f.part_id, f.into_part_id, f.slot, f.place, f) for f in open_fittings if f.to_at is None]
    fitted = {seat.part_id for seat in seats}
    planned = [
        _Seat(row.id, row.part_id, row.into_part_id, row.slot, row.place, None)
        for row in plan
        if row.chosen and row.part_id not in fitted
    ]
    return tuple(_seated(parts, seats + planned, library))


def _seated(parts: Mapping[UUID, Part], seats: list[_Seat], library: Library) -> Iterator[Placed]:
    by_host: dict[UUID | None, list[_Seat]] = {}
    for seat in sorted(seats, key=_fitted_first):
        by_host.setdefault(seat.into_part_id, []).append(seat)
    filled: set[tuple[UUID | None, str, str]] = set()
    seen: set[UUID] = set()
    level: list[tuple[UUID | None, str]] = [(None, "")]
    while level:
        hosts: list[tuple[UUID | None, str]] = []
        for host_id, host_place in level:
            for seat in by_host.get(host_id, ()):
                part = parts.get(seat.part_id)
                if part is None or part.id in seen:
                    continue
                slots = {(host_id, role, seat.place) for role in roles_of(part, seat.slot, library)}
                if seat.fitting is None and slots & filled:
                    continue
                filled |= slots
                seen.add(part.id)
                placed = _placed(part, seat, host_place)
                hosts.append((part.id, placed.place))
                yield placed
        level = hosts


def _fitted_first(seat: _Seat) -> tuple[bool, str, str, UUID]:
    return (seat.fitting is None, seat.slot, seat.place, seat.id)


def _placed(part: Part, seat: _Seat, host_place: str) -> Placed:
    return Placed(
        part=part,
        slot=seat.slot,
        place=compose(host_place, seat.place),
        own_place=seat.place,
        host_id=seat.into_part_id,
        fitting_id=seat.id,
        from_at=seat.fitting.from_at if seat.fitting is not None else None,
        planned=seat.fitting is None,
    )


class JoinReader(Protocol):
    """Answers whether a join needs care, seen from one place (`domain/joins.py` has it)."""

    def __call__(self, here: "Here", name: str, alternative: str | None) -> Judged: ...


def _nobody_knows(here: "Here", name: str, alternative: str | None) -> Judged:
    return Judged(Answer.UNKNOWN)


@dataclass(frozen=True)
class Surroundings:
    """All placed parts of one bicycle, indexed once by role, host and wheel; `job` is what they are looked at for.

    With `all_there` false nothing is known of what is not named: a missing part answers "not known" instead of no.
    """

    placed: tuple[Placed, ...]
    build: BuildFacts | None
    library: Library
    job: str = "assemble"
    said: frozenset[str] = frozenset()
    all_there: bool = True
    look_at_join: JoinReader = field(default=_nobody_knows)

    @cached_property
    def by_part(self) -> Mapping[UUID, Placed]:
        """Where each part is."""
        return {placed.part.id: placed for placed in self.placed}

    @cached_property
    def by_role(self) -> Mapping[str, tuple[Placed, ...]]:
        """The parts that serve as each category, own or standing in."""
        met: dict[str, list[Placed]] = {}
        for placed in self.placed:
            for role in roles_of(placed.part, placed.slot, self.library):
                met.setdefault(role, []).append(placed)
        return {role: tuple(parts) for role, parts in met.items()}

    @cached_property
    def wheels(self) -> Mapping[UUID, UUID]:
        """The wheel each part of a wheel belongs to, the wheel itself too."""
        met: dict[UUID, UUID] = {}
        for placed in self.placed:
            if placed.slot in WHEELS:
                met[placed.part.id] = placed.part.id
            elif placed.host_id is not None and placed.host_id in met:
                met[placed.part.id] = met[placed.host_id]
        return met

    @cached_property
    def _ends(self) -> dict[tuple[UUID, str, str], Ends]:
        return {}

    @cached_property
    def _facts(self) -> dict[tuple[UUID, str], Found]:
        return {}

    @cached_property
    def kept_partners(self) -> dict[_SeenFrom, tuple[tuple[Placed, bool], ...]]:
        """What `Here.partners` answered so far."""
        return {}

    def fact(self, placed: Placed, key: str) -> Found:
        """A spec of a placed part, read once however many conditions ask for it."""
        found = self._facts.get((placed.part.id, key))
        if found is None:
            category = self.library.categories.get(placed.slot)
            found = read_spec(placed.part, category, key) if category is not None else NO_PART
            self._facts[placed.part.id, key] = found
        return found

    def ends(self, placed: Placed, role: str | None = None) -> Ends:
        """The ends a part works at in one of its roles."""
        key = (placed.part.id, placed.place, role or placed.slot)
        if key not in self._ends:
            self._ends[key] = ends_of(placed, self.library, role)
        return self._ends[key]

    def every_end(self, placed: Placed) -> frozenset[str]:
        """The ends a part works at in any of its roles."""
        roles = roles_of(placed.part, placed.slot, self.library)
        return frozenset[str]().union(*(self.ends(placed, role).names for role in roles))

    def here(self, placed: Placed | None) -> "Here":
        """What can be seen from one placed part; from the bicycle as a whole where none is given."""
        return Here(self, placed)

    def for_job(self, job: str) -> "Surroundings":
        """The same parts looked at for another job."""
        return replace(self, job=job)


def surroundings(bicycle: Bicycle, library: Library, job: str = "assemble") -> Surroundings:
    """The placed parts of a bicycle, ready to be looked at."""
    return Surroundings(bicycle.placed, bicycle.build, library, job)


@dataclass(frozen=True, slots=True)
class Here:
    """What a condition sees from one placed part (`condition.View`); from the whole bicycle where `placed` is None."""

    around: Surroundings
    placed: Placed | None

    @property
    def category(self) -> Category | None:
        """The category of the part that stands here."""
        return self.around.library.categories.get(self.placed.slot if self.placed else "whole-bicycle")

    @property
    def ends(self) -> Ends:
        """The ends this part works at."""
        return self.around.ends(self.placed) if self.placed else Ends()

    def own(self, key: str) -> Found:
        """A spec of the part itself."""
        return NO_PART if self.placed is None else self.around.fact(self.placed, key)

    def of(self, category: str, key: str) -> Found:
        """A spec of a part in that role: in the same wheel if there is one, else at the same end, else any."""
        parts = self._nearest(category)
        if not parts and not self.around.all_there:
            return Found(unknown=(Fact(category, key),))
        return _together(self.around.fact(placed, key) for placed in parts)

    def host(self, key: str) -> Found:
        """A spec of what the part is fitted to."""
        hosts = self.hosts()
        if not hosts and not self.around.all_there and self.placed is not None:
            return Found(unknown=(Fact("host", key),))
        return _together(self.around.fact(placed, key) for placed in hosts)

    def hosts(self) -> tuple[Placed, ...]:
        """What the part is fitted to: by its category's `host` and its end, else what it sits in."""
        if self.placed is None:
            return ()
        named = self.category.host if self.category else {}
        words = sorted(self.ends.names) or [self.placed.own_place]
        roles = dict.fromkeys(role for role in (named.get(word) for word in words) if role)
        if roles:
            return tuple(placed for role in roles for placed in self.around.by_role.get(role, ()))
        sits_in = self.around.by_part.get(self.placed.host_id) if self.placed.host_id else None
        return (sits_in,) if sits_in else ()

    def build(self, key: str) -> Found:
        """A fact of the build: use, motor, rider_mass_g, load_g, front_brake_hand."""
        value = getattr(self.around.build, key) if key in BUILD_FACTS and self.around.build else None
        return Found(unknown=(Fact("build", key),)) if value is None else Found((value,))

    @property
    def origin(self) -> Found:
        """Where the part came from: new, second-hand, owned, came fitted."""
        return Found((self.placed.part.origin,)) if self.placed else NO_PART

    @property
    def job(self) -> Found:
        """The job the bicycle is looked at for."""
        return Found((self.around.job,))

    @property
    def end(self) -> Found:
        """The ends the part works at."""
        if self.placed is not None and not self.ends.known:
            spec = works_spec(self.category, self.placed.slot) if self.category else None
            return Found(unknown=(Fact(self.placed.part.category, spec or "end", self.placed.part.id),))
        return Found(tuple(sorted(self.ends.names)))

    @property
    def side(self) -> Found:
        """Left or right."""
        side = side_in(self.placed.place) if self.placed else None
        return Found((side,)) if side else NO_PART

    def has(self, category: str) -> Answer:
        """Is there a part of exactly this category, where it concerns this one?"""
        found = (placed for placed in self.around.by_role.get(category, ()) if placed.slot == category)
        return self._there(any(self._concerns(placed, category) for placed in found))

    def role(self, category: str) -> Answer:
        """Is there a part that is of this category or stands in for it, where it concerns this one?"""
        return self._there(any(self._concerns(p, category) for p in self.around.by_role.get(category, ())))

    def any_part(self, when: When) -> Judged:
        """Does some part of the bicycle answer yes?"""
        answers = [judge(when, self.around.here(placed)) for placed in self.around.placed]
        if not self.around.all_there:
            answers.append(Judged(Answer.UNKNOWN))
        return one_of_them(answers)

    def finding(self, name: str, alternative: str | None) -> Judged:
        """Does the join need care?"""
        return self.around.look_at_join(self, name, alternative)

    def checklist(self, word: str) -> Answer:
        """ "safety skipped" or "finding accepted"."""
        return Answer.YES if word in self.around.said else Answer.NO

    def partners(self, role: str) -> tuple[tuple[Placed, bool], ...]:
        """The parts in a role ("tyre", "tyre@rear") that meet this one, each with whether that is certain.

        Without an own end, or against a part without one, every such part meets; the part itself never does.
        """
        kept = self.around.kept_partners
        part, place = (self.placed.part.id, self.placed.place) if self.placed else (None, "")
        known = (part, place, self._gear_roles(), role)
        if known not in kept:
            kept[known] = tuple(self._partners(role))
        return kept[known]

    def _partners(self, role: str) -> Iterator[tuple[Placed, bool]]:
        role, _, place = role.partition("@")
        for other in self.around.by_role.get(role, ()):
            if self.placed is not None and other.part.id == self.placed.part.id:
                continue
            meets = place in (other.place, *other.place.split("."), gear_word(other, self.around.library, role))
            if place and not meets and place not in self.around.ends(other, role).names:
                continue
            if place or self._same_end(other, role):
                certain = bool(place) or (self.ends.known and self.around.ends(other, role).known)
                yield other, certain

    def _same_end(self, other: Placed, role: str) -> bool:
        own = self.placed
        if own is None:
            return True
        library, wheels = self.around.library, self.around.wheels
        if own.part.id in wheels and other.part.id in wheels:
            return wheels[own.part.id] == wheels[other.part.id]
        mine = next((word for word in (gear_word(own, library, r) for r in self._gear_roles()) if word), None)
        theirs = gear_word(other, library, role)
        if mine and theirs:
            return mine == theirs
        own_ends, their_ends = self.ends.names, self.around.ends(other, role).names
        return not own_ends or not their_ends or bool(own_ends & their_ends)

    def _gear_roles(self) -> tuple[str, ...]:
        return roles_of(self.placed.part, self.placed.slot, self.around.library) if self.placed else ()

    def _nearest(self, role: str) -> tuple[Placed, ...]:
        every = self.around.by_role.get(role, ())
        if self.placed is None or not every:
            return every
        wheel = self.around.wheels.get(self.placed.part.id)
        if wheel is not None:
            beside = tuple(p for p in every if self.around.wheels.get(p.part.id) == wheel)
            if beside:
                return beside
        ends = self.ends.names
        at_end = tuple(p for p in every if ends & self.around.ends(p, role).names)
        return at_end or tuple(p for p in every if self._same_end(p, role)) or every

    def _concerns(self, other: Placed, role: str) -> bool:
        if self.placed is None:
            return True
        own, theirs = self.around.every_end(self.placed), self.around.ends(other, role).names
        return not own or not theirs or bool(own & theirs)

    def _there(self, found: bool) -> Answer:
        if found:
            return Answer.YES
        return Answer.NO if self.around.all_there else Answer.UNKNOWN


def _together(found: Iterable[Found]) -> Found:
    met = list(found)
    if len(met) == 1:
        return met[0]
    return Found(
        tuple(dict.fromkeys(value for each in met for value in each.values)),
        tuple(fact for each in met for fact in each.unknown),
        ", ".join(dict.fromkeys(each.known_by for each in met if each.known_by)),
    )
