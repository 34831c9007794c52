"""The journal: one line for every change, with who and in which request; and what a retry is told."""

from typing import Any

import httpx
import pytest
from sqlalchemy.exc import IntegrityError
from sqlmodel import Session, col, select

from service.database import Database
from service.errors import Conflict, Gone
from service.ids import new_id
from service.records import journal
from service.tables import Journal, Part, Person, Spec, Workshop
from tests.conftest import NOW, Served


def _lines(session: Session, noun: str) -> list[Journal]:
    return list(session.scalars(select(Journal).where(col(Journal.noun) == noun).order_by(col(Journal.id))))


def test_adding_changing_removing_leave_a_line_each(database: Database) -> None:
    person_id = new_id()
    with database.writing() as session:
        session.add(Person(id=person_id, name="Rider"))
    with database.writing() as session:
        session.get_one(Person, person_id).name = "Mechanic"
    with database.writing() as session:
        session.delete(session.get_one(Person, person_id))
    with database.reading() as session:
        lines = _lines(session, "person")
        assert [line.verb for line in lines] == ["added", "changed", "removed"]
        assert [(line.before or {}).get("name") for line in lines] == [None, "Rider", "Mechanic"]
        assert [(line.after or {}).get("name") for line in lines] == ["Rider", "Mechanic", None]
        assert {line.row_id for line in lines} == {str(person_id)}
        assert len({line.request_id for line in lines}) == 3


def test_what_goes_along_with_a_removed_row_leaves_its_lines_too(database: Database) -> None:
    workshop = Workshop(id=new_id(), name="Shed", time_zone="UTC", currency="EUR")
    part = Part(
        id=new_id(),
        workshop_id=workshop.id,
        category="chain",
        name="Chain",
        origin="new",
        state="in hand",
        changed_at=NOW,
    )
    facts = [
        Spec(part_id=part.id, field=field, number=1.0, known_by="printed") for field in ("inner_mm", "links_count")
    ]
    part_id = part.id
    with database.writing() as session:
        session.add_all([workshop, part, *facts])
    with database.writing() as session:
        session.delete(session.get_one(Part, part_id))
    with database.reading() as session:
        removed = [line for line in _lines(session, "spec") if line.verb == "removed"]
        assert sorted(line.row_id for line in removed) == [f"{part_id}/inner_mm/0", f"{part_id}/links_count/0"]
        assert [(line.before or {})["number"] for line in removed] == [1.0, 1.0]
        assert session.scalars(select(Spec)).all() == []


def test_what_was_not_changed_leaves_no_line(database: Database) -> None:
    person_id = new_id()
    with database.writing() as session:
        session.add(Person(id=person_id, name="Rider"))
    with database.writing() as session:
        session.get_one(Person, person_id).name = "Rider"
    with database.reading() as session:
        assert len(_lines(session, "person")) == 1


def test_what_is_rolled_back_leaves_no_line(database: Database) -> None:
    def fail() -> None:
        with database.writing() as session:
            session.add(Person(id=new_id(), name="Rider"))
            session.flush()
            raise Conflict("no")

    with pytest.raises(Conflict):
        fail()
    with database.reading() as session:
        assert _lines(session, "person") == []


def test_a_line_says_who_by_which_device_and_in_which_request(service: Served, client: httpx.Client) -> None:
    device = client.get("/api/v1/devices").json()["items"][0]["id"]
    client.patch("/api/v1/workshop", json={"name": "Shed", "currency": "CHF"}, headers={"If-Match": '"1"'})
    with service.database.reading() as session:
        line = _lines(session, "workshop")[-1]
        assert (line.verb, line.by_id, str(line.device_id)) == ("changed", service.who.person_id, device)
        assert line.workshop_id == service.who.workshop_id
        assert ((line.before or {})["currency"], (line.after or {})["currency"]) == ("EUR", "CHF")


def _add(session: Session, row: Person) -> Person:
    try:
        with session.begin_nested():
            session.add(row)
    except IntegrityError:
        return journal.same_again(session, row)
    journal.check_not_removed(session, "person", row.id)
    return row


def test_a_retry_is_answered_with_what_is_stored_now(database: Database) -> None:
    person_id = new_id()
    with database.writing() as session:
        _add(session, Person(id=person_id, name="Rider"))
    with database.writing() as session:
        session.get_one(Person, person_id).name = "Mechanic"
    with database.writing() as session:
        assert _add(session, Person(id=person_id, name="Rider")).name == "Mechanic"
    with database.reading() as session:
        assert [line.verb for line in _lines(session, "person")] == ["added", "changed"]


def test_other_content_under_the_same_id_is_a_conflict_that_names_the_fields(database: Database) -> None:
    person_id = new_id()
    with database.writing() as session:
        _add(session, Person(id=person_id, name="Rider"))
    with pytest.raises(Conflict) as conflict, database.writing() as session:
        _add(session, Person(id=person_id, name="Somebody else"))
    assert [fault.pointer for fault in conflict.value.errors] == ["/name"]


def test_what_was_removed_is_not_brought_back_by_a_retry(database: Database) -> None:
    person_id = new_id()
    with database.writing() as session:
        _add(session, Person(id=person_id, name="Rider"))
    with database.writing() as session:
        session.delete(session.get_one(Person, person_id))
    for _ in range(2):
        with pytest.raises(Gone), database.writing() as session:
            _add(session, Person(id=person_id, name="Rider"))
    with database.reading() as session:
        assert session.get(Person, person_id) is None


def test_an_id_of_another_workshop_is_not_compared(database: Database) -> None:
    """Nothing about a foreign row is told but that the id is taken, not even which of its fields differ."""
    shed, barn = (Workshop(id=new_id(), name=name, time_zone="UTC", currency="EUR") for name in ("Shed", "Barn"))
    mine: dict[str, Any] = {
        "category": "chain",
        "name": "Chain",
        "origin": "new",
        "state": "in hand",
        "changed_at": NOW,
    }
    part = Part(id=new_id(), workshop_id=shed.id, **mine)
    part_id = part.id
    with database.writing() as session:
        session.add_all([shed, barn, part])
        session.flush()
        session.expunge_all()
        for name in ("Chain", "Other chain"):
            foreign = Part(id=part_id, workshop_id=barn.id, **mine | {"name": name})
            with pytest.raises(Conflict) as conflict:
                journal.same_again(session, foreign)
            assert conflict.value.errors == ()


def test_one_flush_is_one_request(database: Database) -> None:
    with database.writing({"request_id": "one"}) as session:
        session.add(Person(id=new_id(), name="Rider"))
        session.flush()
        session.add(Person(id=new_id(), name="Mechanic"))
    with database.reading() as session:
        assert [line.request_id for line in _lines(session, "person")] == ["one", "one"]
