"""For which parts a tick counts: the fingerprint of a step, and what opens it again."""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal
from uuid import UUID

from service.domain.applying import Applied
from service.domain.bicycle import Bicycle, Fitting, Mark, Placed
from service.domain.ends import role_specs
from service.domain.memory import remembered
from service.domain.places import Surroundings
from service.domain.procedure import Library
from service.domain.wording import day_words

NO_PARTS = "-"


@dataclass(frozen=True, slots=True)
class Marked:
    """Where a step stands: open, or done or skipped by a mark that counts; `reopened` says why an old one does not."""

    state: Literal["open", "done", "skipped"]
    mark: Mark | None = None
    reopened: str | None = None


OPEN = Marked("open")


def short(key: UUID) -> str:
    """The last eight hex digits of an id: what stands in a fingerprint."""
    return f"{key.int & 0xFFFFFFFF:08x}"


def fingerprint(applied: Applied) -> str:
    """The ids that a tick of this step rests on, the last 8 hex digits of each, sorted; "-" where there is none.

    Fittings (or plan rows, whose id the fitting takes) of the parts it works on and touches. A step about the part
    itself names the part instead of its own fitting, so that moving the part does not ask for it again.
    """
    own = applied.placed
    about_part = own is not None and (applied.step.about == "part" or applied.look or applied.of_each_part)
    ids = {short(placed.part.id if about_part and placed is own else placed.fitting_id) for placed in applied.works_on}
    if applied.touches:
        hosts = _hosts_of(own, applied.here.around) if own is not None else frozenset()
        ids |= {short(placed.fitting_id) for placed in applied.touches if not hosts or placed.part.id not in hosts}
    return " ".join(sorted(ids)) or NO_PARTS


def _hosts_of(placed: Placed, around: Surroundings) -> frozenset[UUID]:
    met: set[UUID] = set()
    host_id = placed.host_id
    while host_id is not None and host_id not in met:
        met.add(host_id)
        host = around.by_part.get(host_id)
        host_id = host.host_id if host is not None else None
    return frozenset(met)


@dataclass(frozen=True, slots=True)
class Displaced:
    """A part that took another's place: what it disturbs opens again."""

    placed: Placed
    at: datetime
    disturbs: tuple[str, ...]
    ends: frozenset[str]


def displaced(bicycle: Bicycle, around: Surroundings) -> tuple[Displaced, ...]:
    """The fitted parts that stand where another part stood before, whose category says what that disturbs."""
    met = []
    for placed in around.placed:
        category = around.library.categories.get(placed.slot)
        if category is None or not category.disturbs or placed.from_at is None:
            continue
        if any(_stood_there(fitting, placed, bicycle, around.library) for fitting in bicycle.fittings):
            met.append(Displaced(placed, placed.from_at, category.disturbs, around.ends(placed).names))
    return tuple(met)


def _stood_there(fitting: Fitting, placed: Placed, bicycle: Bicycle, library: Library) -> bool:
    if fitting.part_id == placed.part.id or fitting.to_at is None or placed.from_at is None:
        return False
    same_host = fitting.into_part_id == placed.host_id and (
        placed.host_id is not None or fitting.build_id == bicycle.build.id
    )
    return (
        same_host
        and fitting.to_at <= placed.from_at
        and fitting.place == placed.own_place
        and bool(_slots(fitting.slot, library) & _slots(placed.slot, library))
    )


def _slots(slot: str, library: Library) -> frozenset[str]:
    category = library.categories.get(slot)
    return frozenset({slot, *(role_specs(category) if category is not None else ())})


def standing(
    applied: Applied, print_now: str, marks: Sequence[Mark], taken: Iterable[Displaced], past: "Past"
) -> Marked:
    """Which mark counts for a step, or why it is open again. `marks` are those of this step, whatever their parts."""
    mark = next((each for each in marks if each.fingerprint == print_now), None)
    if mark is not None:
        by = [each for each in taken if each.at > mark.at and disturbs(each, applied)]
        if not by:
            return Marked(mark.state, mark)
        last = max(by, key=lambda each: each.at)
        return Marked("open", None, past.replaced(last.placed))
    if not marks:
        return OPEN
    latest = max(marks, key=lambda each: each.at)
    return Marked("open", None, past.what_changed(latest.fingerprint, latest.at, applied))


def disturbs(by: Displaced, applied: Applied) -> bool:
    """Does a part that took another's place open this step again?"""
    if by.ends and applied.ends and not by.ends & applied.ends:
        return False
    return gives_what_it_disturbs(by.disturbs, applied)


def gives_what_it_disturbs(names: Iterable[str], applied: Applied) -> bool:
    """Is a milestone or step among those names given by this step, or is it all that is not bench work?"""
    step, name = applied.step, f"{applied.category.category}.{applied.step.key}"
    for each in names:
        if each == "*" and not _bench_work(applied):
            return True
        if each == name or each in step.gives:
            return True
    return False


def _bench_work(applied: Applied) -> bool:
    in_wheel = applied.placed is not None and applied.placed.part.id in applied.here.around.wheels
    return applied.step.about == "part" or applied.look or applied.of_each_part or in_wheel


@dataclass(frozen=True, slots=True)
class Past:
    """The fittings of a bicycle by the digits that stand in fingerprints, to say what changed since a tick."""

    fittings: Mapping[str, Fitting]
    titles: Mapping[str, str]
    today: date

    def replaced(self, placed: Placed) -> str:
        """ "The fork was replaced on 3 May." """
        return f"{self._said(placed.slot, 'was replaced')}{self._on(placed.from_at)}."

    def what_changed(self, old_print: str, at: datetime, applied: Applied) -> str:
        """Which of the step's parts is not the one that was there at the tick."""
        old = set(old_print.split())
        now = [p for p in (*applied.works_on, *applied.touches) if not old & {short(p.fitting_id), short(p.part.id)}]
        if not now:
            gone = next((self.fittings[word] for word in sorted(old) if word in self.fittings), None)
            return f"{self._said(gone.slot, 'came off')}." if gone and gone.to_at else "The parts have changed."
        fitted = [placed for placed in now if placed.from_at is not None]
        latest = max(fitted, key=lambda placed: placed.from_at or at) if fitted else now[0]
        before = [self.fittings[word] for word in old if word in self.fittings]
        if any(fitting.part_id == latest.part.id for fitting in before):
            return f"{self._said(latest.slot, 'was taken off and put back')}{self._on(latest.from_at)}."
        if any(f.slot == latest.slot and f.place == latest.own_place and f.to_at for f in before):
            return self.replaced(latest)
        if latest.planned:
            return f"{self._said(latest.slot, 'was chosen anew')}."
        return f"{self._said(latest.slot, 'was fitted')}{self._on(latest.from_at)}."

    def _said(self, slot: str, verb: str) -> str:
        title = re.split(r"[,(]", self.titles.get(slot, slot))[0].strip()
        were = "were" if slot.endswith("s") else "was"
        return f"The {title[:1].lower()}{title[1:]} {verb.replace('was', were)}"

    def _on(self, at: datetime | None) -> str:
        if at is None:
            return ""
        return f" on {day_words(at.date(), self.today)}"


def past(bicycle: Bicycle, library: Library, today: date) -> Past:
    """What a reopened step can say about the past of these parts."""
    return Past({short(fitting.id): fitting for fitting in bicycle.fittings}, _titles(library), today)


@remembered
def _titles(library: Library) -> Mapping[str, str]:
    return {name: category.title for name, category in library.categories.items()}
