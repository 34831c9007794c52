"""What a checklist adds up to: tools, consumables, small parts, facts to find out first, who should look at it."""

from collections.abc import Iterable, Mapping, Sequence

from service.domain.applying import Applied, once
from service.domain.bicycle import Bench
from service.domain.condition import Answer, judge
from service.domain.joins import Finding
from service.domain.places import Surroundings
from service.domain.procedure import Consumable, Library
from service.domain.steps import (
    ChecklistStep,
    FactAsked,
    MeasureFirst,
    Progress,
    SmallPartToBuy,
    ToolUse,
)
from service.domain.wording import asked, decided, title_of, tool_use


def measure_first(steps: Iterable[Applied], around: Surroundings) -> tuple[MeasureFirst, ...]:
    """The facts that decide open steps, most decisive first, without what the position decides."""
    decides: dict[FactAsked, int] = {}
    for applied in steps:
        if applied.judged.answer is not Answer.UNKNOWN:
            continue
        for ask in dict.fromkeys(asked(f, around) for f in applied.judged.settles if not decided(f, around)):
            decides[ask] = decides.get(ask, 0) + 1
    return tuple(MeasureFirst(ask, count) for ask, count in sorted(decides.items(), key=lambda each: -each[1]))


def every_tool(steps: Iterable[Applied], library: Library, bench: Bench) -> Mapping[str, ToolUse]:
    """Every tool of these steps by the name that steps give it."""
    names = {name for applied in steps for name in applied.step.tools}
    return {name: tool_use(name, library, bench) for name in names}


def tools_of(steps: Iterable[Applied], tools: Mapping[str, ToolUse]) -> tuple[ToolUse, ...]:
    """Every tool of these steps once, by name and size."""
    names = {name for applied in steps for name in applied.step.tools}
    return tuple(sorted((tools[name] for name in names), key=_by_size))


def _by_size(tool: ToolUse) -> tuple[str, float, str]:
    size = tool.size or ""
    return (tool.tool, float(size) if size.replace(".", "", 1).isdigit() else 0.0, size)


def consumables_of(steps: Iterable[Applied]) -> tuple[Consumable, ...]:
    """What these steps use up, summed by name and unit."""
    amounts: dict[tuple[str, str], float] = {}
    for applied in steps:
        for used in applied.step.consumables:
            amounts[used.what, used.unit] = amounts.get((used.what, used.unit), 0.0) + used.amount
    return tuple(Consumable(what=what, amount=amount, unit=unit) for (what, unit), amount in sorted(amounts.items()))


def small_parts(steps: Iterable[Applied], around: Surroundings) -> tuple[SmallPartToBuy, ...]:
    """What must be bought beside the parts that these steps put on; nothing for parts that came fitted."""
    fitted = once(placed for applied in steps for placed in applied.fits if placed.planned)
    met: list[SmallPartToBuy] = []
    for placed in fitted:
        category = around.library.categories.get(placed.slot)
        for small in category.small_parts if category is not None else ():
            if small.carried == "only":
                continue
            answer = judge(small.when, around.here(placed)).answer
            if answer is not Answer.NO and placed.part.origin != "came fitted":
                unsure = answer is Answer.UNKNOWN
                met.append(SmallPartToBuy(small.what, small.amount, small.unit, placed.part.id, unsure))
    return tuple(met)


def progress(steps: Sequence[ChecklistStep]) -> Progress:
    """How far the checklist is."""
    open_steps = [step for step in steps if step.state == "open"]
    return Progress(
        total=len(steps),
        done=sum(step.state == "done" for step in steps),
        skipped=sum(step.state == "skipped" for step in steps),
        open=len(open_steps),
        undecided=sum(bool(step.undecided) for step in open_steps),
    )


def needs_mechanic(
    skipped: Iterable[Applied],
    accepted: Iterable[Finding],
    *,
    left_open: Iterable[Applied] = (),
    left_out: Iterable[str] = (),
) -> str | None:
    """Why a qualified mechanic should look the bicycle over; None where nothing asks for it.

    `skipped` and `left_open` are safety steps: passed over, or not done when the job was finished; `left_out` says what
    a person's own files take away.
    """
    reasons = [f"skipped: {title_of(applied)}" for applied in skipped]
    reasons += [f"not done: {title_of(applied)}" for applied in left_open]
    reasons += [f"accepted with a reason: {each.title}" for each in accepted]
    reasons += left_out
    if not reasons:
        return None
    return (
        "A qualified mechanic should look this bicycle over before it is ridden in traffic or off-road; "
        f"{'; '.join(reasons)}."
    )
