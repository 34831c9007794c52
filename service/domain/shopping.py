"""What is still to be got for a bicycle: parts, small parts, consumables, tools; and what goes along to a shop."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from uuid import UUID

from service.domain.applying import chapter
from service.domain.bicycle import Bench, Bicycle, Part, PlanRow, StartedJob
from service.domain.checklist import draw_up
from service.domain.joins import with_joins
from service.domain.missing import Missing, missing_parts
from service.domain.places import surroundings
from service.domain.procedure import Consumable, Library
from service.domain.small_parts import SmallPartNeeded, small_parts_of
from service.domain.steps import Checklist, ChecklistStep, ShopVisit, ToolUse
from service.domain.sums import sum_of_known
from service.domain.whatif import Supposed, suppose
from service.domain.wording import owns, tool_use
from service.errors import Refusal

BEING_BUILT = ("planned", "assembling")
TO_GET = ("planned", "ordered")
_JOB = UUID(int=1)


@dataclass(frozen=True, slots=True)
class PartToGet:
    """A part that is chosen and not in hand, at its whole place."""

    part: Part
    place: str

    @property
    def price_minor(self) -> int | None:
        """What is asked for it, else its price as new, in minor units; None where neither is known."""
        return self.part.price_minor if self.part.price_minor is not None else self.part.price_new_minor


@dataclass(frozen=True, slots=True)
class ToolToGet:
    """A tool that open steps need and the bench lacks, with the titles of those steps."""

    tool: ToolUse
    steps: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ToolsInstead:
    """Tools that would bring steps home from a shop, the titles of those steps, and how many visits that saves."""

    tools: tuple[ToolUse, ...]
    steps: tuple[str, ...]
    visits_saved: int


@dataclass(frozen=True, slots=True)
class VisitToMake:
    """One visit to a shop: what is done there, which parts go along, and what those parts still need."""

    visit: int
    steps: tuple[str, ...]
    bring: tuple[Part, ...]
    small_parts: tuple[SmallPartNeeded, ...]
    consumables: tuple[Consumable, ...]
    ready: bool
    waits_for: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Shopping:
    """Everything that is still to be got; `missing` are places for which nothing is chosen yet.

    Where nobody listed any tool (`bench_known` false), every tool counts as not owned.
    """

    parts: tuple[PartToGet, ...]
    missing: tuple[Missing, ...]
    small_parts: tuple[SmallPartNeeded, ...]
    consumables: tuple[Consumable, ...]
    tools: tuple[ToolToGet, ...]
    instead_of_a_shop: tuple[ToolsInstead, ...]
    visits: tuple[VisitToMake, ...]
    bench_known: bool

    @property
    def price_minor(self) -> int | None:
        """The prices of the parts that are known, in minor units, None where none is; without `without_price`."""
        return sum_of_known(each.price_minor for each in self.parts) if self.parts else 0

    @property
    def without_price(self) -> tuple[Part, ...]:
        """The parts of whose price nothing is known."""
        return tuple(each.part for each in self.parts if each.price_minor is None)


@dataclass(frozen=True, slots=True)
class _Drawn:
    """The bicycle that is shopped for with its jobs, and what redraws them for another bench."""

    bicycle: Bicycle
    library: Library
    jobs: tuple[StartedJob, ...]
    now: datetime
    today: date

    def sheets(self, bench: Bench | None = None) -> tuple[Checklist, ...]:
        """The jobs drawn up, with what lies on this bench or on the workshop's own."""
        bicycle = self.bicycle if bench is None else replace(self.bicycle, bench=bench)
        return tuple(draw_up(bicycle, self.library, job, now=self.now, today=self.today) for job in self.jobs)


def shopping_list(
    bicycle: Bicycle, library: Library, jobs: Sequence[StartedJob], *, now: datetime, today: date
) -> Shopping:
    """What is to be got for the open `jobs` of this bicycle, which has its bench with it.

    Without one: for its assembly while it is being built, later for putting on each chosen part that is not there yet.
    """
    to_get = tuple(_parts_to_get(bicycle))
    drawn = _drawn(bicycle, library, tuple(jobs), to_get, now=now, today=today)
    sheets = drawn.sheets()
    steps = tuple({step.id: step for sheet in sheets for step in sheet.steps if step.state == "open"}.values())
    around = with_joins(surroundings(drawn.bicycle, library))
    small = small_parts_of(around, [placed for placed in drawn.bicycle.placed if placed.planned])
    visits = [(sheet, visit) for sheet in sheets for visit in sheet.shop_visits]
    return Shopping(
        parts=to_get,
        missing=missing_parts(bicycle, library),
        small_parts=small,
        consumables=_consumables(steps),
        tools=tuple(_tools_to_get(steps)),
        instead_of_a_shop=tuple(_instead(drawn, sheets)),
        visits=tuple(
            _visit(number, sheet, visit, drawn.bicycle, small) for number, (sheet, visit) in enumerate(visits, start=1)
        ),
        bench_known=bool(bicycle.bench.tools),
    )


def _parts_to_get(bicycle: Bicycle) -> Iterator[PartToGet]:
    whole = {placed.part.id: placed.place for placed in bicycle.placed}
    for row in bicycle.plan:
        part = bicycle.parts[row.part_id]
        if row.chosen and part.state in TO_GET:
            yield PartToGet(part, whole.get(part.id, row.place))


def _drawn(
    bicycle: Bicycle, library: Library, jobs: tuple[StartedJob, ...], to_get: Sequence[PartToGet],
    *, now: datetime, today: date,
) -> _Drawn:  # fmt: skip
    if jobs:
        return _Drawn(bicycle, library, jobs, now, today)
    if bicycle.build.state in BEING_BUILT:
        assembly = StartedJob(_JOB, "assemble", None, None, now, None)
        return _Drawn(bicycle, library, (assembly,) if bicycle.placed else (), now, today)
    new = {each.part.id for each in to_get}
    for row in bicycle.plan:
        if row.chosen and row.part_id in new:
            bicycle = _with_row(bicycle, row, library)
    on = [placed.part.id for placed in bicycle.placed if placed.part.id in new]
    jobs = tuple(StartedJob(part_id, "replace", part_id, None, now, None) for part_id in on)
    return _Drawn(bicycle, library, jobs, now, today)


def _with_row(bicycle: Bicycle, row: PlanRow, library: Library) -> Bicycle:
    """The bicycle with this candidate on, also where another part fills its place now; the same where it cannot."""
    if row.part_id in {placed.part.id for placed in bicycle.placed}:
        return bicycle
    try:
        return suppose(bicycle, [Supposed(bicycle.parts[row.part_id], row.place, row.into_part_id)], library).bicycle
    except Refusal:  # what it should go into has left the bicycle
        return bicycle


def _consumables(steps: Iterable[ChecklistStep]) -> tuple[Consumable, ...]:
    amounts: dict[tuple[str, str], float] = {}
    for used in (used for step in steps for used in step.consumables):
        amounts[used.what, used.unit] = amounts.get((used.what, used.unit), 0.0) + used.amount
    return tuple(Consumable(what=what, amount=amount, unit=unit) for (what, unit), amount in sorted(amounts.items()))


def _tools_to_get(steps: Iterable[ChecklistStep]) -> Iterator[ToolToGet]:
    """Those of steps at home; a shop has its own."""
    met: dict[ToolUse, list[str]] = {}
    for step in steps:
        for tool in step.tools:
            if step.where != "shop" and not tool.owned:
                met.setdefault(tool, []).append(step.title)
    for tool in sorted(met, key=lambda each: (each.title, each.size or "")):
        yield ToolToGet(tool, tuple(dict.fromkeys(met[tool])))


def _instead(drawn: _Drawn, sheets: Sequence[Checklist]) -> Iterator[ToolsInstead]:
    """Each set of tools that brings shop steps home, the most visits saved first; together, where that saves more."""
    bench = drawn.bicycle.bench
    lacking: set[frozenset[str]] = set()
    for step in (step for sheet in sheets for step in sheet.steps if step.state == "open" and step.where == "shop"):
        lacking.add(frozenset(tool for tool in _home_with(step, drawn.library) if not owns(tool, bench)))
    kits = sorted((kit for kit in lacking if kit), key=sorted)
    answers = [_with_tools(kit, drawn, sheets) for kit in kits]
    most = max((each.visits_saved for each in answers), default=0)
    yield from sorted(answers, key=lambda each: -each.visits_saved)
    if len(kits) > 1:
        together = _with_tools(frozenset[str]().union(*kits), drawn, sheets)
        if together.visits_saved > most:
            yield together


def _with_tools(kit: frozenset[str], drawn: _Drawn, sheets: Sequence[Checklist]) -> ToolsInstead:
    bench = replace(drawn.bicycle.bench, tools=drawn.bicycle.bench.tools | kit)
    after = drawn.sheets(bench)
    at_shop = {step.id for sheet in after for step in sheet.steps if step.where == "shop"}
    came_home = [
        step.title
        for sheet in sheets
        for step in sheet.steps
        if step.state == "open" and step.where == "shop" and step.id not in at_shop
    ]
    saved = sum(len(sheet.shop_visits) for sheet in sheets) - sum(len(sheet.shop_visits) for sheet in after)
    tools = tuple(tool_use(name, drawn.library, drawn.bicycle.bench) for name in sorted(kit))
    return ToolsInstead(tools, tuple(dict.fromkeys(came_home)), max(0, saved))


def _home_with(step: ChecklistStep, library: Library) -> tuple[str, ...]:
    file, _, rest = step.id.partition(".")
    key = rest.partition("@")[0].partition(":")[0]
    category = library.categories.get(file)
    found = chapter(category, library).steps if category is not None else ()
    return next((each.step.home_with for each in found if each.step.key == key), ())


def _visit(
    number: int, sheet: Checklist, visit: ShopVisit, bicycle: Bicycle, small: Sequence[SmallPartNeeded]
) -> VisitToMake:
    there = [step for step in sheet.steps if step.id in visit.steps]
    return VisitToMake(
        visit=number,
        steps=tuple(step.title for step in there),
        bring=tuple(bicycle.parts[part_id] for part_id in visit.bring),
        small_parts=tuple(each for each in small if set(each.part_ids) & set(visit.bring)),
        consumables=_consumables(there),
        ready=visit.ready,
        waits_for=visit.waits_for,
    )
