"""Which parts meet in a join: its owner in the role that the join is about, with the partners at the same end."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import product

from service.domain.bicycle import Placed
from service.domain.comparison import ABSENT, Read, names_read, read_part
from service.domain.condition import Fact
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
            found = self.here.build(key)
            return Read(found.values, found.unknown, None, "build", key)
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


def _owners(around: Surroundings, owner: str) -> list[Here]:
    if owner == WHOLE:
        return [around.here(None)]
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
