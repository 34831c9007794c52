"""People, the workshop and devices as they are sent and shown."""

from datetime import date
from typing import Annotated, Literal
from uuid import UUID
from zoneinfo import available_timezones

from pydantic import AfterValidator, Field, StringConstraints

from service.schemas.fields import Instant, Name, Number, Sent, Shown, absent, emptiable

May = Literal["read", "work", "own"]


def _known_zone(text: str) -> str:
    if text not in available_timezones():
        raise ValueError("should be a time zone's name such as Europe/Berlin")
    return text


class WorkshopChanged(Sent):
    """What may be changed of a workshop; what is left out stays."""

    name: Name | None = absent("What the workshop is called.")
    time_zone: Annotated[str, StringConstraints(max_length=60), AfterValidator(_known_zone)] | None = absent(
        "IANA name of the zone in which its days begin."
    )
    currency: Annotated[str, StringConstraints(pattern="^[A-Z]{3}$")] | None = absent("ISO 4217 code of its money.")


class WorkshopShown(Shown):
    """The people, builds, parts and tools that belong together."""

    id: UUID = Field(description="Its id.")
    name: str = Field(description="What it is called.", examples=["Workshop"])
    time_zone: str = Field(description="IANA name of the zone in which its days begin.", examples=["Europe/Berlin"])
    currency: str = Field(description="ISO 4217 code of its money.", examples=["EUR"])
    version: int = Field(description="Counts its changes; the ETag.", examples=[1])


class PersonShown(Shown):
    """Somebody who works or rides."""

    id: UUID = Field(description="Their id.")
    name: str = Field(description="Their name.", examples=["Owner"])
    weekly_km: float | None = Field(description="What they say they ride in a usual week, km; null: not said.")


class MeChanged(Sent):
    """What may be changed of oneself; what is left out stays."""

    weekly_km: Annotated[Number, Field(gt=0, le=5_000)] | None = emptiable("What you ride in a usual week, km.")


class MeShown(Shown):
    """Who asks, where, and what they may."""

    person: PersonShown = Field(description="Who asks.")
    workshop: WorkshopShown = Field(description="The workshop they ask in.")
    may: May = Field(description="What person and device together may: read, work, own.")


class DeviceShown(Shown):
    """A browser or a token that is signed in as this person."""

    id: UUID = Field(description="Its id.")
    title: str = Field(description="What it said of itself when it signed in.", examples=["Phone at the stand"])
    kind: Literal["browser", "token", "calendar"] = Field(description="How it asks.")
    may: May = Field(description="What it may at most.")
    made_at: Instant = Field(description="When it signed in.")
    seen_on: date | None = Field(description="The last day it asked, UTC; null where it never has.")
    expires_at: Instant | None = Field(description="When it ends of itself; null where it does not.")


class DevicesShown(Shown):
    """A page of devices."""

    items: list[DeviceShown] = Field(description="Oldest first.")
    next: str | None = Field(description="Where the next page is; null on the last one.")
