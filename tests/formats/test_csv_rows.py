"""CSV files: delimiters, quotes and encodings as programs write them; whatever is sent, the answer is rows or words."""

from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.sheet import Sheet
from service.errors import Refusal, TooLarge
from service.formats import csv_rows
from service.formats.csv_rows import read_csv

PLAIN = "Date,Distance (km),Remark\n2026-05-04,42.1,round the hill\n2026-05-05,18,\n"


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_a_sheet_is_read_whatever_parts_its_cells_and_lines(delimiter: str, end: str, encoding: str) -> None:
    text = PLAIN.replace(",", delimiter).replace("\n", end)
    found = read_csv(text.encode(encoding))
    assert (found.names, found.delimiter) == (("Date", "Distance (km)", "Remark"), delimiter)
    assert [tuple(line) for line in found.lines] == [
        (2, ["2026-05-04", "42.1", "round the hill"]),
        (3, ["2026-05-05", "18", ""]),
    ]


def test_a_decimal_comma_beside_semicolons_is_no_delimiter() -> None:
    found = read_csv(b"Datum;Distanz\n4.5.2026;42,5\n5.5.2026;18,25\n")
    assert found.delimiter == ";"
    assert found.cells("Distanz") == ["42,5", "18,25"]


def test_commas_in_remarks_do_not_outvote_the_delimiter() -> None:
    found = read_csv(b"day;km;remark\n2026-05-04;5;wet, cold, dark\n2026-05-05;6;fine\n")
    assert found.delimiter == ";"


def test_a_line_that_states_the_delimiter_is_heard() -> None:
    found = read_csv(b"sep=;\nday;km\n2026-05-04;5\n")
    assert (found.delimiter, found.names, found.lines[0].number) == (";", ("day", "km"), 3)


# RFC 4180, 2.6 and 2.7: line breaks and delimiters within quotes, a quote written twice
def test_quoted_cells_hold_delimiters_quotes_and_line_breaks_and_lines_are_counted_on() -> None:
    found = read_csv(b'day,km,remark\n2026-05-04,5,"over, and ""up""\nand down"\n\n2026-05-05,6,x\n')
    assert found.lines[0].cells[2] == 'over, and "up"\nand down'
    assert [line.number for line in found.lines] == [2, 5]


def test_columns_without_a_name_or_with_one_used_before_can_be_told_apart() -> None:
    assert read_csv(b"day,km,km,\n1,2,3,4\n").names == ("day", "km", "km #2", "column 4")


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "nothing in the file"),
        (b" \n\n", "nothing in the file"),
        (b"sep=;\n", "no line that names"),
        (b"day,km\n", "no row below"),
        (b"rides\n12\n13\n", "one column only"),
        (b"2026-05-04,42\n2026-05-05,12\n", "should name the columns"),
        ("day,km\n2026-05-04,12,Zürich\n".encode("latin-1"), "byte 0xfc in line 2"),
        ("day,km\n1,2\n".encode("utf-16-le"), "NUL"),
        ("day,km\n1,2\n".encode("utf-16")[:-1], "not UTF-16"),
        (b"PK\x03\x04\x14\x00", "save it as CSV"),
        (b"\x1f\x8b\x08\x00", "packed"),
        (b'day,km\n1,2\n3,"4\n5,6\n', "Line 3 cannot be read"),
        (b'day,km\n1,"2"x\n', "Line 2 cannot be read"),
        (b"day,km\n1," + b"9" * 5000 + b"\n", "Line 2 has a cell of over 4000"),
        (b"a,b" + b"," * 300 + b"\n", "more than 200 columns"),
    ],
)
def test_a_file_that_is_no_sheet_is_refused_with_what_would_be_right(data: bytes, words: str) -> None:
    with pytest.raises(Refusal) as refused:
        read_csv(data)
    assert words in str(refused.value)


def test_more_than_ten_megabytes_and_more_than_the_most_rows_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(TooLarge, match="10 MB"):
        read_csv(b"x" * 10_000_001)
    monkeypatch.setattr(csv_rows, "MOST_ROWS", 3)
    assert len(read_csv(b"day,km\n" + b"1,2\n" * 3).lines) == 3
    with pytest.raises(Refusal, match="more than 3 rows"):
        read_csv(b"day,km\n" + b"1,2\n" * 4)


@given(st.binary(max_size=400))
def test_random_bytes_give_a_sheet_or_a_refusal(data: bytes) -> None:
    found: Sheet | None = None
    with suppress(Refusal):
        found = read_csv(data)
    assert found is None or (len(found.names) > 1 and found.lines)


@given(st.lists(st.tuples(st.integers(0, 400), st.binary(max_size=3)), max_size=6))
def test_random_edits_of_a_good_file_give_a_sheet_or_a_refusal(edits: list[tuple[int, bytes]]) -> None:
    data = PLAIN.encode() * 2
    for at, other in edits:
        data = data[:at] + other + data[at + 1 :]
    found: Sheet | None = None
    with suppress(Refusal):
        found = read_csv(data)
    assert found is None or all(line.number > 1 for line in found.lines)
