"""Identifiers of version 7."""

import time
from uuid import UUID, uuid4

from hypothesis import given
from hypothesis import strategies as st

from service.ids import new_id, parse_id


def test_an_id_has_the_form_of_rfc_9562() -> None:
    """48 bits of milliseconds, version 7, variant 10. Source: https://www.rfc-editor.org/rfc/rfc9562#section-5.7"""
    before = time.time_ns() // 1_000_000
    found = new_id()
    after = time.time_ns() // 1_000_000
    assert before <= found.int >> 80 <= after
    assert (found.int >> 76 & 0xF, found.int >> 62 & 0b11) == (7, 0b10)
    assert found.version == 7


def test_ids_sort_by_the_moment_they_were_made() -> None:
    made = []
    for _ in range(200):
        made.append(new_id())
        time.sleep(0.000_002)
    assert made == sorted(made)


def test_ids_made_at_one_moment_differ() -> None:
    assert len({new_id() for _ in range(20_000)}) == 20_000


@given(st.uuids())
def test_what_is_written_is_read_back(given_id: UUID) -> None:
    assert parse_id(str(given_id)) == given_id
    assert parse_id(str(given_id).upper()) == given_id


@given(st.text(max_size=50))
def test_other_text_is_no_id_and_no_error(text: str) -> None:
    found = parse_id(text)
    assert found is None or str(found) == text.lower()


def test_other_spellings_of_an_id_are_not_taken() -> None:
    some = uuid4()
    assert [parse_id(text) for text in (some.hex, f"{{{some}}}", some.urn, f" {some}")] == [None] * 4
