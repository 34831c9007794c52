"""Which steps a job has for these parts: every step that applies, or may apply, at the place of its part."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Literal, NamedTuple
from uuid import UUID

from service.domain.bicycle import Placed
from service.domain.condition import Answer, Judged, judge
from service.domain.memory import remembered
from service.domain.order import WHOLE, with_taken
from service.domain.places import Here, Surroundings
from service.domain.procedure import Category, Library, Step

LAST = 10**9
ALWAYS = Judged(Answer.YES)
Looks = Literal["used", "all", "none"]


@dataclass(frozen=True, slots=True, eq=False)
class Applied:
    """A step at one part, or of the bicycle as a whole, with the parts it works on, fits and touches.

    `number` is its position in its file, looks first; `rank` its place in the reference order; `placed` is None for the
    bicycle as a whole.
    """

    id: str
    step: Step
    category: Category
    number: int
    look: bool
    here: Here
    placed: Placed | None
    judged: Judged
    works_on: tuple[Placed, ...]
    fits: tuple[Placed, ...]
    touches: tuple[Placed, ...]
    rank: tuple[int, str]

    @property
    def of_each_part(self) -> bool:
        """Is it a step of the whole bicycle that is done part by part?"""
        return self.step.for_each == "part"

    @property
    def ends(self) -> frozenset[str]:
        """The ends it concerns; none: both."""
        return self.here.ends.names


class Numbered(NamedTuple):
    """A step with its position in its file, looks first."""

    number: int
    look: bool
    step: Step


@dataclass(frozen=True, slots=True)
class Chapter:
    """One category's file with what it takes from others: its looks and steps in their order."""

    category: Category
    steps: tuple[Numbered, ...]


@remembered
def chapter(category: Category, library: Library) -> Chapter:
    """The looks and steps of a category in their order, those it takes from other files included."""
    whole = with_taken(category, library.categories)
    looks, steps = [(True, look) for look in whole.used], [(False, step) for step in whole.steps]
    return Chapter(whole, tuple(Numbered(n, look, step) for n, (look, step) in enumerate((*looks, *steps))))


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a job asks for: which steps at which part; `at` limits it to some parts, `keys` to some steps.

    `looks`: at every part, only at used ones, or at none.
    """

    job: str
    at: frozenset[UUID] | None = None
    keys: frozenset[tuple[str, str]] | None = None
    whole: bool = True
    looks: Looks = "used"

    def takes(self, numbered: Numbered, file: str, placed: Placed | None) -> bool:
        """Is this step part of the job, as far as its file says?"""
        step, look = numbered.step, numbered.look
        if self.keys is not None and (file, step.key) not in self.keys:
            return False
        if placed is None and not self.whole:
            return False
        if placed is not None and self.at is not None and placed.part.id not in self.at:
            return False
        if self.keys is not None:
            return True
        if look:
            used = placed is not None and placed.part.origin != "new"
            return self.job in ("assemble", "check") and (self.looks == "all" or (self.looks == "used" and used))
        return self.job in step.jobs


def apply_steps(
    around: Surroundings, wanted: Wanted, marked: Iterable[str] = (), accepted: Iterable[str] = ()
) -> tuple[Applied, ...]:
    """Every step of the job that applies or may apply, and every marked one, in the reference order.

    A step whose condition says no is left out, unless it is marked; one whose condition is not known stays.
    """
    kept = frozenset(marked)
    added = _added_by_acceptance(around.library, accepted)
    book = _book(around)
    met: dict[str, Applied] = {}
    for placed in (*around.placed, None):
        here = around.here(placed)
        for numbered, category in _at(placed, wanted, book, added):
            judged = _judged(numbered, category, here)
            step_id = _id(numbered.step, category, placed)
            if judged.answer is Answer.NO and step_id not in kept:
                continue
            if step_id in met and placed is not None:  # two alike parts at one place
                step_id = f"{step_id}:{placed.part.id}"
            met[step_id] = _kept_applied(step_id, numbered, category, here, judged)
    return tuple(sorted(met.values(), key=lambda applied: applied.rank))


def _judged(numbered: Numbered, category: Category, here: Here) -> Judged:
    step = numbered.step
    if not step.when:
        return ALWAYS
    key = ("judged", here, category.category, numbered.number)
    return here.around.keep(key, lambda: judge(step.when, here))


def _book(around: Surroundings) -> Mapping[str, Chapter]:
    library = around.library
    names = dict.fromkeys((*(placed.slot for placed in around.placed), WHOLE))
    return {name: chapter(library.categories[name], library) for name in names if name in library.categories}


def _at(
    placed: Placed | None, wanted: Wanted, book: Mapping[str, Chapter], added: Mapping[tuple[str, str], frozenset[str]]
) -> Iterator[tuple[Numbered, Category]]:
    """The steps that a job asks for at one part: of its own file, and those of the whole bicycle for each part."""
    own = book.get(placed.slot if placed is not None else WHOLE)
    if own is not None:
        name, place = own.category.category, placed.place if placed is not None else ""
        for numbered in own.steps:
            places = _added_at(own.category, numbered.step.key, added)
            if places is not None and not places & {"", place}:
                continue
            if numbered.step.for_each is None and wanted.takes(numbered, name, placed):
                yield numbered, own.category
    whole = book.get(WHOLE)
    if placed is not None and whole is not None:
        for numbered in whole.steps:
            if numbered.step.for_each == "part" and wanted.takes(numbered, WHOLE, placed):
                yield numbered, whole.category


def _added_at(category: Category, step: str, added: Mapping[tuple[str, str], frozenset[str]]) -> frozenset[str] | None:
    """Where a step is added by acceptance, its own or one taken from another file; None for one that always stands."""
    files = (taken.removesuffix(f".{step}") for taken in category.takes if taken.endswith(f".{step}"))
    return next((added[file, step] for file in (category.category, *files) if (file, step) in added), None)


def _added_by_acceptance(library: Library, accepted: Iterable[str]) -> Mapping[tuple[str, str], frozenset[str]]:
    """Steps that only an accepted finding adds, with the places where one was accepted."""
    adding = _adding(library)
    places: dict[tuple[str, str], set[str]] = {step: set() for step in adding.values()}
    for finding in accepted:
        join_id, _, place = finding.partition("@")
        if join_id in adding:
            places[adding[join_id]].add(place.split(":")[0])
    return {step: frozenset(met) for step, met in places.items()}


@remembered
def _adding(library: Library) -> Mapping[str, tuple[str, str]]:
    """The step that accepting each join adds, by the join's id."""
    return {
        f"{name}.{join.key}": (name, join.accepting_adds)
        for name, category in library.categories.items()
        for join in category.joins
        if join.accepting_adds is not None
    }


def _kept_applied(step_id: str, numbered: Numbered, category: Category, here: Here, judged: Judged) -> Applied:
    key = ("applied", step_id, here, category.category, numbered.number)
    return here.around.keep(key, lambda: _applied(step_id, numbered, category, here, judged))


def _applied(step_id: str, numbered: Numbered, category: Category, here: Here, judged: Judged) -> Applied:
    step = numbered.step
    fits = tuple(_fitted(step, category, here)) if step.fits else ()
    return Applied(
        id=step_id,
        step=step,
        category=category,
        number=numbered.number,
        look=numbered.look,
        here=here,
        placed=here.placed,
        judged=judged,
        works_on=_worked_on(step, fits, here),
        fits=fits,
        touches=once(_touched(step, here)) if step.touches else (),
        rank=_rank(step, category, here),
    )


def once(parts: Iterable[Placed]) -> tuple[Placed, ...]:
    """Each part once, in the order they come: it stands at one place, so there is one value for it."""
    return tuple({id(placed): placed for placed in parts}.values())


def _id(step: Step, category: Category, placed: Placed | None) -> str:
    name = f"{category.category}.{step.key}"
    if placed is None:
        return name
    if step.for_each == "part":
        return f"{name}:{placed.part.id}"
    return f"{name}@{placed.place}" if placed.place else name


def _rank(step: Step, category: Category, here: Here) -> tuple[int, str]:
    order, placed = here.around.library.order, here.placed
    place = "" if placed is None or step.for_each else placed.place
    rank = order.get((category.category, step.key, place))
    if rank is None:
        rank = order.get((category.category, step.key, ""), LAST)
    return (rank, here.name)


def _fitted(step: Step, category: Category, here: Here) -> Iterator[Placed]:
    if step.fits is False or here.placed is None:
        return
    for name in (category.category,) if step.fits is True else step.fits:
        if name == here.placed.slot:
            yield here.placed
        yield from (other for other, _ in here.partners(name) if other.slot == name and _together(other, here))


def _together(other: Placed, here: Here) -> bool:
    """Only what one step puts on with the own part: its own kind at another place is another step's."""
    return here.placed is not None and (other.slot != here.placed.slot or other.place == here.placed.place)


def _worked_on(step: Step, fits: tuple[Placed, ...], here: Here) -> tuple[Placed, ...]:
    if step.works_on:
        return once(_in_roles(step, here))
    own = (here.placed,) if here.placed is not None else ()
    return once((*own, *fits)) if fits else own


def _in_roles(step: Step, here: Here) -> Iterator[Placed]:
    for role in step.works_on:
        if here.placed is not None and role == here.placed.slot:
            yield here.placed
        else:
            yield from _in_role(role, here)


def _touched(step: Step, here: Here) -> Iterator[Placed]:
    for role in step.touches:
        if here.placed is not None and here.placed in here.around.by_role.get(
            role, ()
        ):  # itself, or what it stands in for
            yield here.placed
        yield from here.around.placed if role == "*" else _in_role(role, here)


def _in_role(role: str, here: Here) -> Iterator[Placed]:
    if role == "host":
        yield from here.hosts()
        return
    yield from (placed for placed, _ in here.partners(role))
