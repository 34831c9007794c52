"""Which due items become a reminder, and what a message says: grouped by bicycle and by visit, in plain words."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby
from typing import Literal, NamedTuple

from service.domain.due_words import until_words
from service.domain.procedure import Library
from service.domain.standing import STATES, Due
from service.domain.wear_words import range_words

Kind = Literal["weekly", "at once", "trial"]
ASKING = ("do not ride", "overdue", "due", "look once", "plan it")
MOST_LOOKS = 6
"""What nothing is known of is a list of its own: more than so many of one bicycle are only counted."""
HEADINGS = {
    "do not ride": "Do not ride until this is put right",
    "overdue": "Overdue",
    "due": "Due",
    "look once": "Nothing is known of it yet: look once, write it down, then it counts",
    "plan it": "Coming near: have the part or the time ready",
}
MOST_SUBJECT = 120


class Told(NamedTuple):
    """What one bicycle has to say: its name, and the items that are told now, most pressing first."""

    build: str
    dues: Sequence[Due]


@dataclass(frozen=True, slots=True)
class Words:
    """A message in words: its subject in one line, its text."""

    subject: str
    text: str


def is_urgent(due: Due) -> bool:
    """Told at once, not only once a week: what must not be ridden, and safety that is well past its limit."""
    return is_told(due) and (due.state == "do not ride" or (due.state == "overdue" and due.weight == "safety"))


def is_told(due: Due) -> bool:
    """Does it belong into the weekly message? Not what is put off with a reason, nor what a bundle does as well."""
    return due.state in ASKING and due.put_off is None and due.within is None


def in_words(told: Sequence[Told], library: Library, today: date, kind: Kind, address: str | None) -> Words:
    """The message about these bicycles; `address` is where the service is reached, if that is known."""
    names = ", ".join(each.build for each in told)
    count = sum(len(each.dues) for each in told)
    what = "Before the next ride" if kind == "at once" else f"{count} {'thing' if count == 1 else 'things'} to see to"
    subject = " ".join(f"{what}: {names}".split())
    lines = [line for each in told for line in _of_build(each, library, today)]
    lines.append(_foot(address))
    return Words(subject if len(subject) <= MOST_SUBJECT else f"{subject[: MOST_SUBJECT - 1]}…", "\n".join(lines))


def trial_words(address: str | None) -> Words:
    """A message that says only that messages arrive."""
    said = "This is a trial: reminders of what is due on your bicycles will come here."
    return Words("A trial of your reminders", f"{said}\n\n{_foot(address)}")


def _foot(address: str | None) -> str:
    where = f"{address}/reminders" if address else "the page of reminders"
    see = f"All of it, with why: {address}/due\n" if address else ""
    return f"{see}The part maker's figure governs. To switch these messages off: {where}"


def _of_build(told: Told, library: Library, today: date) -> Iterator[str]:
    yield told.build
    yield "-" * len(told.build)
    home = [due for due in told.dues if not due.needs_shop]
    shop = [due for due in told.dues if due.needs_shop]
    for state, dues in groupby(sorted(home, key=lambda due: due.rank), key=lambda due: due.state):
        yield from _of_state(state, list(dues), library, today)
    if shop:
        yield ""
        yield "For a shop, in one visit:"
        yield from (line for due in shop for line in _of_due(due, library, today))
    yield ""


def _of_state(state: str, dues: Sequence[Due], library: Library, today: date) -> Iterator[str]:
    yield ""
    yield f"{HEADINGS[state]}:"
    shown = dues[:MOST_LOOKS] if state == "look once" else dues
    for due in shown:
        yield from _of_due(due, library, today)
    if len(shown) < len(dues):
        yield f"* and {len(dues) - len(shown)} more parts of which nothing is known yet."


def _of_due(due: Due, library: Library, today: date) -> Iterator[str]:
    where = f", {due.where}" if due.where else ""
    part = f" ({due.part_name})" if due.part_name else ""
    yield f"* {due.title}{where}{part}"
    if due.state == "look once":
        return
    yield f"  {due.why}{until_words(due, today)}{_left(due)}"
    todo = what_to_do(due, library)
    if todo:
        yield f"  {todo}"


def _left(due: Due) -> str:
    """How far an interval still goes, as it is ridden lately; wear says it itself."""
    if due.by_wear or due.km_left is None or due.km_left.middle <= 0:
        return ""
    return f" About {range_words(due.km_left)} km as you ride now."


def what_to_do(due: Due, library: Library) -> str:
    """ "Measure again, and have the part ready." or "About 25 min, at home." """
    if due.by_wear:
        return "Measure it first." if due.last is None else "Measure again, and have the part ready."
    minutes = minutes_of(due, library)
    where = "at a shop" if due.needs_shop else "at home"
    return f"About {minutes} min, {where}." if minutes else ""


def minutes_of(due: Due, library: Library) -> int:
    """Hands-on minutes of the steps that a task names; 0 where it names none."""
    category = library.categories.get(due.task.partition(".")[0])
    steps = {step.key: step.minutes for step in (*category.used, *category.steps)} if category else {}
    return sum(steps.get(key, 0) for key in due.steps)


def most_pressing(told: Iterable[Told]) -> list[Told]:
    """Bicycles with something to say, the most pressing first."""
    kept = [each for each in told if each.dues]
    return sorted(kept, key=lambda each: (min(STATES.index(due.state) for due in each.dues), each.build))
