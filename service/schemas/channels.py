"""Channels as they are sent and shown: where reminders go."""

import re
from datetime import datetime
from typing import Annotated, Literal, Self
from urllib.parse import urlsplit
from uuid import UUID

from pydantic import Field, model_validator

from service.schemas.fields import Sent, Shown, Switch, Text, Whole, WrongField, absent

Day = Annotated[Whole, Field(ge=0, le=6)]
_MAIL = re.compile(r"[^@\s\x00-\x1f\x7f<>,;:\"()\[\]\\]{1,64}@[^@\s\x00-\x1f\x7f<>,;:\"()\[\]\\]{1,190}")


class ChannelSent(Sent):
    """A channel for reminders."""

    id: UUID | None = absent("UUIDv7 chosen by the client, so that a retry is the same request.")
    kind: Literal["mail", "webhook"] = Field(description="By mail, or by a call to an address of yours.")
    address: Annotated[Text, Field(min_length=3, max_length=500)] = Field(
        description="An address for mail, or the http or https address that is called."
    )
    weekly_on: Day = Field(default=5, description="The day of the week of the digest: 0 is Monday, 6 is Sunday.")

    @model_validator(mode="after")
    def _fits_its_kind(self) -> Self:
        if self.kind == "mail" and not _MAIL.fullmatch(self.address):
            raise WrongField("address", "should be one address for mail, such as me@home.example")
        if self.kind == "webhook" and not _is_web(self.address):
            raise WrongField("address", "should be an address such as https://home.example/hook, without a password")
        return self


def _is_web(address: str) -> bool:
    if any(ord(each) <= 32 or ord(each) == 127 for each in address):
        return False
    try:
        parts = urlsplit(address)
        port = parts.port
    except ValueError:
        return False
    named = parts.scheme in ("http", "https") and bool(parts.hostname)
    return named and parts.username is None and parts.password is None and port != 0


class ChannelChanged(Sent):
    """Changes of a channel by merge patch (RFC 7396)."""

    weekly_on: Day | None = absent("The day of the week of the digest: 0 is Monday, 6 is Sunday.")
    off: Switch | None = absent("True switches it off: nothing is sent until it is on again.")


class ChannelShown(Shown):
    """A channel, and how it is doing."""

    id: UUID = Field(description="The channel.")
    person: UUID = Field(description="Whose it is.")
    kind: Literal["mail", "webhook"] = Field(description="By mail, or by a call.")
    address: str = Field(description="Where to.")
    weekly_on: int = Field(description="The day of the week of the digest: 0 is Monday, 6 is Sunday.")
    off_at: datetime | None = Field(description="Since when it is switched off; null where it is on.")
    sent_at: datetime | None = Field(description="When something last arrived; null where nothing has yet.")
    failing_since: datetime | None = Field(description="Since when nothing arrives; null where all is well.")
    last_error: str | None = Field(description="Why not.")
    signing_key: str | None = Field(description="Of a new webhook, this once: the key of its signatures; else null.")
    version: int = Field(description="Counts the changes; the ETag.")


class ChannelPage(Shown):
    """The channels of a person."""

    items: list[ChannelShown] = Field(description="Oldest first.")
    next: str | None = Field(description="Always null: they come whole.")
