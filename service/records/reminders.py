"""The outbox: what is planned for each channel, claimed by one process, and marked once it has arrived or has not."""

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any, NamedTuple
from uuid import UUID, uuid4
from zoneinfo import ZoneInfo

from sqlalchemy import and_, or_, select, update
from sqlalchemy.dialects import postgresql, sqlite
from sqlmodel import Session, col

from service.domain.due import RANKS
from service.domain.procedure import Library
from service.domain.reminding import Kind, Told, Words, in_words, is_told, is_urgent, most_pressing, trial_words
from service.domain.standing import Due
from service.ids import new_id
from service.records.bicycle import load
from service.records.care import due_now
from service.records.people import Who
from service.schemas.showing import show_due
from service.tables import Build, Channel, Member, Message, Person, Reminder, Workshop

LEASE = timedelta(minutes=5)
"""Longer than everything that may time out while sending: nobody takes a message over from who is still at it."""
WAITS = (timedelta(minutes=5), timedelta(minutes=30), timedelta(hours=2), timedelta(hours=6), timedelta(days=1))
"""After each try that failed; from the last on it is tried daily."""
EARLIEST = time(7)
"""Nobody is woken by a weekly message."""
LONGEST_ERROR = 300


class Mine(NamedTuple):
    """A channel with who it speaks to."""

    channel_id: UUID
    weekly_on: int
    planned_on: date | None
    made_at: datetime
    who: Who


@dataclass(frozen=True, slots=True)
class Claimed:
    """A message that this process alone may send, until its lease ends."""

    id: UUID
    claim: UUID
    kind: str
    address: str
    channel_kind: str
    signing_key: str | None
    subject: str
    text: str
    body: str
    made_at: datetime
    tries: int


def open_channels(session: Session) -> list[Mine]:
    """Every channel that is on, of people who are still there, in the workshop they are a member of."""
    rows = session.execute(
        select(
            *(col(Channel.id), col(Channel.weekly_on), col(Channel.planned_on), col(Channel.made_at), col(Person.id)),
            *(col(Member.workshop_id), col(Member.may), col(Workshop.time_zone), col(Workshop.currency)),
            col(Person.weekly_metres),
        )
        .join(Person, col(Person.id) == col(Channel.person_id))
        .join(Member, col(Member.person_id) == col(Person.id))
        .join(Workshop, col(Workshop.id) == col(Member.workshop_id))
        .where(col(Channel.off_at).is_(None), col(Person.left_at).is_(None))
        .order_by(col(Channel.id), col(Member.workshop_id))
    ).all()
    return [Mine(row[0], row[1], row[2], row[3], Who(row[4], row[5], None, *row[6:])) for row in rows]


def is_weekly_due(mine: Mine, now: datetime) -> bool:
    """Has the channel's day of the week come, late enough, and nothing been planned since?

    A service that was off on that day makes up for it; a channel that was made since then waits for its next day.
    """
    zone = ZoneInfo(mine.who.time_zone)
    local = now.astimezone(zone)
    back = (local.weekday() - mine.weekly_on) % 7
    day = local.date() - timedelta(days=7 if back == 0 and local.time() < EARLIEST else back)
    if mine.planned_on is not None:
        return mine.planned_on < day
    return mine.made_at.astimezone(zone).date() <= day


def judge(session: Session, who: Who, *, library: Library, now: datetime, pressing: bool) -> list[Told]:
    """What is due on the builds of a workshop that are not retired; `pressing`: of those where something is overdue."""
    wanted = select(col(Build.id)).where(col(Build.workshop_id) == who.workshop_id, col(Build.state) != "retired")
    if pressing:
        wanted = wanted.where(col(Build.due_rank) >= RANKS["overdue"])
    told = []
    for build_id in session.scalars(wanted.order_by(col(Build.id))).all():
        bicycle = load(session, who, build_id, library)
        told.append(Told(bicycle.build.name, due_now(bicycle, library, who, now)))
    return told


def plan(
    session: Session, mine: Mine, found: Sequence[Told], kind: Kind, *, library: Library, now: datetime,
    address: str | None,
) -> UUID | None:  # fmt: skip
    """Puts a message about what was not told yet into the outbox; answers it, or None where there is nothing to tell.

    One statement takes the channel's row, so that of two processes at once one plans and the other finds it done.
    """
    today = mine.who.today(now)
    taking = update(Channel).where(col(Channel.id) == mine.channel_id, col(Channel.off_at).is_(None))
    if kind == "weekly":
        not_yet = or_(col(Channel.planned_on).is_(None), col(Channel.planned_on) != today)
        taking = taking.where(not_yet).values(planned_on=today)
    else:
        taking = taking.values(version=col(Channel.version))
    taken = session.execute(taking.returning(col(Channel.id)).execution_options(synchronize_session=False))
    if taken.scalar_one_or_none() is None:
        return None
    is_wanted = is_urgent if kind == "at once" else is_told
    told_already = _told_at_once(session, mine.channel_id) if kind == "weekly" else frozenset()
    message_id = new_id()
    fresh: list[Told] = []
    won: list[dict[str, Any]] = []
    keys = set(told_already)
    for each in found:
        wanted = {key_of(due): due for due in each.dues if is_wanted(due) and key_of(due) not in keys}
        keys |= wanted.keys()
        rows = [_row(due, mine.channel_id, message_id, kind) for due in wanted.values()]
        new = [not _is_there(session, row) for row in rows]
        fresh.append(Told(each.build, [due for due, is_new in zip(wanted.values(), new, strict=True) if is_new]))
        won += [row for row, is_new in zip(rows, new, strict=True) if is_new]
    told = most_pressing(fresh)
    if not told:
        return None
    words = in_words(told, library, today, kind, address)
    _store(session, message_id, mine.channel_id, kind, words, _body(told, kind, today), now)
    _insert(session, won)
    return message_id


def _told_at_once(session: Session, channel_id: UUID) -> frozenset[tuple[str, str, str, str]]:
    """What this channel was told at once already: the weekly message need not say it again."""
    of = Reminder
    rows = session.execute(
        select(col(of.build_id), col(of.part_id), col(of.task), col(of.place), col(of.cycle)).where(
            col(of.channel_id) == channel_id, col(of.kind) == "at once"
        )
    )
    return frozenset((str(part or build), task, place, cycle) for build, part, task, place, cycle in rows)


def key_of(due: Due) -> tuple[str, str, str, str]:
    """One occurrence: of whom, what, where, which round."""
    return str(due.part_id or due.build_id), due.task, due.place, due.cycle


def _row(due: Due, channel_id: UUID, message_id: UUID, kind: Kind) -> dict[str, Any]:
    return {
        "id": new_id(),
        "channel_id": channel_id,
        "message_id": message_id,
        "build_id": None if due.part_id else due.build_id,
        "part_id": due.part_id,
        "task": due.task,
        "place": due.place,
        "cycle": due.cycle,
        "kind": kind,
    }


def _is_there(session: Session, row: dict[str, Any]) -> bool:
    same = [getattr(Reminder, name) == row[name] for name in ("channel_id", "kind", "task", "place", "cycle")]
    same += [getattr(Reminder, name) == row[name] for name in ("build_id", "part_id") if row[name] is not None]
    return session.execute(select(col(Reminder.id)).where(*same)).first() is not None


def _insert(session: Session, rows: Sequence[dict[str, Any]]) -> None:
    """Adds the lines; the channel's row is held, so nobody else adds the same."""
    if not rows:
        return
    dialect = postgresql if session.get_bind().dialect.name == "postgresql" else sqlite
    session.execute(dialect.insert(Reminder).on_conflict_do_nothing(), list(rows))


def _store(
    session: Session, message_id: UUID, channel_id: UUID, kind: Kind, words: Words, body: Any, now: datetime
) -> None:
    values = {
        "id": message_id,
        "channel_id": channel_id,
        "kind": kind,
        "made_at": now,
        "subject": words.subject,
        "text": words.text,
        "body": json.dumps(body, ensure_ascii=False, separators=(",", ":")),
        "next_try_at": now,
        "tries": 0,
    }
    dialect = postgresql if session.get_bind().dialect.name == "postgresql" else sqlite
    session.execute(dialect.insert(Message).values(**values))


def _body(told: Iterable[Told], kind: Kind, today: date) -> dict[str, Any]:
    bicycles = [
        {"name": each.build, "items": [show_due(due).model_dump(mode="json", by_alias=True) for due in each.dues]}
        for each in told
    ]
    return {"kind": kind, "day": today.isoformat(), "bicycles": bicycles}


def plan_trial(session: Session, channel_id: UUID, *, now: datetime, address: str | None) -> UUID:
    """Puts a message into the outbox that says only that messages arrive."""
    message_id = new_id()
    body = {"kind": "trial", "day": now.date().isoformat(), "bicycles": []}
    _store(session, message_id, channel_id, "trial", trial_words(address), body, now)
    return message_id


def claim(session: Session, now: datetime) -> Claimed | None:
    """Takes the next message that waits, for this process alone and for the time of its lease; None where none does."""
    mine = uuid4()
    free = or_(col(Message.leased_until).is_(None), col(Message.leased_until) < now)
    waiting = and_(col(Message.sent_at).is_(None), free, col(Message.next_try_at) <= now)
    one = (
        select(col(Message.id))
        .join(Channel, col(Channel.id) == col(Message.channel_id))
        .where(waiting, col(Channel.off_at).is_(None))
        .order_by(col(Message.next_try_at), col(Message.id))
        .limit(1)
        .with_for_update(skip_locked=True, of=Message)
        .scalar_subquery()
    )
    taking = update(Message).where(col(Message.id) == one, waiting).values(claim=mine, leased_until=now + LEASE)
    found = session.execute(taking.returning(Message).execution_options(synchronize_session=False)).scalar_one_or_none()
    if found is None:
        return None
    channel = session.get_one(Channel, found.channel_id)
    return Claimed(
        found.id, mine, found.kind, channel.address, channel.kind, channel.signing_key, found.subject, found.text,
        found.body, found.made_at, found.tries,
    )  # fmt: skip


def mark_sent(session: Session, claimed: Claimed, now: datetime) -> bool:
    """Notes that a message has arrived, if it is still ours; answers whether it was."""
    mine = (col(Message.id) == claimed.id) & (col(Message.claim) == claimed.claim)
    done = update(Message).where(mine).values(sent_at=now, leased_until=None, last_error=None)
    found = session.execute(done.returning(col(Message.channel_id)).execution_options(synchronize_session=False))
    channel_id = found.scalar_one_or_none()
    if channel_id is None:
        return False
    well = {"sent_at": now, "failing_since": None, "last_error": None}
    _set_channel(session, channel_id, well)
    return True


def mark_failed(session: Session, claimed: Claimed, why: str, now: datetime) -> None:
    """Notes why a message did not arrive, and when it is tried again; a channel is never switched off for it."""
    wait = WAITS[min(claimed.tries, len(WAITS) - 1)]
    mine = (col(Message.id) == claimed.id) & (col(Message.claim) == claimed.claim)
    error = why[:LONGEST_ERROR]
    later = (
        update(Message)
        .where(mine)
        .values(tries=claimed.tries + 1, next_try_at=now + wait, leased_until=None, last_error=error)
    )
    found = session.execute(later.returning(col(Message.channel_id)).execution_options(synchronize_session=False))
    channel_id = found.scalar_one_or_none()
    if channel_id is not None:
        failing = {"last_error": error}
        _set_channel(session, channel_id, failing)
        since = update(Channel).where(col(Channel.id) == channel_id, col(Channel.failing_since).is_(None))
        session.execute(since.values(failing_since=now).execution_options(synchronize_session=False))


def _set_channel(session: Session, channel_id: UUID, values: dict[str, Any]) -> None:
    change = update(Channel).where(col(Channel.id) == channel_id).values(**values)
    session.execute(change.execution_options(synchronize_session=False))


def waiting_count(session: Session, channel_ids: Iterable[UUID]) -> dict[UUID, int]:
    """How many messages wait in each channel."""
    asked = list(channel_ids)
    rows = session.execute(
        select(col(Message.channel_id)).where(col(Message.channel_id).in_(asked), col(Message.sent_at).is_(None))
    ).scalars()
    counted = dict.fromkeys(asked, 0)
    for channel_id in rows:
        counted[channel_id] += 1
    return counted
