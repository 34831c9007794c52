"""Other people than the owner: a workshop of somebody else, and members who may do less."""

from datetime import UTC, datetime
from typing import Literal

from service.ids import new_id
from service.records import people
from service.tables import Member, Person, Workshop
from tests.conftest import Served


def stranger(service: Served) -> str:
    """The token of the owner of another workshop in the same database."""
    with service.database.writing() as session:
        other = Workshop(id=new_id(), name="Elsewhere", time_zone="Europe/Paris", currency="EUR")
        person = Person(id=new_id(), name="Stranger")
        session.add_all([other, person, Member(workshop_id=other.id, person_id=person.id, may="own")])
        session.flush()
        return people.add_device(session, person.id, title="stranger", kind="token", now=datetime.now(UTC))


def member(service: Served, may: Literal["read", "work"]) -> str:
    """The token of somebody in the owner's workshop who may do this and no more."""
    with service.database.writing() as session:
        person = Person(id=new_id(), name=f"May {may}")
        session.add_all([person, Member(workshop_id=service.who.workshop_id, person_id=person.id, may=may)])
        session.flush()
        return people.add_device(session, person.id, title=may, kind="token", now=datetime.now(UTC))
