"""From rows and values to what a client is shown: parts with where they are and what they ran, builds as trees."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from service.domain import bicycle as seen
from service.domain.after_ride import Ask
from service.domain.distance import Ridden
from service.domain.due import Due, state_of
from service.domain.instants import end_anywhere
from service.domain.joins import Finding
from service.domain.missing import Missing
from service.domain.steps import Checklist, MeasureFirst
from service.schemas.answers import writer_of
from service.schemas.builds import (
    AcceptanceShown,
    BuildLine,
    BuildShown,
    Doubt,
    DueShort,
    FactCompared,
    FindingCounts,
    FindingShown,
    FittingShown,
    PartInTree,
    PlanShown,
)
from service.schemas.builds import Missing as MissingShown
from service.schemas.care import DuePage, DueShown, EventShown, PutOffShown, RuleShown, WearShown
from service.schemas.checklists import ChecklistShown, MeasureFirstShown
from service.schemas.fields import Money
from service.schemas.parts import (
    OnBuild,
    PartKm,
    PartShown,
    SpecShown,
    TorqueFigureShown,
)
from service.schemas.riding import OdometerShown, RideAsk, RideAsks, RideShown
from service.tables import (
    Fitting,
    MaintenanceEvent,
    OdometerReading,
    Part,
    Plan,
    PutOff,
    Ride,
    ServiceRule,
    WearMeasurement,
)

KM = 1000


def show_facts(facts: Sequence[seen.SpecFact], many: bool) -> SpecShown:
    """One entered spec, a list where its field is one."""
    first = facts[0]
    numbers = [fact.number for fact in facts if fact.number is not None]
    words = [fact.words for fact in facts if fact.words is not None]
    return SpecShown(
        number=None if many else first.number,
        words=None if many else first.words,
        numbers=numbers if many and numbers else None,
        choices=words if many and words else None,
        known_by=first.known_by,
        note=first.note,
    )


def show_part(
    row: Part, bicycle: seen.Bicycle, *, now: datetime, currency: str | None, lists: frozenset[str]
) -> PartShown:
    """A part with its facts; `bicycle` is the one it is on, or nothing but itself; `lists` are its fields of many.

    Without a `currency` no money is shown.
    """
    part = bicycle.parts[row.id]
    ridden = Ridden(bicycle).of_part(row.id, end_anywhere(now.date()))
    return PartShown(
        **row.model_dump(
            include={"id", "category", "name", "tag", "origin", "state", "expected_on", "gone_on", "gone_how", "pieces"}
        ),
        **row.model_dump(include={"made_on", "mass_claimed_g", "mass_weighed_g", "note", "version"}),
        km_before=None if row.metres_before is None else row.metres_before / KM,
        price=_money(row.price_minor, currency),
        price_new=_money(row.price_new_minor, currency),
        specs={key: show_facts(facts, key in lists) for key, facts in sorted(part.specs.items())},
        torque_figures={
            figure.fastening: TorqueFigureShown.model_validate(figure, from_attributes=True)
            for figure in part.torque_figures
        },
        on=_where_it_is(bicycle, row.id),
        km=PartKm(least=ridden.metres / KM, known=ridden.known),
    )


def _money(minor: int | None, currency: str | None) -> Money | None:
    return None if minor is None or currency is None else Money(minor=minor, currency=currency)


def _where_it_is(bicycle: seen.Bicycle, part_id: UUID) -> OnBuild | None:
    for placed in bicycle.placed:
        if placed.part.id == part_id and placed.from_at is not None:
            return OnBuild(
                build=bicycle.build.id,
                into_part=placed.host_id,
                slot=placed.slot,
                place=placed.place,
                fitting=placed.fitting_id,
                from_at=placed.from_at,
            )
    return None


def show_build(
    bicycle: seen.Bicycle,
    *,
    missing: Iterable[Missing],
    findings: Iterable[Finding],
    dues: Sequence[Due],
    now: datetime,
) -> BuildShown:
    """A build with its tree of parts, what is missing, how the joins stand and what is most pressing."""
    build, ridden = bicycle.build, Ridden(bicycle)
    met = list(findings)
    answers = [finding.answer for finding in met if finding.acceptance is None]
    return BuildShown(
        id=build.id,
        name=build.name,
        state=build.state,
        use=build.use,
        motor=build.motor,
        rider_mass_g=build.rider_mass_g,
        load_g=build.load_g,
        front_brake_hand=build.front_brake_hand,
        km=ridden.odometer(build.id).metres(end_anywhere(now.date())) / KM,
        km_before=build.metres_before / KM,
        mass_weighed_g=build.mass_weighed_g,
        note=build.note,
        parts=_tree(bicycle, ridden, now),
        missing=[MissingShown(slot=each.slot, place=each.place, because=each.because) for each in missing],
        findings=FindingCounts(
            conflicts=answers.count("conflicts"),
            needs_care=answers.count("needs care"),
            not_measured=answers.count("not measured yet"),
            accepted=sum(finding.acceptance is not None for finding in met),
        ),
        due=short_due(dues),
        doubts=[Doubt(say=doubt.say) for doubt in ridden.odometer(build.id).doubts],
        version=build.version,
    )


def short_due(dues: Sequence[Due]) -> DueShort:
    """The most pressing thing of a build; fine where nothing is."""
    if not dues:
        return DueShort(state="fine", on=None, what=None)
    first = dues[0]
    return DueShort(state=first.state, on=first.day, what=first.title)


def _tree(bicycle: seen.Bicycle, ridden: Ridden, now: datetime) -> list[PartInTree]:
    inside: dict[UUID | None, list[seen.Placed]] = {}
    for placed in bicycle.placed:
        inside.setdefault(placed.host_id, []).append(placed)

    def branch(host: UUID | None) -> list[PartInTree]:
        return [_in_tree(placed, ridden, now, branch(placed.part.id)) for placed in inside.get(host, ())]

    return branch(None)


def _in_tree(placed: seen.Placed, ridden: Ridden, now: datetime, into: list[PartInTree]) -> PartInTree:
    run = ridden.of_part(placed.part.id, end_anywhere(now.date()))
    return PartInTree(
        slot=placed.slot,
        place=placed.own_place,
        whole_place=placed.place,
        part=placed.part.id,
        name=placed.part.name,
        state=placed.part.state,
        planned=placed.planned,
        fitting=placed.fitting_id,
        from_at=placed.from_at,
        km=run.metres / KM,
        km_known=run.known,
        into=into,
    )


def show_build_line(row: Mapping[str, Any]) -> BuildLine:
    """A build in a list, from its columns."""
    due = DueShort(state=state_of(row["due_rank"]), on=row["due_on"], what=row["due_what"])
    return BuildLine(**{name: row[name] for name in ("id", "name", "state", "use", "version")}, due=due)


def show_finding(finding: Finding) -> FindingShown:
    """How one join stands."""
    return FindingShown(
        join=finding.join,
        title=finding.title,
        answer=finding.answer,
        alternative=finding.care,
        say=finding.say,
        facts=[
            FactCompared(
                part=fact.part_id,
                field=f"{fact.category}.{fact.field}",
                number=fact.number,
                words=fact.words,
                known_by=fact.known_by,
            )
            for fact in finding.facts
        ],
        measure=[f"{each.title}: {each.how}" for each in finding.measure],
        acceptable=finding.acceptable,
        accepting_adds=_added_step(finding),
        acceptance=AcceptanceShown.model_validate(finding.acceptance) if finding.acceptance else None,
        basis=finding.basis,
        source=finding.source,
        fingerprint=finding.fingerprint,
    )


def _added_step(finding: Finding) -> str | None:
    """A step of the join's own file, or "category.key" of another's."""
    step = finding.accepting_adds
    return step if step is None or "." in step else f"{finding.key.partition('.')[0]}.{step}"


def show_fitting(row: Fitting, also: Sequence[str] = ()) -> FittingShown:
    """A fitting."""
    return FittingShown(
        id=row.id,
        part=row.part_id,
        build=row.build_id,
        into_part=row.into_part_id,
        slot=row.slot,
        place=row.place,
        from_at=row.from_at,
        to_at=row.to_at,
        why_removed=row.why_removed,
        also=list(also),
    )


def show_plan(row: Plan) -> PlanShown:
    """A row of the plan."""
    return PlanShown(
        id=row.id,
        part=row.part_id,
        into_part=row.into_part_id,
        slot=row.slot,
        place=row.place,
        chosen=row.chosen,
        note=row.note,
    )


def show_ride(row: Ride) -> RideShown:
    """A ride, in km."""
    own = {"id", "started_at", "day", "moving_s", "climb_m", "conditions", "loaded", "descents", "source"}
    return RideShown(**row.model_dump(include=own | {"note", "version"}), build=row.build_id, km=row.metres / KM)


def show_asks(asks: Iterable[Ask]) -> RideAsks:
    """What a ride asks for."""
    return RideAsks(items=[RideAsk.model_validate(ask) for ask in asks], next=None)


def show_reading(row: OdometerReading) -> OdometerShown:
    """An odometer reading, in km."""
    own = row.model_dump(include={"id", "at", "day", "restarts", "version"})
    return OdometerShown(**own, build=row.build_id, km=row.metres / KM)


def show_event(row: MaintenanceEvent, tasks: Sequence[str], may_complete: Sequence[str] = ()) -> EventShown:
    """An event, with the tasks it completes and, where it completes none, those it could."""
    own = row.model_dump(include={"id", "kind", "found", "at", "day", "by_shop", "note", "version"})
    return EventShown(
        **own,
        part=row.part_id,
        build=row.build_id,
        checklist=row.checklist_id,
        tasks=list(tasks),
        may_complete=[] if tasks else list(may_complete),
    )


def show_measurement(row: WearMeasurement) -> WearShown:
    """A reading of wear."""
    own = {"id", "dimension", "place", "low", "high", "tool", "at", "day", "note", "version"}
    return WearShown(**row.model_dump(include=own), part=row.part_id)


def show_due(due: Due) -> DueShown:
    """Where a task or a dimension stands, with the part's name."""
    return DueShown.model_validate(due)


def _show_measure(each: MeasureFirst) -> MeasureFirstShown:
    fact = each.fact
    return MeasureFirstShown(
        part=fact.part_id,
        category=fact.category,
        field=fact.field,
        title=fact.title,
        how=fact.how,
        decides=each.decides,
    )


@dataclass(frozen=True, slots=True)
class _DueOfBuild:
    """What is due on one build, as DueOfBuild shows it."""

    build: UUID
    name: str
    state: str
    items: tuple[Due, ...]


@dataclass(frozen=True, slots=True)
class _DuePage:
    """A page of builds, as DuePage shows it."""

    items: tuple[_DueOfBuild, ...]
    next: str | None


write_checklist = writer_of(ChecklistShown, Checklist, {MeasureFirst: _show_measure})
"""A job drawn up, as JSON."""
_write_due_page = writer_of(DuePage, _DuePage)


def _due_page(found: Iterable[tuple[seen.Bicycle, Sequence[Due]]], following: str | None) -> _DuePage:
    builds = [(bicycle.build, tuple(dues)) for bicycle, dues in found]
    return _DuePage(tuple(_DueOfBuild(build.id, build.name, build.state, dues) for build, dues in builds), following)


def write_due_page(found: Iterable[tuple[seen.Bicycle, Sequence[Due]]], following: str | None) -> bytes:
    """What is due on these builds, as JSON."""
    return _write_due_page(_due_page(found, following))


def show_due_page(found: Iterable[tuple[seen.Bicycle, Sequence[Due]]]) -> DuePage:
    """What is due on these builds, all on one page."""
    return DuePage.model_validate(_due_page(found, None))


def show_put_off(row: PutOff) -> PutOffShown:
    """A task put off."""
    until_km = None if row.until_metres is None else row.until_metres / KM
    return PutOffShown(task=row.task, until_on=row.until_on, until_km=until_km, reason=row.reason)


def show_rule(row: ServiceRule) -> RuleShown:
    """The owner's own limit."""
    return RuleShown(
        **row.model_dump(include={"task", "off", "days", "hours", "limit_reading", "reason"}),
        km=None if row.metres is None else row.metres / KM,
    )
