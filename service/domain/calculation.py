"""What a calculated join is made of: the parts that meet in it, the facts it reads, the order of its answers."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Literal, NamedTuple
from uuid import UUID

from service.domain.bicycle import Placed
from service.domain.comparison import Read
from service.domain.condition import Answer, Fact
from service.domain.meetings import Gathering
from service.domain.span import SOME, Span

JoinAnswer = Literal["meets", "needs care", "conflicts", "not measured yet"]
Work = Callable[["Seen"], "Reckoned"]


class Case(NamedTuple):
    """One way in which parts conflict or need care: whether it holds, in words, and its key where it is one of care."""

    answer: Answer
    say: str
    care: str | None = None


@dataclass(frozen=True, slots=True)
class Reckoned:
    """What a calculation found, in words with the numbers it computed; `care` is the key of what needs care."""

    answer: JoinAnswer
    say: str
    care: str | None = None


@dataclass(frozen=True, slots=True)
class Calculation:
    """A named calculation over the facts it `reads`; `cares` are the keys that it can answer with.

    A fact is named "spec" (of the join's owner), "role.spec", "host.spec", "build.spec", or "*.spec" (of every part).
    """

    name: str
    reads: frozenset[str]
    cares: frozenset[str]
    work: Work

    def reckon(self, gathering: Gathering) -> tuple[Reckoned, "Seen"]:
        """Its answer on these parts, and what it read for it."""
        seen = Seen(gathering, self.reads)
        found = self.work(seen)
        if found.care is not None and found.care not in self.cares:
            raise ValueError(f"{self.name} answers {found.care!r} and does not list it")
        return found, seen


def calculation(*, reads: Iterable[str], cares: Iterable[str] = ()) -> Callable[[Work], Calculation]:
    """Makes a function the calculation of its own name."""
    return lambda work: Calculation(work.__name__, frozenset(reads), frozenset(cares), work)


def reckon(conflicts: Sequence[Case], cares: Sequence[Case], meets: str, *, unknown: str = "") -> Reckoned:
    """A certain conflict first, then what is not measured, then care, then meets.

    Care that is certain does not wait for what could only ask for more care. `unknown` says what is known so far.
    """
    conflict = next((case for case in conflicts if case.answer is Answer.YES), None)
    if conflict is not None:
        return Reckoned("conflicts", conflict.say)
    care = next((case for case in cares if case.answer is Answer.YES), None)
    if any(case.answer is Answer.UNKNOWN for case in conflicts):
        return Reckoned("not measured yet", unknown)
    if care is not None:
        return Reckoned("needs care", care.say, care.care)
    if any(case.answer is Answer.UNKNOWN for case in cares):
        return Reckoned("not measured yet", unknown)
    return Reckoned("meets", meets)


@dataclass
class Seen:
    """The parts that meet in one calculated join and their facts; keeps what was read, and what is not entered."""

    gathering: Gathering
    reads: frozenset[str]
    facts: list[Read] = field(default_factory=list)
    missing: list[Fact] = field(default_factory=list)
    parts_read: dict[UUID, Placed] = field(default_factory=dict)

    def parts(self, role: str = "", *, end: str | None = None) -> tuple[Placed, ...]:
        """The parts in a role, the owner's where none is named; `end`: only those that work there for certain."""
        found = self.gathering.parts(role)
        if end is None:
            return found
        ends = self.gathering.around.ends
        return tuple(each for each in found if ends(each, role).known and end in ends(each, role).names)

    def number(self, name: str, of: Placed | None = None, *, asked: bool = True, unless: Span = SOME) -> Span:
        """A fact of one part in that role; `unless` it is entered, not known. With `asked` it is asked for then."""
        read = self._read(name, of, asked)
        numbers = [float(value) for value in read.values if isinstance(value, int | float)]
        return Span(min(numbers), max(numbers)) if numbers and not read.missing else unless

    def numbers(self, name: str) -> tuple[Span, ...]:
        """A fact of every part in that role."""
        return tuple(self.number(name, each) for each in self.parts(name.rpartition(".")[0]))

    def word(self, name: str, of: Placed | None = None, *, asked: bool = True) -> str | None:
        """A choice, a mark, or "yes" and "no"; None where nobody entered it, or where there is no such part."""
        read = self._read(name, of, asked)
        return str(read.values[0]) if read.values else None

    def says(self, name: str, *words: str, of: Placed | None = None, asked: bool = True) -> Answer:
        """Is it one of these words?"""
        word = self.word(name, of, asked=asked)
        if word is None:
            return Answer.UNKNOWN
        return Answer.YES if word in words else Answer.NO

    def declares(self, name: str, of: Placed) -> bool:
        """Has this part's category such a fact?"""
        return not self.gathering.read(name.rpartition(".")[2], of).absent

    def every_part(self) -> Iterator[Placed]:
        """Every part of the bicycle."""
        yield from self.gathering.around.placed

    @property
    def complete(self) -> bool:
        """Is a part that is not there known not to be there?"""
        return self.gathering.around.all_there

    @property
    def build_state(self) -> str:
        """The build's state; "" where there is no build."""
        build = self.gathering.around.build
        return "" if build is None else build.state

    def _read(self, name: str, of: Placed | None, asked: bool) -> Read:
        role, _, key = name.rpartition(".")
        if name not in self.reads:
            raise KeyError(f"{name} is read and not listed")
        if role == "build":
            read = self.gathering.build(key)
        else:
            placed = of or next(iter(self.parts("" if role == "*" else role)), None)
            if placed is None:
                return Read(absent=True)
            read = self.gathering.read(key, placed)
            self.parts_read[placed.part.id] = placed
        if read.absent or (read.missing and not asked and not read.values):
            return read
        self.facts.append(read)
        if asked:
            self.missing.extend(read.missing)
        return read
