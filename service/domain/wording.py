"""A step in words: placeholders filled in, where it is done, its tools, the facts it asks for."""

import re
from datetime import date
from hashlib import sha256
from uuid import UUID

from service.domain.applying import Applied, once
from service.domain.bicycle import Bench, Placed
from service.domain.condition import Fact
from service.domain.ends import end_in, own_places
from service.domain.memory import remembered
from service.domain.places import Here, Surroundings
from service.domain.procedure import Library, Step
from service.domain.readings import spec_field
from service.domain.steps import FactAsked, ToolUse, WhereDone

_PLACEHOLDER = re.compile(r"\{(\w+)\}")
TORQUE_WRENCH = "torque-wrench"
MONTHS = (
    "January", "February", "March", "April", "May", "June", "July",
    "August", "September", "October", "November", "December",
)  # fmt: skip


def day_words(day: date, today: date) -> str:
    """A day in words, with its year where that is not this one: "3 May"."""
    year = "" if day.year == today.year else f" {day.year}"
    return f"{day.day} {MONTHS[day.month - 1]}{year}"


def ended(sentence: str) -> str:
    """A sentence with its full stop, unless it ends in a mark of its own."""
    return sentence if sentence.endswith(("?", "!", ".")) else f"{sentence}."


def part_title(slot: str, library: Library) -> str:
    """A category's title as it stands in a sentence."""
    category = library.categories.get(slot)
    return category.title if category is not None else slot.replace("-", " ")


def filled(text: str, here: Here) -> str:
    """A text with {end}, {side} and the part's own specs filled in."""
    if "{" not in text:
        return text
    return " ".join(_PLACEHOLDER.sub(lambda match: _word(match[1], here), text).split())


def title_of(applied: Applied) -> str:
    """The step's title; a step of each part names the part, one of several alike parts its place."""
    title = filled(applied.step.title, applied.here)
    if applied.placed is None:
        return title
    if applied.of_each_part:
        return f"{title}: {part_at(applied.placed, applied.here.around.library)}"
    own, plain = applied.placed.own_place, "{" not in applied.step.title
    return f"{title} ({own})" if own and plain and len(own_places(applied.category)) > 1 else title


def part_at(placed: Placed, library: Library) -> str:
    """A part's category and place in words: "Tyre (front)"."""
    place = f" ({placed.place.replace('.', ', ')})" if placed.place else ""
    return f"{part_title(placed.slot, library)}{place}"


def _word(name: str, here: Here) -> str:
    if name == "end":
        named = end_in(here.placed.place) if here.placed is not None else None
        names = sorted(here.ends.names) or ([named] if named else [])
        return (" and " if here.ends.known else " or ").join(names)
    found = here.side if name == "side" else here.own(name)
    return ", ".join(_shown(value) for value in found.values) or ("" if name == "side" else "not measured yet")


def _shown(value: float | str | bool) -> str:
    return value.replace("_", " ") if isinstance(value, str) else f"{value:g}"


@remembered
def step_hash(step: Step) -> str:
    """Which wording was ticked: twelve hex digits over title, text, cautions and what to reject."""
    words = "\n".join((step.title, step.text, *step.cautions, step.reject or ""))
    return sha256(words.encode()).hexdigest()[:12]


def owns(tool: str, bench: Bench) -> bool:
    """Does the workshop have the tool? A bare name on its list is all sizes; a bare name in a step is any of them."""
    if tool == TORQUE_WRENCH and bench.wrenches:
        return True
    if tool in bench.tools or tool.partition(":")[0] in bench.tools:
        return True
    return ":" not in tool and any(each.startswith(f"{tool}:") for each in bench.tools)


def where_done(step: Step, bench: Bench) -> WhereDone:
    """Home, shop or anywhere: a shop step comes home to who owns all the tools it then needs."""
    if step.where == "shop" and step.home_with and all(owns(tool, bench) for tool in step.home_with):
        return "home"
    return step.where


def tool_use(name: str, library: Library, bench: Bench) -> ToolUse:
    """A tool with its size and title, and whether it is owned."""
    tool, _, size = name.partition(":")
    known = library.tools.get(tool)
    return ToolUse(tool, size or None, known.title if known else tool.replace("-", " "), owns(name, bench))


def asked(fact: Fact, around: Surroundings) -> FactAsked:
    """Where a missing fact is entered and how it is found out at home."""
    placed = around.by_part.get(fact.part_id) if fact.part_id is not None else None
    slot = placed.slot if placed is not None else fact.category
    category = around.library.categories.get(slot)
    field = spec_field(category, fact.key) if category is not None else None
    if field is None:
        title = fact.key.replace("_", " ")
        how = "Enter it on the build's page." if fact.category == "build" else f"Enter {title} at the part."
        return FactAsked(fact.part_id, fact.category, fact.key, title, how)
    return FactAsked(fact.part_id, slot, fact.key, field.title, field.measure)


def decided(fact: Fact, around: Surroundings) -> bool:
    """Is it a figure that the position check decides, which nobody can measure beforehand?"""
    placed = around.by_part.get(fact.part_id) if fact.part_id is not None else None
    category = around.library.categories.get(placed.slot if placed is not None else fact.category)
    field = spec_field(category, fact.key) if category is not None else None
    return field is not None and field.decided


def parts_of(applied: Applied) -> tuple[UUID, ...]:
    """The parts of a step: the one it stands at, those it works on, those it touches."""
    own = (applied.placed,) if applied.placed is not None else ()
    met = (*own, *applied.works_on, *(() if "*" in applied.step.touches else applied.touches))
    return tuple(placed.part.id for placed in once(met))
