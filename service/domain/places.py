"""What can be seen of a bicycle from where one of its parts sits."""

from collections import deque
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any, Protocol, TypeVar
from uuid import UUID

from service.domain.bicycle import Bicycle, BuildFacts, Placed
from service.domain.condition import NO_PART, Answer, Fact, Found, Judged, judge, one_of_them
from service.domain.ends import Ends, ends_of, gear_word, roles_of, side_in, works_spec
from service.domain.procedure import Category, Library, When
from service.domain.readings import read_spec

WHEELS = frozenset({"wheel", "factory-wheel"})
Answered = TypeVar("Answered")
BUILD_FACTS = ("use", "motor", "rider_mass_g", "load_g", "front_brake_hand", "mass_weighed_g")


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
    _heres: dict[tuple[int, str | None], "Here"] = field(default_factory=dict, init=False, repr=False, compare=False)
    _kept: dict[tuple[object, ...], Any] = field(default_factory=dict, init=False, repr=False, compare=False)

    @cached_property
    def by_part(self) -> Mapping[UUID, Placed]:
        """Where each part is."""
        return {placed.part.id: placed for placed in self.placed}

    @cached_property
    def by_role(self) -> Mapping[str, tuple[Placed, ...]]:
        """The parts that serve as each category, own or standing in."""
        met: dict[str, list[Placed]] = {}
        for placed in self.placed:
            for role in self.here(placed).roles:
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

    def keep(self, key: tuple[object, ...], work: Callable[[], Answered]) -> Answered:
        """What the work answers, worked out once for these parts; the key begins with a word of its own.

        Only for what follows from the parts, the library and the key.
        """
        if key not in self._kept:
            self._kept.setdefault(key, work())  # of two threads the first one's answer is everybody's
        answer: Answered = self._kept[key]
        return answer

    def like(self, other: "Surroundings") -> bool:
        """Would it answer everything alike? The build's version says nothing about its parts."""
        if self.library is not other.library or self.look_at_join is not other.look_at_join:
            return False
        if (self.job, self.said, self.all_there) != (other.job, other.said, other.all_there):
            return False
        return _unversioned(self.build) == _unversioned(other.build) and self.placed == other.placed

    def here(self, placed: Placed | None, serves_as: str | None = None) -> "Here":
        """What can be seen from one placed part, in one of its roles; from the bicycle as a whole where none is given.

        The same value each time, for it keeps what it has found; it holds the part, so that the key stays its own.
        """
        known = (id(placed), serves_as)
        met = self._heres.get(known)
        return met if met is not None else self._heres.setdefault(known, Here(self, placed, serves_as))

    def fact(self, placed: Placed, key: str) -> Found:
        """A spec of a placed part, read once however many conditions ask for it."""
        return self.here(placed).own(key)

    def ends(self, placed: Placed, role: str | None = None) -> Ends:
        """The ends a part works at in one of its roles."""
        return self.here(placed, role).ends


def _unversioned(build: BuildFacts | None) -> BuildFacts | None:
    return None if build is None else replace(build, version=0)


_RECENT: deque[Surroundings] = deque(maxlen=16)


def familiar(around: Surroundings) -> Surroundings:
    """The same surroundings from a moment ago, with all that they have worked out, where there were any.

    At the stand a checklist is drawn up again and again for the same parts. Ask it about its own `placed`.
    """
    if not around.all_there:  # about parts that exist nowhere: asked once
        return around
    for known in tuple(_RECENT):
        if known.like(around):
            return known
    _RECENT.append(around)
    return around


def surroundings(bicycle: Bicycle, library: Library, job: str = "assemble") -> Surroundings:
    """The placed parts of a bicycle, ready to be looked at."""
    return Surroundings(bicycle.placed, bicycle.build, library, job)


@dataclass(frozen=True, eq=False)
class Here:
    """What a condition sees from one placed part (`condition.View`); from the whole bicycle where `placed` is None.

    `serves_as`: only in this role; a combined lever as a shifter works at the end its gears are.
    """

    around: Surroundings
    placed: Placed | None
    serves_as: str | None = None
    _own: dict[str, Found] = field(default_factory=dict, init=False, repr=False)
    _of: dict[tuple[str, str], Found] = field(default_factory=dict, init=False, repr=False)
    _partners: dict[str, tuple[tuple[Placed, bool], ...]] = field(default_factory=dict, init=False, repr=False)

    @cached_property
    def category(self) -> Category | None:
        """The category of the part that stands here."""
        return self.around.library.categories.get(self.placed.slot if self.placed else "whole-bicycle")

    @cached_property
    def name(self) -> str:
        """What tells this place from every other, by place, category and part; nothing for the whole bicycle."""
        return f"{self.placed.place} {self.placed.slot} {self.placed.part.id}" if self.placed else ""

    @cached_property
    def roles(self) -> tuple[str, ...]:
        """What the part serves as, its own category first; nothing for the whole bicycle."""
        return roles_of(self.placed.part, self.placed.slot, self.around.library) if self.placed else ()

    @cached_property
    def ends(self) -> Ends:
        """The ends this part works at."""
        return ends_of(self.placed, self.around.library, self.serves_as) if self.placed else Ends()

    @cached_property
    def every_end(self) -> frozenset[str]:
        """The ends this part works at in any of its roles."""
        if self.placed is None:
            return frozenset()
        return frozenset[str]().union(*(self.around.ends(self.placed, role).names for role in self.roles))

    @cached_property
    def wheel(self) -> UUID | None:
        """The wheel this part belongs to."""
        return self.around.wheels.get(self.placed.part.id) if self.placed else None

    @cached_property
    def gears(self) -> str | None:
        """Which gears the part serves, front or rear, by its first role that says so."""
        if self.placed is None:
            return None
        roles = self.roles if self.serves_as is None else (self.serves_as,)
        words = (gear_word(self.placed, self.around.library, role) for role in roles)
        return next((word for word in words if word), None)

    def own(self, key: str) -> Found:
        """A spec of the part itself."""
        found = self._own.get(key)
        if found is None:
            found = self._own[key] = self._read(key)
        return found

    def _read(self, key: str) -> Found:
        if self.placed is None or self.category is None:
            return NO_PART
        return read_spec(self.placed.part, self.category, key)

    def of(self, category: str, key: str) -> Found:
        """A spec of a part in that role: in the same wheel if there is one, else at the same end, else any."""
        found = self._of.get((category, key))
        if found is None:
            parts = self.nearest(category)
            if not parts and not self.around.all_there:
                found = Found(unknown=(Fact(category, key),))
            else:
                found = _together(self.around.fact(placed, key) for placed in parts)
            self._of[category, key] = found
        return found

    def host(self, key: str) -> Found:
        """A spec of what the part is fitted to."""
        hosts = self.hosts()
        if not hosts and not self.around.all_there and self.placed is not None:
            return Found(unknown=(Fact("host", key),))
        return _together(self.around.fact(placed, key) for placed in hosts)

    def hosts(self) -> tuple[Placed, ...]:
        """What the part is fitted to: by its category's `host` and its end, else what it sits in."""
        return self._hosts

    @cached_property
    def _hosts(self) -> tuple[Placed, ...]:
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

    @property
    def slot(self) -> Found:
        """The category of the part, as it is placed."""
        return Found((self.placed.slot,)) if self.placed else NO_PART

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
        met = self._partners.get(role)
        if met is None:
            met = self._partners[role] = tuple(self._meeting(role))
        return met

    def _meeting(self, role: str) -> Iterator[tuple[Placed, bool]]:
        role, _, place = role.partition("@")
        for other in self.around.by_role.get(role, ()):
            if self.placed is not None and other.part.id == self.placed.part.id:
                continue
            there = self.around.here(other, role)
            if place and place not in (other.place, *other.place.split("."), there.gears, *there.ends.names):
                continue
            if place or self._same_end(there):
                yield other, bool(place) or (self.ends.known and there.ends.known)

    def _same_end(self, other: "Here") -> bool:
        if self.placed is None:
            return True
        if self.wheel is not None and other.wheel is not None:
            return self.wheel == other.wheel
        if self.gears and other.gears:
            return self.gears == other.gears
        return not self.ends.names or not other.ends.names or bool(self.ends.names & other.ends.names)

    def nearest(self, role: str) -> tuple[Placed, ...]:
        """The parts in a role: in the same wheel if there is one, else at the same end, else any."""
        every = self.around.by_role.get(role, ())
        if self.placed is None or not every:
            return every
        there = [self.around.here(placed, role) for placed in every]
        if self.wheel is not None:
            beside = tuple(p for p, here in zip(every, there, strict=True) if here.wheel == self.wheel)
            if beside:
                return beside
        at_end = tuple(p for p, here in zip(every, there, strict=True) if self.ends.names & here.ends.names)
        return at_end or tuple(p for p, here in zip(every, there, strict=True) if self._same_end(here)) or every

    def _concerns(self, other: Placed, role: str) -> bool:
        own, theirs = self.every_end, self.around.ends(other, role).names
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
