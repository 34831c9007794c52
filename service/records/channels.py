"""Where reminders go: the channels of a person."""

import secrets
from collections.abc import Sequence
from datetime import datetime
from uuid import UUID

from sqlalchemy import select
from sqlmodel import Session, col

from service.errors import Forbidden, NotFound, Refusal
from service.ids import new_id
from service.records.lock import check_version
from service.records.once import store_once
from service.records.people import Who
from service.schemas.channels import ChannelChanged, ChannelSent
from service.tables import Channel, Member

MOST = 20


def list_channels(session: Session, who: Who, person_id: UUID) -> Sequence[Channel]:
    """The channels of a person, oldest first. Raises NotFound, Forbidden."""
    _check_person(session, who, person_id)
    mine = select(Channel).where(col(Channel.person_id) == person_id)
    return session.scalars(mine.order_by(col(Channel.made_at), col(Channel.id))).all()


def _check_person(session: Session, who: Who, person_id: UUID) -> None:
    """Oneself, or, for who owns the workshop, anybody in it."""
    if person_id == who.person_id:
        return
    member = select(col(Member.person_id)).where(
        col(Member.person_id) == person_id, col(Member.workshop_id) == who.workshop_id
    )
    if session.scalar(member) is None:
        raise NotFound("person", person_id)
    if who.may != "own":
        raise Forbidden("Only they themselves, or an owner of the workshop, say where reminders go.")


def add_channel(
    session: Session, who: Who, person_id: UUID, sent: ChannelSent, *, now: datetime
) -> tuple[Channel, bool]:
    """Stores a channel; a webhook gets a signing key, which is shown this once. Answers it and whether it is new.

    Raises NotFound, Forbidden, Refusal beyond twenty.
    """
    if len(list_channels(session, who, person_id)) >= MOST:
        raise Refusal(f"There are {MOST} channels already; remove one first.")
    key = secrets.token_hex(32) if sent.kind == "webhook" else None
    channel = Channel(
        id=sent.id or new_id(),
        person_id=person_id,
        kind=sent.kind,
        address=sent.address,
        signing_key=key,
        weekly_on=sent.weekly_on,
        made_at=now,
    )
    return store_once(session, channel, ignore=frozenset({"signing_key", "made_at"}))


def get_channel(session: Session, who: Who, channel_id: UUID) -> Channel:
    """A channel of somebody this person may speak for. Raises NotFound."""
    channel = session.get(Channel, channel_id, populate_existing=True)
    if channel is None:
        raise NotFound("channel", channel_id)
    try:
        _check_person(session, who, channel.person_id)
    except NotFound:
        raise NotFound("channel", channel_id) from None
    return channel


def change_channel(
    session: Session, who: Who, channel_id: UUID, sent: ChannelChanged, *, version: int | None, now: datetime
) -> Channel:
    """Sets the day, or switches it off and on again. Raises NotFound, Forbidden, Stale."""
    channel = get_channel(session, who, channel_id)
    check_version(channel, version)
    if sent.weekly_on is not None:
        channel.weekly_on = sent.weekly_on
    if sent.off is not None:
        channel.off_at = (channel.off_at or now) if sent.off else None
    session.flush()
    return channel


def remove_channel(session: Session, who: Who, channel_id: UUID, version: int | None) -> None:
    """Removes a channel with what waits in it. Raises NotFound, Forbidden, Stale."""
    channel = get_channel(session, who, channel_id)
    check_version(channel, version)
    session.delete(channel)
    session.flush()
