"""Started jobs: starting, drawing up, ticking and skipping steps, taking a tick back."""

from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from itertools import starmap
from typing import Any
from uuid import UUID

from sqlalchemy import bindparam, select
from sqlmodel import Session, col

from service.domain import bicycle as seen
from service.domain.checklist import draw_up
from service.domain.finishing import finish, tick_effects
from service.domain.jobs import find_task
from service.domain.procedure import Library
from service.domain.steps import Checklist, ChecklistStep
from service.errors import Conflict, NotFound, PartsChanged, Refusal
from service.ids import new_id
from service.records import written
from service.records.bicycle import load
from service.records.columns import choices, columns_of, ids, moments
from service.records.fitting import store_fitting
from service.records.lock import take_build
from service.records.once import is_sent_again, store_once
from service.records.parts import get_part
from service.records.people import Who
from service.schemas.checklists import ChecklistStarted, MarkSent
from service.tables import Build, Fitting, Mark, StepRecord, TorqueReading
from service.tables import Checklist as Row

LONGEST_OFFLINE = timedelta(days=30)

# Each statement is put together once, its columns in the order of the value's fields; a call brings the checklist.
_CHECKLIST: Any = bindparam("checklist")
_MARK, _RECORD, _TORQUE = map(columns_of, (Mark, StepRecord, TorqueReading))
_MARKS = select(
    *(_MARK.step_id, _MARK.fingerprint, *choices(_MARK.state), *moments(_MARK.at), *ids(_MARK.by_id)),
    *(_MARK.step_hash, _MARK.note),
).where(_MARK.checklist_id == _CHECKLIST)
_RECORDS = select(_RECORD.step_id, _RECORD.fingerprint, _RECORD.key, _RECORD.number, _RECORD.words).where(
    _RECORD.checklist_id == _CHECKLIST
)
_TORQUES = select(
    *(_TORQUE.step_id, _TORQUE.fingerprint, _TORQUE.fastening, _TORQUE.bolt, _TORQUE.nm, *ids(_TORQUE.wrench_id)),
).where(_TORQUE.checklist_id == _CHECKLIST)


def start_job(
    session: Session, who: Who, build_id: UUID, sent: ChecklistStarted, *, library: Library, now: datetime
) -> tuple[Row, bool]:
    """Starts a job; answers it and whether it is new.

    Raises Refusal for a task that does not exist or a part that is not on the build, Conflict where the build is
    being assembled already.
    """
    take_build(session, who, build_id)
    if sent.task is not None:
        category, _ = find_task(sent.task, library)
        if category.category != "whole-bicycle" and sent.about_part is None:
            raise Refusal(
                f"{sent.task} is a task of one part: name it.", errors=[("/about_part", "should be the part's id")]
            )
    if sent.job == "service" and sent.task is None:
        raise Refusal("A service does a task: name it.", errors=[("/task", "should be a task as category.key")])
    row = Row(
        id=sent.id or new_id(),
        build_id=build_id,
        job=sent.job,
        about_part_id=sent.about_part,
        task=sent.task,
        started_at=now,
        by_id=who.person_id,
    )
    if not is_sent_again(session, row):
        _check_job(session, who, row, library=library, now=now)
    stored, new = store_once(session, row, ignore=frozenset({"started_at", "by_id", "finished_at"}))
    if new and sent.job == "assemble":
        _now_assembling(session, build_id)
    return stored, new


def _check_job(session: Session, who: Who, row: Row, *, library: Library, now: datetime) -> None:
    open_one = (col(Row.build_id) == row.build_id) & (col(Row.job) == "assemble") & col(Row.finished_at).is_(None)
    if row.job == "assemble" and session.execute(select(col(Row.id)).where(open_one)).first() is not None:
        raise Conflict(
            "This build is being assembled already; go on with that job.", errors=[("/job", "is open already")]
        )
    bicycle = load(session, who, row.build_id, library)
    draw_up(bicycle, library, _as_seen(row, (), (), ()), now=now, today=who.today(now))


def _now_assembling(session: Session, build_id: UUID) -> None:
    build = session.get(Build, build_id, populate_existing=True)
    if build is not None and build.state == "planned":
        build.state = "assembling"
        session.flush()


def _as_seen(
    row: Row, marks: Sequence[seen.Mark], records: Sequence[seen.StepRecord], torques: Sequence[seen.TorqueReading]
) -> seen.StartedJob:
    return seen.StartedJob(
        id=row.id,
        job=row.job,  # type: ignore[arg-type]
        about_part_id=row.about_part_id,
        task=row.task,
        started_at=row.started_at,
        finished_at=row.finished_at,
        marks=tuple(marks),
        records=tuple(records),
        torque_readings=tuple(torques),
    )


def get_job(session: Session, who: Who, checklist_id: UUID) -> Row:
    """A started job of this workshop. Raises NotFound for any other."""
    row: Row | None = session.execute(
        select(Row)
        .join(Build, col(Row.build_id) == col(Build.id))
        .where(col(Row.id) == checklist_id, col(Build.workshop_id) == who.workshop_id)
        .execution_options(populate_existing=True)  # it may have been finished while this waited for the build
    ).scalar_one_or_none()
    if row is None:
        raise NotFound("checklist", checklist_id)
    return row


def job_as_seen(session: Session, row: Row) -> seen.StartedJob:
    """A started job with its marks, records and torques, in three statements."""
    session.flush()  # what is stored but not sent yet belongs to it
    read = session.connection().execute
    asked = {"checklist": row.id}
    return _as_seen(
        row,
        list(starmap(seen.Mark, read(_MARKS, asked))),
        list(starmap(seen.StepRecord, read(_RECORDS, asked))),
        list(starmap(seen.TorqueReading, read(_TORQUES, asked))),
    )


def draw(
    session: Session, who: Who, checklist_id: UUID, *, library: Library, now: datetime
) -> tuple[Row, seen.Bicycle, Checklist]:
    """A job drawn up for the parts as they are: its row, the bicycle, the checklist.

    Raises NotFound, and Conflict where the part that the job is about has left the bicycle.
    """
    row = get_job(session, who, checklist_id)
    bicycle = load(session, who, row.build_id, library, with_bench=True, with_log=False)
    if row.about_part_id is not None and row.about_part_id not in {placed.part.id for placed in bicycle.placed}:
        raise Conflict(
            "This job is about a part that is no longer on this bicycle; what it logged stays in the part's history. "
            "Start a new job for the part that is there now."
        )
    return row, bicycle, draw_up(bicycle, library, job_as_seen(session, row), now=now, today=who.today(now))


def list_jobs(session: Session, who: Who, build_id: UUID) -> Sequence[Row]:
    """The jobs of a build, newest first. Raises NotFound for another workshop's build."""
    owned = (col(Build.id) == build_id) & (col(Build.workshop_id) == who.workshop_id)
    if session.execute(select(col(Build.id)).where(owned)).first() is None:
        raise NotFound("build", build_id)
    newest = (col(Row.started_at).desc(), col(Row.id).desc())
    return session.execute(select(Row).where(col(Row.build_id) == build_id).order_by(*newest)).scalars().all()


def tick_step(
    session: Session, who: Who, checklist_id: UUID, step_id: str, sent: MarkSent, *, library: Library, now: datetime
) -> Checklist:
    """Ticks or skips one step for exactly the parts it was shown for; answers the checklist as it is then.

    Ticking a step that fits parts fits those that are planned. Of two marks the later one counts. Raises NotFound for
    a step that is not on the checklist, PartsChanged for a stale fingerprint, Refusal for a record it does not ask for.
    """
    return tick_steps(session, who, checklist_id, {step_id: sent}, library=library, now=now)


def tick_steps(
    session: Session, who: Who, checklist_id: UUID, marks: Mapping[str, MarkSent], *, library: Library, now: datetime
) -> Checklist:
    """Ticks or skips several steps in this order, all or none; drawn up anew only after one that fits parts.

    Raises as `tick_step`.
    """
    take_build(session, who, get_job(session, who, checklist_id).build_id)
    drawn: tuple[Row, seen.Bicycle, Checklist] | None = None
    for step_id, sent in marks.items():
        row, bicycle, checklist = drawn = drawn or draw(session, who, checklist_id, library=library, now=now)
        if row.finished_at is not None:
            raise Conflict(
                "This job is finished; start another one.", errors=[("/state", "is a mark of a finished job")]
            )
        step = find_step(checklist, step_id)
        if _mark_step(session, who, row, bicycle, step, sent, library=library, now=now) and step.fits:
            drawn = None
    return draw(session, who, checklist_id, library=library, now=now)[2]


def _mark_step(
    session: Session,
    who: Who,
    row: Row,
    bicycle: seen.Bicycle,
    step: ChecklistStep,
    sent: MarkSent,
    *,
    library: Library,
    now: datetime,
) -> bool:
    """Stores a mark and what was written with it; answers whether it counts: of two the later one does."""
    if sent.fingerprint != step.fingerprint:
        raise PartsChanged(
            step.reopened or "The parts of this step have changed since it was shown. Look at it again, then tick it.",
            errors=[("/fingerprint", f"is {sent.fingerprint!r}, now {step.fingerprint!r}")],
            current={"state": step.state, "fingerprint": step.fingerprint},
        )
    if sent.state == "skipped" and step.safety and not sent.note.strip():
        raise Refusal("This is a matter of safety: say why it is skipped.", errors=[("/note", "should say why")])
    at = _clipped(sent.at, now)
    held = session.get(Mark, (row.id, step.id, step.fingerprint), populate_existing=True)
    if held is not None and held.at > at:
        return False
    answers = written.check_records(step, sent)
    written.check_facts(answers, bicycle, library)
    torques = written.check_torques(session, who, step, sent)
    mark = _store_mark(session, who, row, step, sent, at=at, held=held)
    written.store(session, bicycle, mark, step, answers=answers, torques=torques)
    if sent.state == "done":
        _fit_planned(session, who, bicycle, step, at=at, library=library)
    session.flush()
    return True


def _clipped(at: datetime | None, now: datetime) -> datetime:
    """A phone's clock is believed within the past 30 days, never ahead."""
    return now if at is None else min(max(at, now - LONGEST_OFFLINE), now)


def find_step(checklist: Checklist, step_id: str) -> ChecklistStep:
    """The step of this id. Raises NotFound where the checklist has none."""
    for step in checklist.steps:
        if step.id == step_id:
            return step
    raise NotFound("step on this checklist called", step_id)


def _store_mark(
    session: Session, who: Who, row: Row, step: ChecklistStep, sent: MarkSent, *, at: datetime, held: Mark | None
) -> Mark:
    mark = held or Mark(
        checklist_id=row.id, step_id=step.id, fingerprint=step.fingerprint, state=sent.state, at=at, step_hash=""
    )
    mark.state, mark.at, mark.by_id = sent.state, at, who.person_id
    mark.step_hash, mark.note = step.step_hash, sent.note
    session.add(mark)
    session.flush()
    return mark


def _fit_planned(
    session: Session, who: Who, bicycle: seen.Bicycle, step: ChecklistStep, *, at: datetime, library: Library
) -> None:
    """Puts on what the step fits and is only planned; each fitting takes the plan row's id, so ticks stay."""
    for going in tick_effects(step, bicycle, library):
        part = bicycle.parts[going.part_id]
        if part.state != "in hand":
            raise Conflict(
                f"{part.name} is {part.state}, not in hand; it cannot be fitted yet.",
                errors=[("/state", f"{part.name} is not in hand")],
            )
        row = Fitting(
            id=going.fitting_id,
            part_id=going.part_id,
            build_id=bicycle.build.id if going.into_part_id is None else None,
            into_part_id=going.into_part_id,
            slot=going.slot,
            place=going.place,
            from_at=at,
        )
        store_fitting(session, get_part(session, who, going.part_id), row, library, also=[], given_at=True)


def untick_step(
    session: Session, who: Who, checklist_id: UUID, step_id: str, *, library: Library, now: datetime
) -> Checklist:
    """Takes the marks of a step back; parts that were fitted with it stay on. Raises NotFound where it has none."""
    take_build(session, who, get_job(session, who, checklist_id).build_id)
    row, _, checklist = draw(session, who, checklist_id, library=library, now=now)
    if row.finished_at is not None:
        raise Conflict("This job is finished; its ticks stay.")
    find_step(checklist, step_id)
    marks = session.execute(
        select(Mark).where(col(Mark.checklist_id) == checklist_id, col(Mark.step_id) == step_id)
    ).scalars()
    found: list[Any] = list(marks)
    if not found:
        raise NotFound("mark of step", step_id)
    for mark in found:
        written.forget(session, mark)
        session.delete(mark)
    session.flush()
    return draw(session, who, checklist_id, library=library, now=now)[2]


def finish_job(
    session: Session, who: Who, checklist_id: UUID, *, library: Library, now: datetime
) -> tuple[Row, Checklist]:
    """Finishes a job and logs its events and readings with it. A finished job stays finished, twice is once.

    Raises Conflict where safety steps are neither done nor skipped with a remark, naming them.
    """
    take_build(session, who, get_job(session, who, checklist_id).build_id)
    row, bicycle, checklist = draw(session, who, checklist_id, library=library, now=now)
    if row.finished_at is not None:
        return row, checklist
    left = [step for step in checklist.steps if step.safety and step.state == "open" and not step.undecided]
    if left:
        names = "; ".join(step.title for step in left[:5]) + ("; and more" if len(left) > 5 else "")
        raise Conflict(
            f"Safety steps are open: {names}. Do them, or skip each on purpose with a remark.",
            errors=[("/finished", f"waits for {step.id}") for step in left],
        )
    row.finished_at = now
    session.flush()
    written.log_finished(
        session, who, checklist, bicycle, finish(checklist, job_as_seen(session, row), library), now=now
    )
    if row.job == "assemble":
        _now_in_service(session, row.build_id)
    return row, draw(session, who, checklist_id, library=library, now=now)[2]


def _now_in_service(session: Session, build_id: UUID) -> None:
    build = session.get(Build, build_id, populate_existing=True)
    if build is not None and build.state in ("planned", "assembling"):
        build.state = "in service"
        session.flush()
