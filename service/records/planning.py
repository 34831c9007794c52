"""What is asked before anything is bought: what if, side by side, what would fit, what is still to be got."""

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import NamedTuple
from uuid import UUID

from sqlalchemy import select
from sqlmodel import Session, col

from service.domain import bicycle as seen
from service.domain.compare import Comparison, as_it_is, compared, prospect
from service.domain.cost import Spent
from service.domain.facts import category_of, check_fact, field_of
from service.domain.fits import WouldFit, can_fill, would_fit
from service.domain.plan import Plan, look_over
from service.domain.procedure import Library
from service.domain.shopping import Shopping, shopping_list
from service.domain.whatif import Supposed, WhatIf, imagined, seat_of, suppose
from service.errors import Conflict, Fault, NotFound, Refusal, at_pointer
from service.ids import new_id, parse_id
from service.records.bicycle import load
from service.records.columns import choices, columns_of, ids, moments
from service.records.expenses import list_expenses
from service.records.parts import minor_of
from service.records.people import Who
from service.schemas.parts import SpecSent, spec_rows
from service.schemas.planning import CandidateSent, ImaginedSent, SideSent, WhatIfSent
from service.tables import Checklist, Mark, Part

_MARK = columns_of(Mark)
_MARKS = select(
    *(*ids(_MARK.checklist_id), _MARK.step_id, _MARK.fingerprint, *choices(_MARK.state), *moments(_MARK.at)),
    *(*ids(_MARK.by_id), _MARK.step_hash, _MARK.note),
)


class Side(NamedTuple):
    """A build as it is, and with what is supposed on it."""

    before: seen.Bicycle
    after: WhatIf


def currency_for(who: Who) -> str | None:
    """The workshop's currency; None for who may only read: readers see no money."""
    return None if who.may == "read" else who.currency


def supposed_on(
    session: Session,
    who: Who,
    build_id: UUID,
    *,
    parts: Sequence[ImaginedSent] = (),
    chosen: Sequence[CandidateSent] = (),
    library: Library,
    at: str = "",
) -> Side:
    """A build with these parts supposed on it; nothing is stored. `at` is where the question stands in what was sent.

    Raises NotFound for a build or part of another workshop, Refusal for facts, places and prices that cannot be.
    """
    _check_owned(session, who, [each.part for each in chosen])
    bicycle = load(session, who, build_id, library, with_log=False, also={each.part for each in chosen})
    wanted = [_imagined(each, who, library, f"{at}/parts/{number}") for number, each in enumerate(parts)]
    for each in wanted:
        if each.part.id in bicycle.parts:
            say = "This id is that of a part which is there; name that part in chosen, or choose a new id."
            raise Refusal(say, errors=[(f"{each.pointer}/id", "is a part already")])
    wanted += [_candidate(each, bicycle, f"{at}/chosen/{number}") for number, each in enumerate(chosen)]
    return Side(bicycle, suppose(bicycle, wanted, library))


def _check_owned(session: Session, who: Who, part_ids: Iterable[UUID]) -> None:
    asked = list(part_ids)
    if not asked:
        return
    owned = select(col(Part.id)).where(col(Part.id).in_(asked), col(Part.workshop_id) == who.workshop_id)
    there = set(session.execute(owned).scalars())
    for part_id in asked:
        if part_id not in there:
            raise NotFound("part", part_id)


def _candidate(sent: CandidateSent, bicycle: seen.Bicycle, at: str) -> Supposed:
    part = bicycle.parts[sent.part]
    if part.state == "gone":
        raise Conflict(f"{part.name} is gone; choose another part.", errors=[(f"{at}/part", "is gone")])
    there = {placed.part.id for placed in bicycle.placed}
    row = next((row for row in bicycle.plan if row.part_id == part.id and part.id not in there), None)
    if row is not None and sent.place is None and sent.into_part is None and not sent.replaces:
        return Supposed(part, row.place, row.into_part_id, (), at)
    return Supposed(part, sent.place, sent.into_part, tuple(sent.replaces), at)


def _imagined(sent: ImaginedSent, who: Who, library: Library, at: str) -> Supposed:
    with at_pointer(at):
        category = category_of(library, sent.category)
        facts = [fact for key, spec in sent.specs.items() for fact in _facts(library, sent.category, key, spec)]
        part = imagined(
            sent.id or new_id(),
            sent.category,
            sent.name or category.title,
            facts,
            origin=sent.origin,
            pieces=sent.pieces,
            price_minor=minor_of(who, sent.price, "/price"),
            mass_g=sent.mass_g,
        )
    return Supposed(part, sent.place, sent.into_part, tuple(sent.replaces), at)


def _facts(library: Library, category: str, key: str, sent: SpecSent) -> list[seen.SpecFact]:
    rows = spec_rows(sent)
    worth = [row["number"] if row["number"] is not None else row["words"] for row in rows]
    many = sent.numbers is not None or sent.choices is not None
    check_fact(field_of(library, category, key), worth, many=many, sure=sent.sure)
    return [seen.SpecFact(key, row["number"], row["words"], sent.known_by, sent.note) for row in rows]


def what_if(session: Session, who: Who, build_id: UUID, sent: WhatIfSent, *, library: Library) -> Comparison:
    """A build as it is beside the same with what is supposed on it. Raises as `supposed_on`."""
    side = supposed_on(session, who, build_id, parts=sent.parts, chosen=sent.chosen, library=library)
    spent = _spent(session, who, build_id)
    before = prospect(as_it_is(side.before), library, spent)
    return compared(before, prospect(side.after, library, spent))


def compare_sides(session: Session, who: Who, sides: Sequence[SideSent], *, library: Library) -> Comparison:
    """Two bicycles side by side, each a build with what is supposed on it. Raises as `supposed_on`."""
    one, other = (
        prospect(
            supposed_on(
                session, who, side.build, parts=side.parts, chosen=side.chosen, library=library, at=f"/sides/{number}"
            ).after,
            library,
            _spent(session, who, side.build),
        )
        for number, side in enumerate(sides)
    )
    return compared(one, other)


def plan_of(session: Session, who: Who, build_id: UUID, *, library: Library) -> Plan:
    """The plan of a build looked over, with every candidate. Raises NotFound."""
    bicycle = load(session, who, build_id, library, with_log=False, also=())
    return look_over(bicycle, library, _spent(session, who, build_id))


def _spent(session: Session, who: Who, build_id: UUID) -> list[Spent]:
    """What went on a build beside its parts, which supposing a part does not change."""
    rows = list_expenses(session, who, build_id)
    return [Spent(row.id, row.kind, row.amount_minor, row.day, row.note) for row in rows]


class Opening(NamedTuple):
    """A place of a build that is to be filled: the slot, and its whole place ("front.left")."""

    build_id: UUID
    slot: str
    place: str

    @classmethod
    def of(cls, text: str, library: Library) -> "Opening":
        """From BUILD:SLOT:PLACE; the place may be left out. Raises Refusal for another form, or an unknown slot."""
        build, _, rest = text.partition(":")
        slot, _, place = rest.partition(":")
        build_id = parse_id(build)
        if build_id is None or not slot:
            right = "should be BUILD:SLOT:PLACE, such as the build's id, then :tyre:front"
            raise Refusal(f"fits {right}.", errors=[("/fits", right)])
        category_of(library, slot, pointer="/fits")
        return cls(build_id, slot, place)

    def categories(self, library: Library) -> Sequence[str]:
        """The kinds of part that can fill it."""
        return can_fill(self.slot, library)


def fit_of_parts(
    session: Session, who: Who, opening: Opening, part_ids: Sequence[UUID], *, library: Library
) -> dict[UUID, WouldFit]:
    """How each of these parts would meet there, in a number of statements that does not grow with them.

    Raises NotFound for a build of another workshop, Refusal where there is no such place.
    """
    bicycle = load(session, who, opening.build_id, library, with_log=False, also=part_ids)
    try:
        seat_of(category_of(library, opening.slot), opening.place, bicycle.placed)
    except Refusal as refusal:
        refusal.errors = tuple(Fault("/fits", detail) for _, detail in refusal.errors)
        raise
    found = {}
    for part_id in part_ids:
        try:
            found[part_id] = would_fit(bicycle, bicycle.parts[part_id], opening.place, library)
        except Refusal:  # what stands in for the slot has no such place
            continue
    return found


def shopping_of(
    session: Session, who: Who, build_id: UUID, *, library: Library, now: datetime
) -> tuple[seen.Bicycle, Shopping]:
    """A build, and what is still to be got for it. Raises NotFound."""
    bicycle = load(session, who, build_id, library, with_bench=True, with_log=False)
    jobs = _open_jobs(session, build_id)
    return bicycle, shopping_list(bicycle, library, jobs, now=now, today=who.today(now))


def _open_jobs(session: Session, build_id: UUID) -> list[seen.StartedJob]:
    """The open jobs of a build with their marks, in two statements."""
    rows = (
        session.execute(
            select(Checklist)
            .where(col(Checklist.build_id) == build_id, col(Checklist.finished_at).is_(None))
            .order_by(col(Checklist.started_at), col(Checklist.id))
        )
        .scalars()
        .all()
    )
    marks: dict[UUID, list[seen.Mark]] = {row.id: [] for row in rows}
    asked = _MARKS.where(_MARK.checklist_id.in_(list(marks)))
    for checklist_id, *mark in session.connection().execute(asked) if marks else ():
        marks[checklist_id].append(seen.Mark(*mark))
    return [
        seen.StartedJob(
            row.id,
            row.job,
            row.about_part_id,
            row.task,
            row.started_at,
            None,
            tuple(marks[row.id]),
        )
        for row in rows
    ]
