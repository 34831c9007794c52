"""The owner's own limits for tasks, and what was put off: on a build as a whole or on one part."""

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any
from uuid import UUID

from sqlalchemy import select
from sqlmodel import Session

from service.domain.procedure import Library, Task, Wear
from service.errors import NotFound, Refusal
from service.ids import new_id
from service.records.lock import take_build, take_part
from service.records.parts import get_part
from service.records.people import Who
from service.schemas.care import PutOffSent, RuleSent
from service.tables import PutOff, ServiceRule

METRES = 1000
LONGEST_PUT_OFF = timedelta(days=30)


@dataclass(frozen=True, slots=True)
class Subject:
    """What a rule or a put-off is about: one of a build and a part."""

    build_id: UUID | None = None
    part_id: UUID | None = None


def put_off(
    session: Session, who: Who, subject: Subject, task: str, sent: PutOffSent, *, library: Library, today: date
) -> PutOff:
    """Puts a task off; it moves the line, never the state.

    Raises Refusal for an unknown task, and for a safety task without a reason or for more than 30 days.
    """
    known = _take(session, who, subject, task, library)
    if known.weight == "safety":
        _check_safety(sent, today)
    row = session.execute(_of(PutOff, subject, task)).scalar_one_or_none()
    if row is None:
        row = PutOff(id=new_id(), build_id=subject.build_id, part_id=subject.part_id, task=task)
        session.add(row)
    row.until_on, row.reason = sent.until_on, sent.reason
    row.until_metres = None if sent.until_km is None else round(sent.until_km * METRES)
    session.flush()
    return row


def _check_safety(sent: PutOffSent, today: date) -> None:
    if not sent.reason.strip():
        raise Refusal("This is a matter of safety: say why it is put off.", errors=[("/reason", "should say why")])
    last = today + LONGEST_PUT_OFF
    if sent.until_on is None or sent.until_on > last:
        raise Refusal(
            f"A matter of safety is put off for at most 30 days: give until_on, no later than {last}.",
            errors=[("/until_on", f"should be no later than {last}")],
        )


def _of(table: type[Any], subject: Subject, task: str) -> Any:
    query = select(table).where(table.task == task)
    if subject.build_id is not None:
        return query.where(table.build_id == subject.build_id)
    return query.where(table.part_id == subject.part_id)


def _take(session: Session, who: Who, subject: Subject, task: str, library: Library) -> Task | Wear:
    """Locks the subject; answers the task or dimension. Raises Refusal for one it does not have."""
    if subject.build_id is not None:
        take_build(session, who, subject.build_id)
        category = "whole-bicycle"
    else:
        assert subject.part_id is not None  # noqa: S101 - one of the two is given
        take_part(session, who, subject.part_id)
        category = get_part(session, who, subject.part_id).category
    found = library.categories.get(category)
    known: dict[str, Task | Wear] = {f"{category}.{each.key}": each for each in found.tasks} if found else {}
    known |= {f"{category}.{each.key}": each for each in found.wear} if found else {}
    if task not in known:
        raise Refusal(f"A {category} has no task {task}; it has {', '.join(sorted(known)) or 'none'}.")
    return known[task]


def no_put_off(session: Session, who: Who, subject: Subject, task: str, *, library: Library) -> None:
    """Takes a put-off back. Raises NotFound where there is none."""
    _drop(session, who, PutOff, subject, task, library=library)


def _drop(session: Session, who: Who, table: type[Any], subject: Subject, task: str, *, library: Library) -> None:
    _take(session, who, subject, task, library)
    row = session.execute(_of(table, subject, task)).scalar_one_or_none()
    if row is None:
        raise NotFound("put-off" if table is PutOff else "rule", task)
    session.delete(row)
    session.flush()


def set_rule(
    session: Session, who: Who, subject: Subject, task: str, sent: RuleSent, *, library: Library
) -> ServiceRule:
    """Sets the owner's own limit, or switches a task off with a reason. Raises Refusal for an unknown task."""
    _take(session, who, subject, task, library)
    row = session.execute(_of(ServiceRule, subject, task)).scalar_one_or_none()
    if row is None:
        row = ServiceRule(id=new_id(), build_id=subject.build_id, part_id=subject.part_id, task=task)
        session.add(row)
    row.off, row.days, row.hours = sent.off, sent.days, sent.hours
    row.limit_reading, row.reason = sent.limit_reading, sent.reason
    row.metres = None if sent.km is None else round(sent.km * METRES)
    session.flush()
    return row


def drop_rule(session: Session, who: Who, subject: Subject, task: str, *, library: Library) -> None:
    """Takes a rule back: the library's limit holds again. Raises NotFound where there is none."""
    _drop(session, who, ServiceRule, subject, task, library=library)
