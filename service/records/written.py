"""What is written down with a tick: checked against what the step asks, and kept where it belongs."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from math import nan
from typing import Any
from uuid import UUID

from sqlalchemy import select
from sqlmodel import Session, col

from service.domain import bicycle as seen
from service.domain.facts import check_pairs
from service.domain.finishing import EventToLog, MassToWrite, SetUpToLog, SpecToWrite, ToLog, WearToLog, writes_of
from service.domain.procedure import Library
from service.domain.reading_check import check_scale
from service.domain.steps import Checklist, ChecklistStep, RecordAsked
from service.errors import Refusal
from service.ids import new_id
from service.records.bench import get_wrench
from service.records.people import Who
from service.schemas.checklists import MarkSent, TorqueSent
from service.tables import (
    Build,
    EventTask,
    MaintenanceEvent,
    Mark,
    Part,
    SetUp,
    Spec,
    StepRecord,
    TorqueReading,
    WearMeasurement,
)

Answers = Mapping[str, tuple[RecordAsked, float | str]]
MOST = 1e6
MOST_GRAMS = 500_000


def check_records(step: ChecklistStep, sent: MarkSent) -> Answers:
    """What was written, by key, with what was asked. Raises Refusal naming the record and what would be right."""
    asked = {record.key: record for record in step.records}
    answers: dict[str, tuple[RecordAsked, float | str]] = {}
    for key, answer in sent.records.items():
        if key not in asked:
            wanted = ", ".join(asked) or "nothing"
            raise Refusal(
                f"This step does not ask for {key}; it asks for {wanted}.",
                errors=[(f"/records/{key}", f"is none of {wanted}")],
            )
        answers[key] = (asked[key], _fitting_answer(asked[key], answer))
    return answers


def _fitting_answer(asked: RecordAsked, answer: float | str) -> float | str:
    if asked.choices:
        if answer not in asked.choices:
            _refuse(asked, f"is one of {', '.join(asked.choices)}")
        return answer
    if asked.text:
        return str(answer)
    try:
        number = float(str(answer).strip().replace(",", "."))
    except ValueError:
        number = nan
    if not abs(number) <= MOST:  # "nan" and "inf" are numbers to Python; no database and no JSON keeps them
        _refuse(asked, f"is a number, not {answer!r}")
    if asked.into.rpartition(".")[2] == "mass" and not 0 < number <= MOST_GRAMS:
        _refuse(asked, f"is a mass above 0 and at most {MOST_GRAMS:,} g")
    return number


def check_facts(answers: Answers, bicycle: seen.Bicycle, library: Library) -> None:
    """The facts that are found out at a step, against what is known of their parts. Raises Refusal."""
    found: dict[UUID, dict[str, tuple[str, float]]] = {}
    for key, (asked, answer) in answers.items():
        kind, _, field = asked.into.partition(":")
        _check_scale(key, asked, answer, bicycle, library)
        if asked.part_id is not None and kind.rpartition(".")[2] == "spec" and isinstance(answer, float):
            found.setdefault(asked.part_id, {})[field] = (f"/records/{key}", answer)
    for part_id, facts in found.items():
        part = bicycle.parts.get(part_id)
        category = library.categories.get(part.category) if part is not None else None
        if part is None or category is None:
            continue
        held = {key: each[0].number for key, each in part.specs.items() if each and each[0].number is not None}
        numbers = held | {field: number for field, (_, number) in facts.items()}
        check_pairs(category, numbers, {field: pointer for field, (pointer, _) in facts.items()})


def _check_scale(key: str, asked: RecordAsked, answer: float | str, bicycle: seen.Bicycle, library: Library) -> None:
    """A reading of wear is on its scale; whether it is likely is shown once it is logged, with what was expected."""
    part = bicycle.parts.get(asked.part_id) if asked.part_id is not None else None
    category = library.categories.get(part.category) if part is not None else None
    wear = next((each for each in category.wear if asked.into == f"wear:{each.key}"), None) if category else None
    if wear is not None and isinstance(answer, float):
        check_scale(wear, answer, f"/records/{key}")


def _refuse(asked: RecordAsked, wanted: str) -> None:
    raise Refusal(f"{asked.title}: {wanted}.", errors=[(f"/records/{asked.key}", wanted)])


def check_torques(session: Session, who: Who, step: ChecklistStep, sent: MarkSent) -> Sequence[TorqueSent]:
    """The torques used. Raises Refusal for a fastening or bolt the step does not have, or one done by feel."""
    known = {torque.fastening: torque for torque in step.torques}
    for number, torque in enumerate(sent.torques):
        pointer = f"/torques/{number}"
        found = known.get(torque.fastening)
        if found is None:
            wanted = ", ".join(known) or "none"
            raise Refusal(
                f"This step has no fastening {torque.fastening}; it has {wanted}.",
                errors=[(f"{pointer}/fastening", f"is none of {wanted}")],
            )
        if torque.bolt > found.bolts:
            raise Refusal(
                f"{found.title}: there are {found.bolts}.",
                errors=[(f"{pointer}/bolt", f"should be at most {found.bolts}")],
            )
        if found.high_nm is None:
            raise Refusal(
                f"{found.title} is done by feel, not to a torque.", errors=[(f"{pointer}/nm", "should be left out")]
            )
        if torque.wrench is not None:
            get_wrench(session, who, torque.wrench)
    return sent.torques


def store(
    session: Session,
    bicycle: seen.Bicycle,
    mark: Mark,
    step: ChecklistStep,
    *,
    answers: Answers,
    torques: Sequence[TorqueSent],
) -> None:
    """Keeps what was written: with the tick, and facts, masses and set-ups also where they belong."""
    forget(session, mark)
    key: dict[str, Any] = {
        "checklist_id": mark.checklist_id,
        "step_id": mark.step_id,
        "fingerprint": mark.fingerprint,
    }
    for name, (_, answer) in answers.items():
        number, words = (answer, None) if isinstance(answer, float) else (None, answer)
        session.add(StepRecord(**key, key=name, number=number, words=words))
    for torque in torques:
        session.add(
            TorqueReading(**key, fastening=torque.fastening, bolt=torque.bolt, nm=torque.nm, wrench_id=torque.wrench)
        )
    session.flush()
    _keep_in_place(session, step, bicycle, mark, answers)


def forget(session: Session, mark: Mark) -> None:
    """Removes what was written with a mark; facts and masses that went to their part stay."""
    for table in (StepRecord, TorqueReading):
        rows = session.execute(
            select(table).where(
                col(table.checklist_id) == mark.checklist_id,
                col(table.step_id) == mark.step_id,
                col(table.fingerprint) == mark.fingerprint,
            )
        ).scalars()
        for row in rows:
            session.delete(row)
    session.flush()


def _keep_in_place(session: Session, step: ChecklistStep, bicycle: seen.Bicycle, mark: Mark, answers: Answers) -> None:
    """Specs and masses go to their part, the set-up to the build; readings of wear wait for the end of the job."""
    figures: dict[str, Any] = {}
    for each in writes_of(_with_answers(step, answers)):
        match each:
            case SpecToWrite():
                _keep_fact(session, each)
            case MassToWrite(part_id=part_id, mass_g=mass_g):
                _keep_mass(session, bicycle.build.id, part_id, mass_g)
            case SetUpToLog(field=field, number=number):
                figures[field] = number
    if figures:
        session.add(SetUp(id=new_id(), build_id=bicycle.build.id, at=mark.at, **figures))
    session.flush()


def _with_answers(step: ChecklistStep, answers: Answers) -> ChecklistStep:
    records = []
    for record in step.records:
        _, answer = answers.get(record.key, (record, None))
        number, words = (answer, None) if isinstance(answer, float) else (None, answer)
        records.append(replace(record, number=number, words=words))
    return replace(step, records=tuple(records))


def _keep_mass(session: Session, build_id: UUID, part_id: UUID | None, mass_g: float) -> None:
    if part_id is None:
        build = session.get(Build, build_id, populate_existing=True)
        if build is not None:
            build.mass_weighed_g = round(mass_g)
        return
    part = session.get(Part, part_id, populate_existing=True)
    if part is not None:
        part.mass_weighed_g = mass_g


def _keep_fact(session: Session, fact: SpecToWrite) -> None:
    row = session.get(Spec, (fact.part_id, fact.field, 0), populate_existing=True)
    if row is None:
        row = Spec(part_id=fact.part_id, field=fact.field, position=0, known_by="measured")
        session.add(row)
    row.number, row.words, row.known_by = fact.number, fact.words, "measured"


def log_finished(
    session: Session, who: Who, checklist: Checklist, bicycle: seen.Bicycle, found: Sequence[ToLog], *, now: datetime
) -> None:
    """Logs what a finished job did: the task it completed or the look it was, and its readings of wear."""
    at_step = {step.id: step.marked_at or now for step in checklist.steps}
    for each in found:
        if isinstance(each, EventToLog):
            _log_event(session, who, checklist.id, bicycle, each, now=now)
        elif isinstance(each, WearToLog):
            at = at_step.get(each.step_id, now)
            session.add(
                WearMeasurement(
                    id=new_id(),
                    part_id=each.part_id,
                    dimension=each.dimension,
                    place=each.place,
                    low=each.number,
                    high=each.number,
                    at=at,
                    day=who.today(at),
                )
            )
    session.flush()


def _log_event(
    session: Session, who: Who, checklist_id: UUID, bicycle: seen.Bicycle, found: EventToLog, *, now: datetime
) -> None:
    build_id = bicycle.build.id if found.part_id is None else None
    event = MaintenanceEvent(
        id=new_id(),
        part_id=found.part_id,
        build_id=build_id,
        kind=found.kind,
        at=now,
        day=who.today(now),
        by_id=who.person_id,
        checklist_id=checklist_id,
    )
    session.add(event)
    session.flush()
    if found.task is not None:
        session.add(
            EventTask(id=new_id(), event_id=event.id, build_id=build_id, part_id=found.part_id, task=found.task)
        )
