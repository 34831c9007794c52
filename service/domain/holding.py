"""What holds an open step up: a step before it, a part, a tool, a fact, a wait, a visit to a shop."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

from service.domain.applying import Applied
from service.domain.bicycle import Bench, Placed
from service.domain.condition import Answer
from service.domain.fingerprint import Marked
from service.domain.following import in_hand
from service.domain.procedure import Library
from service.domain.steps import BlockedBy, WhereDone
from service.domain.wording import asked, day_words, ended, owns, part_at, tool_use


@dataclass(frozen=True, slots=True)
class Today:
    """The moment and the day a checklist is drawn up at, and what the workshop owns."""

    now: datetime
    today: date
    bench: Bench


def not_here(placed: Placed, library: Library, today: date) -> str:
    """ "Disc pads: ordered, expected on 9 May." """
    title = part_at(placed, library)
    if placed.part.expected_on is not None:
        return f"{title}: {placed.part.state}, expected on {day_words(placed.part.expected_on, today)}."
    if placed.part.state == "gone":
        return f"{title}: no longer in the workshop."
    state = "ordered, no day named" if placed.part.state == "ordered" else "planned, not in hand yet"
    return f"{title}: {state}."


def missing_parts(applied: Applied) -> tuple[Placed, ...]:
    """The parts a step works on that are not in hand."""
    return tuple(placed for placed in applied.works_on if not in_hand(placed))


def still_waiting(applied: Applied, marked: Marked, now: datetime) -> datetime | None:
    """Until when what this step left to cure or rest keeps its followers waiting; None where it does not."""
    if marked.state != "done" or marked.mark is None or not applied.step.waits_minutes:
        return None
    until = marked.mark.at + timedelta(minutes=applied.step.waits_minutes)
    return until if until > now else None


@dataclass(frozen=True, slots=True)
class Holding:
    """All applied steps with where they stand, to say of each what holds it up."""

    steps: Sequence[Applied]
    titles: Sequence[str]
    marked: Sequence[Marked]
    before: Sequence[Sequence[int]]
    where: Sequence[WhereDone]
    at: Today
    library: Library
    _held: dict[int, BlockedBy | None] = field(default_factory=dict, init=False, repr=False)

    def is_open(self, i: int) -> bool:
        """Is step i neither done nor skipped?"""
        return self.marked[i].state == "open"

    def blocked_by(self, i: int) -> tuple[BlockedBy, ...]:
        """What holds step i up, the steps before it first; nothing where it is not open."""
        if not self.is_open(i):
            return ()
        return (*self._steps(i), *self._parts(i), *self._facts(i), *self._tools(i), *self._shop(i))

    def _steps(self, i: int) -> Iterator[BlockedBy]:
        for j in self.before[i]:
            if j not in self._held:
                self._held[j] = self._held_by(j)
            held = self._held[j]
            if held is not None:
                yield held

    def _held_by(self, j: int) -> BlockedBy | None:
        """How step j holds up those behind it: it is open, or what it left still rests."""
        earlier, title = self.steps[j], self.titles[j]
        if self.is_open(j):
            return BlockedBy("step", f"Before it: {ended(title)}", step=earlier.id)
        until = still_waiting(earlier, self.marked[j], self.at.now)
        if until is None:
            return None
        moment = until.astimezone(self.at.now.tzinfo)
        day = "" if moment.date() == self.at.today else f" on {day_words(moment.date(), self.at.today)}"
        return BlockedBy("wait", f"{title}: it rests until {moment:%H:%M}{day}.", step=earlier.id, until=until)

    def _parts(self, i: int) -> Iterator[BlockedBy]:
        for placed in missing_parts(self.steps[i]):
            yield BlockedBy(
                "part",
                not_here(placed, self.library, self.at.today),
                part_id=placed.part.id,
                expected_on=placed.part.expected_on,
            )

    def _facts(self, i: int) -> Iterator[BlockedBy]:
        applied = self.steps[i]
        if applied.judged.answer is not Answer.UNKNOWN:
            return
        for fact in applied.judged.settles:
            ask = asked(fact, applied.here.around)
            say = f"Not known yet whether this applies. {ask.title}: {ask.how}"
            yield BlockedBy("fact", say, part_id=ask.part_id, field=ask.field)
        if not applied.judged.settles:
            yield BlockedBy("fact", "Not known yet whether this applies.")

    def _tools(self, i: int) -> Iterator[BlockedBy]:
        """Only where the workshop has listed its tools at all, and not for what a shop does with its own."""
        if self.where[i] == "shop" or not self.at.bench.tools:
            return
        for name in dict.fromkeys(self.steps[i].step.tools):
            if not owns(name, self.at.bench):
                tool = tool_use(name, self.library, self.at.bench)
                size = f", {tool.size}" if tool.size else ""
                say = f"{tool.title}{size}: not on the workshop's list; a shop can do this step."
                yield BlockedBy("tool", say, tool=name)

    def _shop(self, i: int) -> Iterator[BlockedBy]:
        if self.where[i] == "shop":
            yield BlockedBy("shop", "Work for a shop.")
