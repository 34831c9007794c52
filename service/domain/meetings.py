"""Which parts meet in a join: its owner in the role that the join is about, with the partners at the same end.

A meeting is of one part in each role; a gathering, for a calculated join, of all of them together.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import product

from service.domain.bicycle import Placed
from service.domain.comparison import ABSENT, Read, names_read, read_part
from service.domain.condition import Answer, Fact, Judged, all_of, judge
from service.domain.ends import works_spec
from service.domain.memory import remembered
from service.domain.places import Here, Surroundings
from service.domain.procedure import Join
from service.domain.readings import spec_field

WHOLE = "whole-bicycle"
SHIM = "shim"


@dataclass(frozen=True, slots=True, eq=False)
class Meeting:
    """One join with the parts that meet in it; not `certain` where an end hangs on a spec that nobody entered."""

    owner: str
    join: Join
    here: Here
    partners: Mapping[str, Placed]
    certain: bool
    place: str
    suffix: str = ""

    @property
    def id(self) -> str:
        """ "category.key@place", with ":PART" where several partners meet at one place."""
        return f"{self.owner}.{self.join.key}{'@' if self.place else ''}{self.place}{self.suffix}"

    def placed(self) -> tuple[Placed, ...]:
        """The parts that meet here, the owner first."""
        own = (self.here.placed,) if self.here.placed else ()
        shim = self.part_in(SHIM)
        met = (*own, *self.partners.values(), *((shim,) if shim else ()))
        return tuple({placed.part.id: placed for placed in met}.values())

    def read(self, name: str, raw: bool) -> Read:
        """A fact by its name in a test, seen from the owner of the join."""
        category, dot, key = name.rpartition(".")
        if category == "build":
            return _read_build(self.here, key)
        placed = self.part_in(category) if dot else self.here.placed
        if placed is None:
            return ABSENT
        return _read(self.here.around, placed, key, raw)

    def part_in(self, role: str) -> Placed | None:
        """The part that serves here as this category; "host", "other" and the shim of this very join are known too."""
        if role in self.partners:
            return self.partners[role]
        if role == self.owner:
            return self.here.placed
        if role == "other":
            return next(iter(self.partners.values()), None)
        if role == "host":
            return next(iter(self.here.hosts()), None)
        if role == SHIM:
            return self._shim()
        return next((placed for placed, _ in self.here.partners(role)), None)

    def _shim(self) -> Placed | None:
        """Its place is the join's name with a dash for the dot, behind the end where there is one."""
        wanted = f"{self.owner}-{self.join.key}"
        for placed in self.here.around.by_role.get(SHIM, ()):
            end, _, name = placed.place.rpartition(".")
            if name == wanted and (not end or not self.here.ends.names or end in self.here.ends.names):
                return placed
        return None

    def ends_unknown(self) -> tuple[Fact, ...]:
        """The facts that would say at which end these parts work, where that is not certain."""
        if self.certain:
            return ()
        own = [(self.owner, self.here.placed)] if self.here.placed else []
        facts = [self._end_spec(role, placed) for role, placed in (*own, *self.partners.items())]
        return tuple(fact for fact in facts if fact is not None)

    def _end_spec(self, role: str, placed: Placed) -> Fact | None:
        around = self.here.around
        category = around.library.categories.get(placed.slot)
        spec = works_spec(category, role) if category else None
        if spec is None or around.ends(placed, role).known:
            return None
        return Fact(placed.part.category, spec, placed.part.id)


@dataclass(frozen=True, slots=True, eq=False)
class Gathering:
    """All the parts that meet in a calculated join: its owners, and the partners by role.

    `judged` is whether the join exists here; not `certain` where an end hangs on a spec that nobody entered.
    """

    owner: str
    join: Join
    heres: tuple[Here, ...]
    partners: Mapping[str, tuple[Placed, ...]]
    judged: Judged
    certain: bool
    place: str

    @property
    def id(self) -> str:
        """ "category.key@place"."""
        return f"{self.owner}.{self.join.key}{'@' if self.place else ''}{self.place}"

    @property
    def around(self) -> Surroundings:
        """The bicycle they are on."""
        return self.heres[0].around

    @property
    def owners(self) -> tuple[Placed, ...]:
        """The parts whose join it is; none for the whole bicycle's."""
        return tuple(here.placed for here in self.heres if here.placed is not None)

    def parts(self, role: str) -> tuple[Placed, ...]:
        """The parts in a role: the owners' own where it is "" or theirs, "host", or any that works at the same end."""
        if role in ("", self.owner):
            return self.owners
        if role in self.partners:
            return self.partners[role]
        if role == "host":
            return _once(placed for here in self.heres for placed in here.hosts())
        return _once(placed for here in self.heres for placed, _ in here.partners(role))

    def placed(self) -> tuple[Placed, ...]:
        """The parts that meet here, the owners first."""
        return _once((*self.owners, *(placed for met in self.partners.values() for placed in met)))

    def read(self, key: str, placed: Placed) -> Read:
        """A fact of one of these parts."""
        return _read(self.around, placed, key, raw=False)

    def build(self, key: str) -> Read:
        """A fact of the build itself."""
        return _read_build(self.heres[0], key)


def _once(parts: Iterable[Placed]) -> tuple[Placed, ...]:
    return tuple({placed.part.id: placed for placed in parts}.values())


def _read_build(here: Here, key: str) -> Read:
    found = here.build(key)
    return Read(found.values, found.unknown, None, "build", key)


def _read(around: Surroundings, placed: Placed, key: str, raw: bool) -> Read:
    category = around.library.categories.get(placed.slot)
    key_of = ("read", around.here(placed), key, raw)
    return around.keep(key_of, lambda: read_part(placed.part, category, key, raw=raw))


def meetings(around: Surroundings, owner: str, join: Join) -> Iterator[Meeting]:
    """Every meeting of parts in a join: each place of its owner, or one an end or a bicycle where the join says so.

    There is none where a partner is missing, nor where a part that stands in has no such spec as the join compares.
    """
    seen: set[str] = set()
    for here in _owners(around, owner):
        place = _place(here, join)
        if join.once_per != "place" and place in seen:
            continue
        met = [pairing for pairing in _pairings(here, owner, join) if _declared(here, owner, join, pairing)]
        crowded = len(met) > 1 or place in seen
        for pairing in met:
            partners = {role: placed for role, placed, _ in pairing}
            certain = all(sure for _, _, sure in pairing)
            yield Meeting(owner, join, here, partners, certain, place, _suffix(here, partners) if crowded else "")
        if met:
            seen.add(place)


def gatherings(around: Surroundings, owner: str, join: Join) -> Iterator[Gathering]:
    """Every gathering of parts in a calculated join, one for each place, end or bicycle as the join says.

    There is none where nobody is in a role of `with`. Who stands in for others and has no such spec as the join needs
    is passed over.
    """
    places: dict[str, list[tuple[Here, Judged]]] = {}
    for here in _owners(around, owner):
        judged = judge(join.when, here)
        if judged.answer is not Answer.NO and _has_facts(around, here.placed, "", owner, join):
            places.setdefault(_place(here, join), []).append((here, judged))
    for place, met in places.items():
        heres = tuple(here for here, _ in met)
        choices = {name.partition("@")[0]: _in_role(heres, owner, name, join) for name in join.with_}
        partners = {role: _once(placed for placed, _ in found) for role, found in choices.items()}
        certain = all(sure for found in choices.values() for _, sure in found)
        if all(partners.values()):
            yield Gathering(owner, join, heres, partners, all_of(judged for _, judged in met), certain, place)


def _in_role(heres: Sequence[Here], owner: str, name: str, join: Join) -> list[tuple[Placed, bool]]:
    around = heres[0].around
    found = [(role, placed, sure) for here in heres for role, placed, sure in _partners(here, owner, name)]
    return [(placed, sure) for role, placed, sure in found if _has_facts(around, placed, role, role, join)]


def _has_facts(around: Surroundings, placed: Placed | None, role: str, serves_as: str, join: Join) -> bool:
    """Whoever stands in for another has every spec that the calculation needs of that role."""
    if placed is None or placed.slot == serves_as or role in ("host", "other"):
        return True
    category = around.library.categories.get(placed.slot)
    return category is None or all(spec_field(category, key) for key in _needed(join, role, serves_as))


def _needed(join: Join, role: str, owner: str) -> Iterator[str]:
    for name in join.inputs:
        file, _, key = name.rpartition(".")
        if file == role or (role == "" and file == owner):
            yield key


def _owners(around: Surroundings, owner: str) -> list[Here]:
    if owner == WHOLE:
        return [around.here(None)] if around.placed else []
    return [around.here(placed, owner) for placed in around.by_role.get(owner, ())]


def _place(here: Here, join: Join) -> str:
    if join.once_per == "bicycle" or here.placed is None:
        return ""
    if join.once_per == "end":
        return min(here.ends.names, default="")
    return here.placed.place


Pairing = Sequence[tuple[str, Placed, bool]]


def _pairings(here: Here, owner: str, join: Join) -> Iterator[Pairing]:
    choices = [_partners(here, owner, name) for name in join.with_]
    yield from product(*choices)


def _partners(here: Here, owner: str, name: str) -> list[tuple[str, Placed, bool]]:
    role = name.partition("@")[0]
    if role == "host":
        return [("host", placed, here.ends.known) for placed in here.hosts()]
    if role == owner and here.placed is not None:
        own = here.placed.part.id
        others = here.around.by_role.get(role, ())
        return [("other", placed, True) for placed in others if placed.part.id > own]
    return [(role, placed, sure) for placed, sure in here.partners(name)]


def _declared(here: Here, owner: str, join: Join, pairing: Pairing) -> bool:
    """A part in a role of another category must have every spec that the join compares; else it has no such join."""
    library = here.around.library
    serving = {role: placed for role, placed, _ in pairing}
    if here.placed is not None:
        serving |= {"": here.placed, owner: here.placed}
    for role, key in _compared(join):
        placed = serving.get(role)
        if placed is None or placed.slot == (role or owner):
            continue
        category = library.categories.get(placed.slot)
        if role != "host" and role != "other" and category and spec_field(category, key) is None:
            return False
    return True


@remembered
def _compared(join: Join) -> Sequence[tuple[str, str]]:
    """The role and the spec of every fact that decides whether the join meets."""
    names = (name.rpartition(".") for name in names_read(join.meets_if))
    return [(role, key) for role, _, key in names]


def _suffix(here: Here, partners: Mapping[str, Placed]) -> str:
    placed = list(partners.values()) or ([here.placed] if here.placed else [])
    return ":" + ".".join(each.part.id.hex[-8:] for each in placed)
