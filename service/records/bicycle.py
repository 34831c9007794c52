"""The one loader of a build and all it carries, in a number of statements that does not grow with it."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from itertools import groupby, starmap
from operator import itemgetter
from typing import Any
from uuid import UUID

from sqlalchemy import Date, Select, bindparam, literal, null, or_, select, type_coerce, union_all
from sqlmodel import Session

from service.domain import bicycle as seen
from service.domain.procedure import Library
from service.domain.seats import place_parts
from service.errors import NotFound
from service.records.columns import choices, columns_of, ids, moments
from service.records.people import Who
from service.tables import (
    Acceptance,
    Build,
    EventTask,
    Fitting,
    MaintenanceEvent,
    OdometerReading,
    OwnedTool,
    Part,
    Plan,
    PutOff,
    Ride,
    ServiceRule,
    Spec,
    TorqueFigure,
    WearMeasurement,
    Wrench,
)

DEEPEST = 4

# Each statement is put together once, its columns in the order of the value's fields; a call brings what it asks for.
_ONE: Any = bindparam("one")
_WORKSHOP: Any = bindparam("workshop")
_BUILDS_ASKED: Any = bindparam("builds", expanding=True)
_PARTS_ASKED: Any = bindparam("parts", expanding=True)
_BUILD, _PLAN, _FITTING, _PART = map(columns_of, (Build, Plan, Fitting, Part))
_SPEC, _FIGURE, _RIDE, _READING = map(columns_of, (Spec, TorqueFigure, Ride, OdometerReading))
_EVENT, _DONE, _WEAR = map(columns_of, (MaintenanceEvent, EventTask, WearMeasurement))
_RULE, _PUT_OFF, _WRENCH, _TOOL = map(columns_of, (ServiceRule, PutOff, Wrench, OwnedTool))
_ACCEPTED = columns_of(Acceptance)

_BUILDS = select(
    *(*ids(_BUILD.id), _BUILD.name, *choices(_BUILD.state, _BUILD.use), _BUILD.motor, _BUILD.rider_mass_g),
    *(_BUILD.load_g, *choices(_BUILD.front_brake_hand), _BUILD.metres_before, _BUILD.version, _BUILD.note),
    *(_BUILD.mass_weighed_g, _BUILD.compare_price_minor),
).where(_BUILD.id == _ONE, _BUILD.workshop_id == _WORKSHOP)
_PLANS = (
    select(*ids(_PLAN.id, _PLAN.part_id, _PLAN.into_part_id), _PLAN.slot, _PLAN.place, _PLAN.chosen, _PLAN.note)
    .where(_PLAN.build_id == _ONE)
    .order_by(_PLAN.id)
)
_ACCEPTANCES = (
    select(_ACCEPTED.join, _ACCEPTED.fingerprint, _ACCEPTED.finding, _ACCEPTED.reason, *moments(_ACCEPTED.at))
    .where(_ACCEPTED.build_id == _ONE)
    .order_by(_ACCEPTED.join, _ACCEPTED.at)
)
_FITTINGS = select(
    *ids(_FITTING.id, _FITTING.part_id, _FITTING.build_id, _FITTING.into_part_id),
    *(_FITTING.slot, _FITTING.place, *moments(_FITTING.from_at, _FITTING.to_at), _FITTING.why_removed),
    _BUILD.metres_before,
).outerjoin_from(_FITTING.id.table, _BUILD.id.table, _FITTING.build_id == _BUILD.id)
_ON_BUILD = _FITTINGS.where(_FITTING.build_id == _ONE)
_IN_PARTS = _FITTINGS.where(_FITTING.into_part_id.in_(_PARTS_ASKED))
_OF_PARTS = _FITTINGS.where(_FITTING.part_id.in_(_PARTS_ASKED))
_PARTS = select(
    *(*ids(_PART.id), _PART.category, _PART.name, _PART.tag, *choices(_PART.origin, _PART.state), _PART.expected_on),
    *(_PART.pieces, _PART.metres_before, _PART.made_on, _PART.price_minor, _PART.price_new_minor),
    *(_PART.mass_claimed_g, _PART.mass_weighed_g, _PART.version, _PART.note, _PART.gone_on),
).where(_PART.id.in_(_PARTS_ASKED))
_SPECS = (
    select(*ids(_SPEC.part_id), _SPEC.field, _SPEC.number, _SPEC.words, *choices(_SPEC.known_by), _SPEC.note)
    .where(_SPEC.part_id.in_(_PARTS_ASKED))
    .order_by(_SPEC.part_id, _SPEC.field, _SPEC.position)
)
_FIGURES = select(
    *(*ids(_FIGURE.part_id), _FIGURE.fastening, _FIGURE.low_nm, _FIGURE.high_nm, _FIGURE.as_printed, _FIGURE.dressing)
).where(_FIGURE.part_id.in_(_PARTS_ASKED))
_RIDES = (
    select(
        *(*ids(_RIDE.id, _RIDE.build_id), *moments(_RIDE.started_at), _RIDE.day, _RIDE.metres, _RIDE.moving_s),
        *(*choices(_RIDE.conditions), _RIDE.loaded, _RIDE.descents),
    )
    .where(_RIDE.build_id.in_(_BUILDS_ASKED))
    .order_by(_RIDE.build_id, _RIDE.started_at, _RIDE.id)
)
_READINGS = (
    select(
        *(*ids(_READING.id, _READING.build_id), *moments(_READING.at), _READING.day, _READING.metres),
        _READING.restarts,
    )
    .where(_READING.build_id.in_(_BUILDS_ASKED))
    .order_by(_READING.build_id, _READING.at)
)
_EVENTS = (
    select(
        *(*ids(_EVENT.id, _EVENT.part_id, _EVENT.build_id), *choices(_EVENT.kind, _EVENT.found), *moments(_EVENT.at)),
        *(_EVENT.day, _EVENT.by_shop, *ids(_EVENT.checklist_id), _EVENT.note),
        *(*ids(_DONE.build_id, _DONE.part_id), _DONE.task),
    )
    .outerjoin_from(_EVENT.id.table, _DONE.id.table, _DONE.event_id == _EVENT.id)
    .where(or_(_EVENT.build_id.in_(_BUILDS_ASKED), _EVENT.part_id.in_(_PARTS_ASKED)))
    .order_by(_EVENT.at, _EVENT.id, _DONE.task)
)
_MEASUREMENTS = (
    select(
        *(*ids(_WEAR.id, _WEAR.part_id), _WEAR.dimension, _WEAR.place, _WEAR.low, _WEAR.high, _WEAR.tool),
        *(*moments(_WEAR.at), _WEAR.day),
    )
    .where(_WEAR.part_id.in_(_PARTS_ASKED))
    .order_by(_WEAR.at, _WEAR.id)
)
_RULES = select(
    literal("rule").label("which"),
    *(*ids(_RULE.id, _RULE.build_id, _RULE.part_id), _RULE.task, _RULE.off, _RULE.metres, _RULE.days, _RULE.hours),
    *(_RULE.limit_reading, type_coerce(null(), Date).label("until_on"), null().label("until_metres"), _RULE.reason),
).where(or_(_RULE.build_id == _ONE, _RULE.part_id.in_(_PARTS_ASKED)))
_PUT_OFFS = select(
    literal("put off"),
    *(*ids(_PUT_OFF.id, _PUT_OFF.build_id, _PUT_OFF.part_id), _PUT_OFF.task, null(), null(), null(), null(), null()),
    *(_PUT_OFF.until_on, _PUT_OFF.until_metres, _PUT_OFF.reason),
).where(or_(_PUT_OFF.build_id == _ONE, _PUT_OFF.part_id.in_(_PARTS_ASKED)))
_RULES_AND_PUT_OFFS = union_all(_RULES, _PUT_OFFS)
_BENCH = union_all(
    select(
        *(*ids(_WRENCH.id), _WRENCH.title, _WRENCH.low_nm, _WRENCH.high_nm, _WRENCH.tolerance_percent),
        _WRENCH.checked_on,
    ).where(_WRENCH.workshop_id == _WORKSHOP),
    select(null(), _TOOL.tool, null(), null(), null(), null()).where(_TOOL.workshop_id == _WORKSHOP),
)


def _rows(session: Session, statement: Any, **asked: Any) -> Sequence[Any]:
    """The rows of a statement of plain columns, without the mapper, which would cost more than reading them."""
    return session.connection().execute(statement, asked).all()


class _Found:
    """The fittings met so far, and what the builds they name had run before."""

    def __init__(self) -> None:
        self.fittings: dict[UUID, seen.Fitting] = {}
        self.metres_before: dict[UUID, int] = {}

    def take(self, session: Session, statement: Select[Any], **asked: Any) -> list[seen.Fitting]:
        """Reads the fittings that a statement names; answers those that were not known yet."""
        fresh = []
        for *row, metres_before in _rows(session, statement, **asked):
            fitting = seen.Fitting(*row)
            if fitting.build_id is not None:
                self.metres_before[fitting.build_id] = metres_before
            if fitting.id not in self.fittings:
                self.fittings[fitting.id] = fitting
                fresh.append(fitting)
        return fresh


def load(
    session: Session,
    who: Who,
    build_id: UUID,
    library: Library,
    *,
    with_bench: bool = False,
    with_log: bool = True,
    also: Collection[UUID] | None = None,
) -> seen.Bicycle:
    """The build with its parts, plan, fittings and log. Raises NotFound for another workshop's.

    `with_log` false leaves the rides, readings and events of years unread: a checklist asks for none of them.
    `also`: parts of the workshop that are read too, and every candidate of the plan, with what sits in them.
    """
    session.flush()  # what is stored but not sent yet belongs to it
    own = _rows(session, _BUILDS, one=build_id, workshop=who.workshop_id)
    if not own:
        raise NotFound("build", build_id)
    build = seen.BuildFacts(*own[0])
    plan = tuple(starmap(seen.PlanRow, _rows(session, _PLANS, one=build_id)))
    found = _Found()
    found.metres_before[build_id] = build.metres_before
    others = [row.part_id for row in plan if row.chosen or also is not None] + list(also or ())
    _go_down(session, found, build_id, others)
    placed_ids = _placed_now(found, build_id, plan)
    _go_up(session, found, placed_ids)
    parts = read_parts(session, _parts_met(found, plan) | set(also or ()))
    open_fittings = [fitting for fitting in found.fittings.values() if fitting.to_at is None]
    placed = place_parts(parts, _of_build(open_fittings, build_id, plan), plan, library)
    builds = list(found.metres_before)
    return seen.Bicycle(
        build=build,
        parts=parts,
        placed=placed,
        plan=plan,
        fittings=tuple(sorted(found.fittings.values(), key=lambda each: (each.from_at, each.id))),
        metres_before=found.metres_before,
        acceptances=tuple(starmap(seen.Acceptance, _rows(session, _ACCEPTANCES, one=build_id))),
        **(_log if with_log else _bare)(session, build_id, builds, list(parts)),
        bench=_bench(session, who) if with_bench else seen.Bench(),
    )


def load_loose(session: Session, who: Who, part_id: UUID) -> seen.Bicycle:
    """One part in the parts bin with all that decides what it has run, as a bicycle that is nothing but this part.

    Raises NotFound for a part of another workshop.
    """
    session.flush()
    owned = select(_PART.id).where(_PART.id == part_id, _PART.workshop_id == who.workshop_id)
    if not _rows(session, owned):
        raise NotFound("part", part_id)
    found = _Found()
    _go_up(session, found, [part_id])
    parts = read_parts(session, _parts_met(found, ()) | {part_id})
    part = parts[part_id]
    nowhere = seen.BuildFacts(part_id, "", "laid up", "mixed", False, None, None, None, 0, part.version)
    builds = list(found.metres_before)
    return seen.Bicycle(
        build=nowhere,
        parts=parts,
        placed=(seen.Placed(part, part.category, "", "", None, part_id, None, planned=False),),
        fittings=tuple(sorted(found.fittings.values(), key=lambda each: (each.from_at, each.id))),
        metres_before=found.metres_before,
        **_log(session, part_id, builds, [part_id]),
    )


def _log(session: Session, build_id: UUID, builds: Sequence[UUID], parts: Sequence[UUID]) -> dict[str, Any]:
    """What was ridden, read, done and ruled, in five statements."""
    return {
        "rides": _by_build(seen.Ride, _rows(session, _RIDES, builds=builds)),
        "odometer_readings": _by_build(seen.OdometerReading, _rows(session, _READINGS, builds=builds)),
        "events": _events(session, builds, parts),
        "measurements": tuple(starmap(seen.WearMeasurement, _rows(session, _MEASUREMENTS, parts=parts))),
        **_rules_and_put_offs(session, build_id, parts),
    }


def _bare(session: Session, build_id: UUID, builds: Sequence[UUID], parts: Sequence[UUID]) -> dict[str, Any]:
    """What was ruled and put off alone, in one statement: every page of a build says so."""
    return _rules_and_put_offs(session, build_id, parts)


def _go_down(session: Session, found: _Found, build_id: UUID, planned: Sequence[UUID]) -> None:
    """All that ever sat on this build, and in what sits on it now, level by level."""
    level = found.take(session, _ON_BUILD, one=build_id)
    hosts = {fitting.part_id for fitting in level if fitting.to_at is None} | set(planned)
    for _ in range(DEEPEST - 1):
        if not hosts:
            return
        level = found.take(session, _IN_PARTS, parts=list(hosts))
        hosts = {fitting.part_id for fitting in level if fitting.to_at is None}


def _go_up(session: Session, found: _Found, part_ids: Iterable[UUID]) -> None:
    """Where the parts that are placed now have ever been, and where those hosts have been."""
    asked: set[UUID] = set()
    ask = set(part_ids)
    for _ in range(DEEPEST):
        ask -= asked
        if not ask:
            return
        asked |= ask
        found.take(session, _OF_PARTS, parts=list(ask))
        ask = {f.into_part_id for f in found.fittings.values() if f.part_id in asked and f.into_part_id is not None}


def _of_build(fittings: Sequence[seen.Fitting], build_id: UUID, plan: Sequence[seen.PlanRow]) -> list[seen.Fitting]:
    """The open fittings of this build's tree; a planned part brings along what sits in it already."""
    inside = {build_id} | {row.part_id for row in plan if row.chosen}
    kept: dict[UUID, seen.Fitting] = {}
    for _ in range(DEEPEST + 1):
        for fitting in fittings:
            if fitting.id not in kept and (fitting.build_id == build_id or fitting.into_part_id in inside):
                kept[fitting.id] = fitting
                inside.add(fitting.part_id)
    return list(kept.values())


def _placed_now(found: _Found, build_id: UUID, plan: Sequence[seen.PlanRow]) -> set[UUID]:
    open_fittings = [fitting for fitting in found.fittings.values() if fitting.to_at is None]
    placed = {fitting.part_id for fitting in _of_build(open_fittings, build_id, plan)}
    return placed | {row.part_id for row in plan if row.chosen}


def _parts_met(found: _Found, plan: Sequence[seen.PlanRow]) -> set[UUID]:
    met = {fitting.part_id for fitting in found.fittings.values()}
    met |= {fitting.into_part_id for fitting in found.fittings.values() if fitting.into_part_id is not None}
    return met | {row.part_id for row in plan} | {row.into_part_id for row in plan if row.into_part_id is not None}


def read_parts(session: Session, part_ids: Iterable[UUID]) -> dict[UUID, seen.Part]:
    """Parts with their facts and the makers' figures, in three statements."""
    wanted = list(part_ids)
    if not wanted:
        return {}
    session.flush()
    specs: dict[UUID, dict[str, tuple[seen.SpecFact, ...]]] = defaultdict(dict)
    for part_id, *fact in _rows(session, _SPECS, parts=wanted):
        held = specs[part_id]
        held[fact[0]] = (*held.get(fact[0], ()), seen.SpecFact(*fact))
    figures: dict[UUID, list[seen.TorqueFigure]] = defaultdict(list)
    for figure in _rows(session, _FIGURES, parts=wanted):
        figures[figure[0]].append(seen.TorqueFigure(*figure))
    return {
        row[0]: seen.Part(*(*row, specs.get(row[0], {}), tuple(figures.get(row[0], ()))))
        for row in _rows(session, _PARTS, parts=wanted)
    }


def _by_build(value: Any, rows: Sequence[Any]) -> dict[UUID, tuple[Any, ...]]:
    """Rows that come build by build as values, the build being their second column."""
    return {build: tuple(starmap(value, own)) for build, own in groupby(rows, key=itemgetter(1))}


def _events(session: Session, builds: Sequence[UUID], parts: Sequence[UUID]) -> tuple[seen.Event, ...]:
    held: dict[UUID, tuple[Any, list[seen.DoneTask]]] = {}
    for *own, on_build, on_part, task in _rows(session, _EVENTS, builds=builds, parts=parts):
        _, tasks = held.setdefault(own[0], (own, []))
        if task is not None:
            tasks.append(seen.DoneTask(on_build, on_part, task))
    return tuple(_event(own, tasks) for own, tasks in held.values())


def _event(own: Sequence[Any], tasks: Sequence[seen.DoneTask]) -> seen.Event:
    row_id, part_id, build_id, kind, found, at, day, by_shop, checklist_id, note = own
    return seen.Event(row_id, part_id, build_id, kind, found, at, day, by_shop, checklist_id, tuple(tasks), note)


def _rules_and_put_offs(session: Session, build_id: UUID, parts: Sequence[UUID]) -> dict[str, Any]:
    """The owner's rules and put-offs, in one statement."""
    held: dict[str, list[Any]] = {"rules": [], "put_offs": []}
    for which, row_id, build, part, task, *limits, until_on, until_metres, reason in _rows(
        session, _RULES_AND_PUT_OFFS, one=build_id, parts=parts
    ):
        if which == "rule":
            held["rules"].append(_rule(row_id, build, part, task, limits, reason))
        else:
            held["put_offs"].append(seen.PutOff(build, part, task, until_on, until_metres, reason))
    return {name: tuple(rows) for name, rows in held.items()}


def _rule(
    row_id: UUID, build: UUID | None, part: UUID | None, task: str, limits: list[Any], reason: str
) -> seen.ServiceRule:
    off, metres, days, hours, limit_reading = limits
    return seen.ServiceRule(row_id, build, part, task, bool(off), metres, days, hours, limit_reading, reason)


def _bench(session: Session, who: Who) -> seen.Bench:
    """The workshop's tools and torque wrenches, in one statement."""
    rows = _rows(session, _BENCH, workshop=who.workshop_id)
    return seen.Bench(
        frozenset(row[1] for row in rows if row[0] is None),
        tuple(seen.Wrench(*row) for row in rows if row[0] is not None),
    )
