"""The API of channels: where the reminders of a person go."""

from uuid import UUID

from fastapi import Response

from service.api.queries import check_queries
from service.context import Db, IfMatch, Now, Who, signed_in_router, tag_row
from service.errors import Conflict, Forbidden, Gone, NeedsIfMatch, NotFound, Refusal, Stale
from service.records import channels
from service.schemas.channels import ChannelChanged, ChannelPage, ChannelSent, ChannelShown
from service.schemas.problems import refusals
from service.tables import Channel

router = signed_in_router(check_queries, prefix="/api/v1", tags=["people"])


def show_channel(row: Channel, signing_key: str | None = None) -> ChannelShown:
    """A channel; its key only where it was made just now."""
    own = ("id", "kind", "address", "weekly_on", "off_at", "sent_at", "failing_since", "last_error", "version")
    return ChannelShown(person=row.person_id, signing_key=signing_key, **{name: getattr(row, name) for name in own})


@router.get("/people/{person_id}/channels", summary="List channels", responses=refusals(NotFound, Forbidden))
def list_channels(person_id: UUID, db: Db, who: Who) -> ChannelPage:
    """Where reminders of this person go, and how each channel is doing."""
    with db.reading() as session:
        found = channels.list_channels(session, who, person_id)
        return ChannelPage(items=[show_channel(row) for row in found], next=None)


@router.post(
    "/people/{person_id}/channels",
    status_code=201,
    summary="Add a channel",
    responses=refusals(Refusal, NotFound, Forbidden, Conflict, Gone),
)
def add_channel(person_id: UUID, sent: ChannelSent, response: Response, db: Db, who: Who, now: Now) -> ChannelShown:
    """A weekly message, and safety at once. A webhook's signing key is in this answer and in no other."""
    with db.writing() as session:
        row, new = channels.add_channel(session, who, person_id, sent, now=now)
        response.status_code = 201 if new else 200
        tag_row(response, row.version)
        return show_channel(row, row.signing_key if new else None)


@router.patch(
    "/channels/{channel_id}",
    summary="Change a channel",
    responses=refusals(Refusal, NotFound, Forbidden, Stale, NeedsIfMatch),
)
def change_channel(
    channel_id: UUID, sent: ChannelChanged, response: Response, db: Db, who: Who, version: IfMatch, now: Now
) -> ChannelShown:
    """Its day of the week, or off and on again. Needs If-Match."""
    with db.writing() as session:
        row = channels.change_channel(session, who, channel_id, sent, version=version, now=now)
        tag_row(response, row.version)
        return show_channel(row)


@router.delete(
    "/channels/{channel_id}",
    status_code=204,
    summary="Remove a channel",
    responses=refusals(NotFound, Forbidden, Stale, NeedsIfMatch),
)
def remove_channel(channel_id: UUID, db: Db, who: Who, version: IfMatch) -> None:
    """With what waits in it. Needs If-Match."""
    with db.writing() as session:
        channels.remove_channel(session, who, channel_id, version)
