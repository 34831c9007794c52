"""The facts a computation of a build rests on, each with how it is known; those it lacks, with how to measure them."""

from dataclasses import dataclass, field
from uuid import UUID

from service.domain.bicycle import Placed
from service.domain.condition import Found
from service.domain.places import Here, Surroundings
from service.domain.procedure import SpecField
from service.domain.readings import spec_field

NOT_THERE = "There is none on this bicycle yet: fit one, or plan one."


@dataclass(frozen=True, slots=True)
class Input:
    """A fact that was reckoned with; no part for one of the build's own. A list of numbers is written in `words`."""

    part: UUID | None
    category: str
    place: str
    field: str
    title: str
    number: float | None
    words: str | None
    known_by: str


@dataclass(frozen=True, slots=True)
class NotKnown:
    """A fact that was wanted and is not entered; no part where the part itself is not there, or the build lacks it."""

    part: UUID | None
    category: str
    place: str
    field: str
    title: str
    how: str


@dataclass
class Reader:
    """Reads facts for one computation, and keeps what it read and what it missed, each once, in that order."""

    around: Surroundings
    _read: dict[Input, None] = field(default_factory=dict)
    _missed: dict[NotKnown, None] = field(default_factory=dict)

    @property
    def inputs(self) -> tuple[Input, ...]:
        """What was read."""
        return tuple(self._read)

    @property
    def not_known(self) -> tuple[NotKnown, ...]:
        """What was missed."""
        return tuple(self._missed)

    def parts(self, role: str) -> tuple[Placed, ...]:
        """Every part that is of this category or stands in for it."""
        return self.around.by_role.get(role, ())

    def one(self, role: str, of: Placed | None = None) -> Placed | None:
        """The part in a role that concerns another: beside it in its wheel, else at its end, else any; None if none."""
        if of is None:
            return next(iter(self.parts(role)), None)
        return next(iter(self.around.here(of).nearest(role)), None)

    def number(self, placed: Placed | None, key: str, *, least: float = 0.0, asked: bool = True) -> float | None:
        """A number of a part, None where it is not entered or under `least`; missed then, unless it is not `asked`."""
        found = self._found(placed, key)
        numbers = [float(value) for value in found.values if isinstance(value, int | float)]
        if placed is None or not numbers or found.unknown or numbers[0] < least:
            self._miss(placed, key, asked)
            return None
        self._keep(placed, key, found, number=numbers[0])
        return numbers[0]

    def whole(self, placed: Placed | None, key: str, *, least: int = 1, asked: bool = True) -> int | None:
        """A count of a part; what is not a whole number of `least` or more is missed like one that is not entered."""
        found = self._found(placed, key)
        numbers = [value for value in found.values if isinstance(value, int | float)]
        if placed is None or not numbers or found.unknown or numbers[0] < least or numbers[0] != int(numbers[0]):
            self._miss(placed, key, asked)
            return None
        self._keep(placed, key, found, number=float(numbers[0]))
        return int(numbers[0])

    def numbers(self, placed: Placed | None, key: str, *, asked: bool = True) -> tuple[float, ...]:
        """A list of numbers of a part, all above nothing, as they were entered; empty where there is none."""
        found = self._found(placed, key)
        numbers = tuple(float(value) for value in found.values if isinstance(value, int | float))
        if placed is None or not numbers or found.unknown or min(numbers) <= 0:
            self._miss(placed, key, asked)
            return ()
        self._keep(placed, key, found, words=", ".join(f"{number:g}" for number in numbers))
        return numbers

    def words(self, placed: Placed | None, key: str, *, asked: bool = True) -> str | None:
        """A choice of a part, or "yes" and "no"; None where it is not entered."""
        found = self._found(placed, key)
        if placed is None or not found.values or found.unknown:
            self._miss(placed, key, asked)
            return None
        said = str(found.values[0])
        self._keep(placed, key, found, words=said)
        return said

    def of_build(self, key: str, title: str, how: str = "", *, known_by: str = "measured") -> float | str | None:
        """A fact of the build's own; `how` says how it is found out, empty where it is not asked for."""
        worth: float | str | None = getattr(self.around.build, key) if self.around.build is not None else None
        if worth is None:
            if how:
                self._missed[NotKnown(None, "build", "", key, title, how)] = None
            return None
        number, words = (None, worth) if isinstance(worth, str) else (float(worth), None)
        self._read[Input(None, "build", "", key, title, number, words, known_by)] = None
        return worth

    def misses(self, category: str, key: str, place: str = "") -> None:
        """A part is wanted that is not there."""
        known = self.around.library.categories.get(category)
        spec = spec_field(known, key) if known is not None else None
        name = known.title if known is not None else category
        title = f"{name}: {_lowered(spec.title)}" if spec is not None else name
        self._missed[NotKnown(None, category, place, key, title, NOT_THERE)] = None

    def _found(self, placed: Placed | None, key: str) -> Found:
        return self.around.fact(placed, key) if placed is not None else Found()

    def _miss(self, placed: Placed | None, key: str, asked: bool) -> None:
        spec = _field(self.around.here(placed), key) if placed is not None else None
        if asked and placed is not None and spec is not None:
            missed = NotKnown(placed.part.id, placed.slot, placed.place, key, spec.title, spec.measure)
            self._missed[missed] = None

    def _keep(
        self, placed: Placed, key: str, found: Found, *, number: float | None = None, words: str | None = None
    ) -> None:
        spec = _field(self.around.here(placed), key)
        title = spec.title if spec is not None else key
        read = Input(placed.part.id, placed.slot, placed.place, key, title, number, words, found.known_by)
        self._read[read] = None


def _field(here: Here, key: str) -> SpecField | None:
    return spec_field(here.category, key) if here.category is not None else None


def _lowered(title: str) -> str:
    return title[:1].lower() + title[1:]
