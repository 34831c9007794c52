"""From the values of planning to what a client is shown; without a currency no money is shown."""

from collections.abc import Iterable, Mapping, Sequence
from uuid import UUID

from service.domain.bicycle import Bicycle, Placed
from service.domain.compare import Comparison, FindingChange, Measurement, Prospect, SmallPartChange
from service.domain.cost import Cost
from service.domain.fits import WouldFit
from service.domain.gears import Gears
from service.domain.joins import Finding
from service.domain.procedure import Consumable, Library
from service.domain.shopping import Shopping, VisitToMake
from service.domain.small_parts import SmallPartNeeded
from service.domain.steps import ToolUse
from service.domain.tyre_room import EndRoom, TyreRoom
from service.schemas import planning as shown
from service.schemas.builds import FindingCounts, Missing
from service.schemas.fields import Money, MoneySum
from service.schemas.parts import FitShown, PartLine
from service.schemas.showing import show_finding

TIGHTEST_FIRST = ("too little", "narrow", "enough", "not known")


def with_fits(lines: Sequence[PartLine], found: Mapping[UUID, WouldFit]) -> list[PartLine]:
    """The parts with how each would meet there, best first; one that has no such place is left out."""
    there = [line for line in lines if line.id in found]
    told = [line.model_copy(update={"fits": show_fit(found[line.id])}) for line in there]
    return sorted(told, key=lambda line: found[line.id].rank)


def show_fit(fit: WouldFit) -> FitShown:
    """How a part would meet at a place."""
    asked = (each for finding in fit.findings for each in finding.measure)
    measure = dict.fromkeys(f"{_spoken(each.category)}, {each.title.lower()}: {each.how}" for each in asked)
    return FitShown(
        answer=fit.answer,
        conflicts=_said(fit.findings, "conflicts"),
        needs_care_for=_said(fit.findings, "needs care"),
        measure=list(measure),
    )


def _spoken(category: str) -> str:
    return category.replace("-", " ").capitalize()


def _said(findings: Iterable[Finding], answer: str) -> list[str]:
    return [finding.say for finding in findings if finding.answer == answer]


def show_what_if(comparison: Comparison, currency: str | None) -> shown.WhatIfShown:
    """A build as it is and as it would be."""
    return shown.WhatIfShown(
        before=show_prospect(comparison.before, currency),
        after=show_prospect(comparison.after, currency),
        findings=[_change(each) for each in comparison.findings],
        small_parts=[_small_change(each) for each in comparison.small_parts],
    )


def show_comparison(comparison: Comparison, currency: str | None) -> shown.ComparisonShown:
    """Two bicycles side by side."""
    return shown.ComparisonShown(
        sides=[show_prospect(each, currency) for each in (comparison.before, comparison.after)],
        findings=[_change(each) for each in comparison.findings],
        small_parts=[_small_change(each) for each in comparison.small_parts],
    )


def _change(each: FindingChange) -> shown.FindingChangeShown:
    return shown.FindingChangeShown(
        join=each.join,
        title=each.title,
        place=each.place,
        before=show_finding(each.before) if each.before is not None else None,
        after=show_finding(each.after) if each.after is not None else None,
    )


def _small_change(each: SmallPartChange) -> shown.SmallPartChangeShown:
    return shown.SmallPartChangeShown(
        what=each.what,
        unit=each.unit,
        amount_before=each.amount_before,
        amount_after=each.amount_after,
        undecided=not each.decided,
    )


def show_prospect(prospect: Prospect, currency: str | None) -> shown.ProspectShown:
    """What a bicycle comes to."""
    bicycle = prospect.bicycle
    return shown.ProspectShown(
        build=bicycle.build.id,
        name=bicycle.build.name,
        on=[_part_at(each) for each in prospect.what_if.on],
        off=[_part_at(each) for each in prospect.what_if.off],
        findings=count_answers(prospect.findings),
        gears=gears_in_short(prospect.gears),
        tyre_room=rooms_in_short(prospect.room),
        mass=shown.MassInShort(mass_g=prospect.mass.sum_g, leaves_out=prospect.mass.leaves_out),
        cost=_cost(prospect.cost, currency) if currency is not None else None,
        small_parts=[show_small_part(each) for each in prospect.small_parts],
        measure=[show_measurement(each, bicycle) for each in prospect.measure],
        not_known=[f"{each.title}: {each.how}" for each in prospect.not_known],
    )


def _part_at(placed: Placed) -> shown.PartAtShown:
    return shown.PartAtShown(
        part=placed.part.id, name=placed.part.name, category=placed.slot, place=placed.place
    )  # fmt: skip


def count_answers(findings: Sequence[Finding]) -> FindingCounts:
    """How many joins answer what; an accepted conflict counts as accepted alone."""
    answers = [finding.answer for finding in findings if finding.acceptance is None]
    return FindingCounts(
        conflicts=answers.count("conflicts"),
        needs_care=answers.count("needs care"),
        not_measured=answers.count("not measured yet"),
        accepted=len(findings) - len(answers),
    )


def gears_in_short(gears: Gears) -> shown.GearsInShort:
    """The lowest and the highest gear, the range, and what does not take it."""
    lines = gears.gears
    return shown.GearsInShort(
        lowest_m=lines[0].development_m if lines else None,
        highest_m=lines[-1].development_m if lines else None,
        range_percent=gears.range_percent,
        not_enough=[
            f"{limit.what}: {limit.wanted_teeth} wanted, {limit.takes_teeth} taken"
            for limit in gears.limits
            if limit.answer == "not enough"
        ],
    )


def rooms_in_short(room: TyreRoom) -> list[shown.RoomInShort]:
    """The tightest gap at each end."""
    return [_room(end) for end in room.ends]


def _room(end: EndRoom) -> shown.RoomInShort:
    known = [gap for gap in end.gaps if gap.gap_mm is not None]
    tight = min(known, key=lambda gap: (TIGHTEST_FIRST.index(gap.answer), gap.gap_mm), default=None)
    return shown.RoomInShort(
        place=end.place,
        tyre=end.tyre,
        where=tight.where if tight is not None else None,
        gap_mm=tight.gap_mm if tight is not None else None,
        wanted_mm=tight.wanted_mm if tight is not None else None,
        largest_tyre_mm=end.largest_tyre_mm,
        answer=tight.answer if tight is not None else "not known",
    )


def _cost(cost: Cost, currency: str) -> shown.CostInShort:
    return shown.CostInShort(
        total=_sum(cost.total_minor, currency),
        to_buy=_sum(cost.to_buy_minor, currency),
        leaves_out=cost.leaves_out,
    )


def show_measurement(each: Measurement, bicycle: Bicycle) -> shown.MeasurementShown:
    """A fact to find out, with the part's name."""
    fact = each.fact
    part = bicycle.parts.get(fact.part_id) if fact.part_id is not None else None
    return shown.MeasurementShown(
        part=fact.part_id,
        name=part.name if part is not None else "",
        category=fact.category,
        field=fact.field,
        title=fact.title,
        how=fact.how,
        settles=list(each.joins),
    )


def show_small_part(each: SmallPartNeeded) -> shown.SmallPartNeededShown:
    """Something small to be bought with parts."""
    return shown.SmallPartNeededShown(
        what=each.what,
        amount=each.amount,
        unit=each.unit,
        parts=list(each.part_ids),
        undecided=not each.decided,
        settles=list(dict.fromkeys(f"{fact.title}: {fact.how}" for fact in each.settles)),
    )


def show_shopping(
    shopping: Shopping, bicycle: Bicycle, library: Library, currency: str | None
) -> shown.ShoppingShown:  # fmt: skip
    """What is still to be got for a build."""
    return shown.ShoppingShown(
        parts=[
            shown.PartToGetShown(
                part=each.part.id,
                name=each.part.name,
                category=each.part.category,
                place=each.place,
                state=each.part.state,
                expected_on=each.part.expected_on,
                price=_money(each.price_minor, currency),
            )
            for each in shopping.parts
        ],
        missing=[Missing(slot=each.slot, place=each.place, because=each.because) for each in shopping.missing],
        small_parts=[show_small_part(each) for each in shopping.small_parts],
        consumables=_stuff(shopping.consumables, library),
        tools=[
            shown.ToolToGetShown(**_tool(each.tool).model_dump(), steps=list(each.steps)) for each in shopping.tools
        ],
        instead_of_a_shop=[
            shown.ToolsInsteadShown(
                tools=[_tool(tool) for tool in each.tools], steps=list(each.steps), visits_saved=each.visits_saved
            )
            for each in shopping.instead_of_a_shop
        ],
        visits=[_visit(each, bicycle, library) for each in shopping.visits],
        price=_sum(shopping.price_minor, currency),
        without_price=[part.name for part in shopping.without_price],
        bench_known=shopping.bench_known,
    )


def _money(minor: int | None, currency: str | None) -> Money | None:
    return None if minor is None or currency is None else Money(minor=minor, currency=currency)


def _sum(minor: int | None, currency: str | None) -> MoneySum | None:
    return None if minor is None or currency is None else MoneySum(minor=minor, currency=currency)


def _tool(tool: ToolUse) -> shown.ToolNamed:
    return shown.ToolNamed(tool=tool.tool, size=tool.size, title=tool.title)


def _stuff(used: Iterable[Consumable], library: Library) -> list[shown.StuffShown]:
    titles = library.consumables
    return [
        shown.StuffShown(
            what=each.what,
            title=titles[each.what].title if each.what in titles else each.what,
            amount=each.amount,
            unit=each.unit,
        )
        for each in used
    ]


def _visit(visit: VisitToMake, bicycle: Bicycle, library: Library) -> shown.VisitToMakeShown:
    places = {placed.part.id: placed.place for placed in bicycle.placed}
    return shown.VisitToMakeShown(
        visit=visit.visit,
        steps=list(visit.steps),
        bring=[
            shown.PartAtShown(part=part.id, name=part.name, category=part.category, place=places.get(part.id, ""))
            for part in visit.bring
        ],
        small_parts=[show_small_part(each) for each in visit.small_parts],
        consumables=_stuff(visit.consumables, library),
        ready=visit.ready,
        waits_for=list(visit.waits_for),
    )
