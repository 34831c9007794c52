"""The API of who asks: person, workshop, devices."""

from uuid import UUID

from fastapi import Response

from service.api.queries import check_queries
from service.context import Db, IfMatch, Now, Who, signed_in_router, tag_row
from service.errors import Conflict, Forbidden, NeedsIfMatch, NotFound, Stale
from service.records import people
from service.schemas.people import (
    DeviceShown,
    DevicesShown,
    MeChanged,
    MeShown,
    PersonShown,
    WorkshopChanged,
    WorkshopShown,
)
from service.schemas.problems import refusals

router = signed_in_router(check_queries, prefix="/api/v1", tags=["people"])


@router.get("/me", summary="Who am I")
def get_me(db: Db, who: Who) -> MeShown:
    """The person and the workshop that the token or the cookie stands for."""
    with db.reading() as session:
        return MeShown(
            person=PersonShown.model_validate(people.person_of(session, who)),
            workshop=WorkshopShown.model_validate(people.workshop_of(session, who)),
            may=who.may,
        )


@router.patch("/me", summary="Change myself")
def change_me(changed: MeChanged, db: Db, who: Who) -> MeShown:
    """What you ride in a usual week: days are counted by it where a bicycle's rides do not tell them yet."""
    with db.writing() as session:
        person = people.person_of(session, who)
        if "weekly_km" in changed.model_fields_set:
            metres = None if changed.weekly_km is None else round(changed.weekly_km * 1000)
            person = people.change_me(session, who, metres)
        return MeShown(
            person=PersonShown.model_validate(person),
            workshop=WorkshopShown.model_validate(people.workshop_of(session, who)),
            may=who.may,
        )


@router.get("/workshop", summary="Read the workshop")
def get_workshop(db: Db, who: Who, response: Response) -> WorkshopShown:
    """Its name, time zone and currency, with the ETag that a change needs."""
    with db.reading() as session:
        workshop = people.workshop_of(session, who)
        tag_row(response, workshop.version)
        return WorkshopShown.model_validate(workshop)


@router.patch("/workshop", summary="Change the workshop", responses=refusals(Forbidden, Conflict, Stale, NeedsIfMatch))
def change_workshop(changed: WorkshopChanged, db: Db, who: Who, version: IfMatch, response: Response) -> WorkshopShown:
    """A merge patch (RFC 7396): fields that are left out stay. Needs If-Match, and the right to own."""
    with db.writing() as session:
        changes = changed.model_dump(exclude_unset=True)
        workshop = people.change_workshop(session, who, changes, version)
        tag_row(response, workshop.version)
        return WorkshopShown.model_validate(workshop)


@router.get("/devices", summary="List my devices")
def list_devices(db: Db, who: Who) -> DevicesShown:
    """Browsers and tokens that are signed in as the person who asks."""
    with db.reading() as session:
        found = [DeviceShown.model_validate(device) for device in people.list_devices(session, who)]
        return DevicesShown(items=found, next=None)


@router.delete("/devices/{device_id}", status_code=204, summary="Sign a device out", responses=refusals(NotFound))
def revoke_device(device_id: UUID, db: Db, who: Who, now: Now) -> None:
    """It opens nothing from now on; ending it twice is once. A device has no version, so no If-Match is needed."""
    with db.writing() as session:
        people.revoke_device(session, who, device_id, now)
