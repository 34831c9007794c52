"""Rides out of sheets: columns, units, days and numbers as people write them; what is unclear is asked."""

from contextlib import suppress
from datetime import UTC, date, datetime
from uuid import UUID
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.ride_columns import Columns, guess, settle, unit_in
from service.domain.ride_repeats import StoredRide, named, sort_out
from service.domain.ride_rows import RideReader, RideRow
from service.domain.sheet import Line, RowProblem, Sheet
from service.errors import Refusal

NOW = datetime(2026, 5, 4, 12, tzinfo=UTC)
BERLIN = ZoneInfo("Europe/Berlin")
KNOWN = ("dry", "wet")
BUILD = UUID("0199f2a1-7c00-7000-8000-000000000001")


def sheet(names: str, *rows: str, delimiter: str = ";") -> Sheet:
    """A sheet as it would stand in a file with semicolons."""
    lines = [Line(number, row.split(delimiter)) for number, row in enumerate(rows, 2)]
    return Sheet(tuple(names.split(delimiter)), lines, delimiter)


def read(of: Sheet, said: Columns | None = None) -> tuple[list[RideRow], list[RowProblem]]:
    """What the sheet says."""
    return RideReader(settle(said or Columns(), of), BERLIN, NOW, "dry", KNOWN).read(of)


def rides(of: Sheet, said: Columns | None = None) -> list[RideRow]:
    """The rides of a sheet without a mistake."""
    found, problems = read(of, said)
    assert problems == []
    return found


def questions(of: Sheet, said: Columns | None = None) -> list[str]:
    """What is asked about a sheet."""
    with pytest.raises(Refusal) as refused:
        settle(said or Columns(), of)
    return [fault.pointer for fault in refused.value.errors]


# 1 mi = 1 609.344 m: NIST SP 811, Appendix B.8
@pytest.mark.parametrize(
    ("name", "cell", "metres"),
    [
        ("Distance (km)", "42.1", 42_100),
        ("Distanz [km]", "42.1", 42_100),
        ("distance_km", "42.1", 42_100),
        ("Distance (mi)", "10", 16_093),
        ("km", "0.5", 500),
        ("Miles", "1", 1609),
        ("Strecke in m", "4210", 4210),
        ("Distance", "42.1 km", 42_100),
        ("Distance", "10mi", 16_093),
    ],
)
def test_the_unit_is_taken_from_the_name_or_the_cell(name: str, cell: str, metres: int) -> None:
    assert rides(sheet(f"Date;{name}", f"2026-05-01;{cell}"))[0].metres == metres


def test_a_distance_without_a_unit_is_asked_for() -> None:
    of = sheet("Date;Distance", "2026-05-01;42.1")
    assert questions(of) == ["/distance_unit"]
    assert rides(of, Columns(distance_unit="mi"))[0].metres == round(42.1 * 1609.344)


@pytest.mark.parametrize(
    ("name", "unit"),
    [("Speed (km/h)", None), ("Distance", None), ("Höhenmeter (m)", "m"), ("Climb ft", "ft"), ("Time (hh:mm)", "h:mm")],
)
def test_a_unit_in_a_name_is_the_whole_word(name: str, unit: str | None) -> None:
    assert unit_in(name) == unit


def test_a_column_that_is_missing_is_asked_for_with_those_there_are() -> None:
    of = sheet("a;b", "2026-05-01;42.1")
    assert questions(of) == ["/when", "/distance"]
    with pytest.raises(Refusal, match="no such column; it has a, b"):
        settle(Columns(when="c"), of)


def test_an_average_or_a_speed_is_no_distance() -> None:
    found = guess(sheet("Date;Average speed (km/h);Odometer (km);Distance (km)", "2026-05-01;20;5000;42.1"))
    assert found.distance == "Distance (km)"


def test_a_column_whose_cells_are_days_is_the_one_of_the_day() -> None:
    assert guess(sheet("Tag;Start;Date;km", "commute;home;2026-05-01;5")).when == "Date"


@pytest.mark.parametrize(
    ("cell", "day"),
    [("2026-04-05", (4, 5)), ("2026/4/5", (4, 5)), ("05.04.2026", (4, 5)), ("5.4.2026", (4, 5)),
     ("13/04/2026", (4, 13)),
     ("04/13/2026", (4, 13)), ("04-13-2026", (4, 13)), ("4/4/2026", (4, 4))],
)  # fmt: skip
def test_a_day_that_can_be_read_one_way_only_is_read(cell: str, day: tuple[int, int]) -> None:
    assert rides(sheet("Date;km", f"{cell};5"))[0].day == date(2026, *day)


def test_one_row_that_says_the_order_says_it_for_all() -> None:
    found = rides(sheet("Date;km", "04/05/2026;5", "04/13/2026;5"))
    assert [ride.day for ride in found] == [date(2026, 4, 5), date(2026, 4, 13)]


def test_an_order_that_no_row_says_is_asked_for_and_so_is_one_that_rows_contradict() -> None:
    assert questions(sheet("Date;km", "04/05/2026;5")) == ["/date_order"]
    mixed = sheet("Date;km", "04/13/2026;5", "13/04/2026;5")
    assert questions(mixed) == ["/date_order"]
    found, problems = read(mixed, Columns(date_order="day-first"))
    assert ([ride.line for ride in found], [each.line for each in problems]) == ([3], [2])
    assert rides(sheet("Date;km", "04/05/2026;5"), Columns(date_order="day-first"))[0].day == date(2026, 5, 4)


@pytest.mark.parametrize(
    ("cell", "at", "day"),
    [
        ("2026-05-01", "2026-05-01T10:00:00+00:00", 1),  # noon in Berlin's summer
        ("2026-05-01 07:05", "2026-05-01T05:05:00+00:00", 1),
        ("2026-05-01T07:05:30Z", "2026-05-01T07:05:30+00:00", 1),
        ("2026-05-01T23:30:00Z", "2026-05-01T23:30:00+00:00", 2),  # Z says nothing of where: the workshop's day
        ("2026-05-02T05:30:00+09:00", "2026-05-01T20:30:00+00:00", 2),  # an offset does
        ("01.05.2026, 7:05", "2026-05-01T05:05:00+00:00", 1),
        ("5/13/2025 12:05 AM", "2025-05-12T22:05:00+00:00", 13),
        ("5/13/2025 1:05:09 pm", "2025-05-13T11:05:09+00:00", 13),
    ],
)
def test_a_time_counts_where_it_is_told(cell: str, at: str, day: int) -> None:
    ride = rides(sheet("Date;km", f"{cell};5"))[0]
    assert (ride.started_at.isoformat(), ride.day.day) == (at, day)


def test_a_time_of_day_may_stand_in_a_column_of_its_own() -> None:
    of = sheet("Datum;Uhrzeit;km", "1.5.2026;07:05;5", "2.5.2026;;5")
    assert [ride.started_at.isoformat()[11:16] for ride in rides(of)] == ["05:05", "10:00"]


@pytest.mark.parametrize(
    ("cells", "metres"),
    [
        (["42.1"], [42_100]),
        (["42,1"], [42_100]),
        (["1.240,5"], [1_240_500]),
        (["1,240.5"], [1_240_500]),
        (["1 240,5"], [1_240_500]),
        (["1'240.5"], [1_240_500]),
        (["0,125"], [125]),
        (["12,5", "1,240"], [12_500, 1_240]),  # the first says that the comma parts fractions off
        (["12.5", "1,240"], [12_500, 1_240_000]),
    ],
)
def test_numbers_are_read_as_the_file_writes_them(cells: list[str], metres: list[int]) -> None:
    of = sheet("Date|km", *(f"2026-05-01|{cell}" for cell in cells), delimiter="|")
    assert [ride.metres for ride in rides(of)] == metres


def test_a_comma_that_may_part_thousands_is_asked_about() -> None:
    of = sheet("Date;km", "2026-05-01;1,240")
    assert questions(of) == ["/decimal"]
    assert rides(of, Columns(decimal="comma"))[0].metres == 1240
    assert rides(of, Columns(decimal="point"))[0].metres == 1_240_000
    assert questions(sheet("Date;km", "2026-05-01;1.240")) == ["/decimal"]  # beside semicolons
    assert rides(sheet("Date|km", "2026-05-01|1.240", delimiter="|"))[0].metres == 1240


@pytest.mark.parametrize(
    ("name", "cell", "seconds"),
    [
        ("Moving time", "2:05:30", 7530),
        ("Moving time (s)", "7530", 7530),
        ("Moving time (min)", "125.5", 7530),
        ("Moving time (hh:mm)", "2:05", 7500),
        ("Moving time (mm:ss)", "45:30", 2730),
        ("Moving time (h)", "0", None),
    ],
)
def test_a_moving_time_is_read_in_its_unit(name: str, cell: str, seconds: int | None) -> None:
    assert rides(sheet(f"Date;km;{name}", f"2026-05-01;5;{cell}"))[0].moving_s == seconds


def test_a_column_that_nobody_asked_for_is_left_where_its_unit_is_unclear_and_asked_where_somebody_did() -> None:
    of = sheet("Date;km;Climb;Moving time", "2026-05-01;5;400;1:30")
    assert (rides(of)[0].climb_m, rides(of)[0].moving_s) == (None, None)
    assert questions(of, Columns(climb="Climb", moving_time="Moving time")) == ["/moving_time_unit", "/climb_unit"]
    assert rides(of, Columns(climb="Climb", climb_unit="ft"))[0].climb_m == 122  # 400 x 0.3048


@pytest.mark.parametrize(
    ("row", "column", "words"),
    [
        ("31.02.2026;5;;", "Datum", "in no calendar"),
        (";5;;", "Datum", "is empty"),
        ("yesterday;5;;", "Datum", "such as 2026-05-04"),
        ("1.5.26;5;;", "Datum", "such as 2026-05-04"),
        ("1.5.2026 25:10;5;;", "Datum", "in no calendar"),
        ("1.5.1850;5;;", "Datum", "1900 and 2200"),
        ("1.6.2026;5;;", "Datum", "has not come yet"),
        ("1.5.2026;;;", "km", "is empty"),
        ("1.5.2026;0;;", "km", "more than 0"),
        ("1.5.2026;-5;;", "km", "more than 0"),
        ("1.5.2026;40076;;", "km", "once round the earth"),
        ("1.5.2026;NaN;;", "km", "a distance such as 42.1"),
        ("1.5.2026;1e3;;", "km", "a distance such as 42.1"),
        ("1.5.2026;٣;;", "km", "a distance such as 42.1"),
        ("1.5.2026;5 ft;;", "km", "should be in km, m or mi"),
        ("1.5.2026;5;-3;", "Climb (m)", "from 0 to"),
        ("1.5.2026;5;;sunny", "Conditions", "dry or wet"),
        ("1.5.2026;5;;dry;more", "", "has 5 cells, the header 4"),
    ],
)
def test_a_wrong_row_is_named_with_its_line_and_what_would_be_right(row: str, column: str, words: str) -> None:
    found, problems = read(sheet("Datum;km;Climb (m);Conditions", "1.5.2026;5.5;;wet", row))
    assert [ride.conditions for ride in found] == ["wet"]
    assert [(each.line, each.column) for each in problems] == [(3, column)]
    assert words in problems[0].say


def test_every_mistake_of_a_row_is_told_at_once() -> None:
    _, problems = read(sheet("Date;km;Conditions", "x;y;z"))
    assert [each.column for each in problems] == ["Date", "km", "Conditions"]


def row(day: int, metres: int, line: int = 2) -> RideRow:
    """A ride of May."""
    at = datetime(2026, 5, day, 10, tzinfo=UTC)
    return RideRow(line, at, at.date(), True, metres, None, None, "dry", "")


def test_the_same_rides_get_the_same_ids_and_two_alike_get_two() -> None:
    first, again = named(BUILD, [row(1, 5000), row(1, 5000)]), named(BUILD, [row(1, 5000), row(1, 5000)])
    assert first == again
    assert len({each.id for each in first}) == 2
    assert {each.id.version for each in first} == {7}
    assert named(UUID(int=1), [row(1, 5000)])[0].id != first[0].id


@pytest.mark.parametrize(
    ("repeats", "new", "left", "wrong"), [("ask", 1, 0, 1), ("leave-out", 1, 1, 0), ("keep", 2, 0, 0)]
)
def test_a_row_that_stands_twice_is_asked_about(repeats: str, new: int, left: int, wrong: int) -> None:
    found = sort_out(named(BUILD, [row(1, 5000, 2), row(1, 5000, 3)]), [], (), repeats=repeats)  # type: ignore[arg-type]
    assert (len(found.new), len(found.left_out), len(found.problems)) == (new, left, wrong)
    said = [*found.left_out, *found.problems]
    assert [(each.line, "the same ride as line 2" in each.say) for each in said] == [(3, True)] * (left + wrong)


def test_a_row_that_looks_like_a_ride_stored_by_other_means_is_asked_about() -> None:
    stored = [StoredRide(UUID(int=9), date(2026, 5, 1), 42_100)]
    close, far = named(BUILD, [row(1, 42_500)]), named(BUILD, [row(1, 43_000)])
    assert "stored already (42.1 km)" in sort_out(close, stored, ()).problems[0].say
    assert len(sort_out(far, stored, ()).new) == 1


def test_what_is_stored_or_was_removed_is_not_stored_again() -> None:
    new = named(BUILD, [row(1, 5000, 2), row(2, 5000, 3), row(3, 5000, 4)])
    found = sort_out(new, [StoredRide(new[0].id, date(2026, 5, 1), 5000)], {new[1].id})
    assert [each.row.line for each in found.new] == [4]
    assert (found.stored_already, found.removed_since) == (1, 1)
    assert [each.line for each in found.left_out] == [2, 3]


def test_more_than_two_thousand_km_in_a_day_are_asked_for_again() -> None:
    new = named(BUILD, [row(1, 1_500_000, 2), row(1, 501_000, 3), row(2, 5000, 4)])
    assert [each.line for each in sort_out(new, [], ()).problems] == [2, 3]
    assert len(sort_out(new, [], (), sure=True).new) == 3


CELLS = st.one_of(
    st.text(max_size=12), st.sampled_from(["2026-05-01", "1.5.2026", "5/4/2026", "12,5", "1,240", "1:30"])
)


@given(st.lists(st.lists(CELLS, min_size=1, max_size=5), min_size=1, max_size=4))
def test_random_cells_give_rides_or_problems_or_questions(rows: list[list[str]]) -> None:
    lines = [Line(number, cells) for number, cells in enumerate(rows, 2)]
    of = Sheet(("Date", "Distance (km)", "Moving time", "Climb (m)"), lines, ",")
    found: list[RideRow] = []
    problems: list[RowProblem] = []
    asked = False
    try:
        found, problems = read(of)
    except Refusal:
        asked = True
    assert asked or {ride.line for ride in found} | {each.line for each in problems} == {line.number for line in lines}
    assert all(ride.metres > 0 for ride in found)


@given(st.dates(date(1950, 1, 1), date(2026, 5, 1)), st.integers(1, 400_000), st.sampled_from(["%Y-%m-%d", "%d.%m.%Y"]))
def test_what_was_written_is_read(day: date, metres: int, how: str) -> None:
    ride = rides(sheet("Date;km", f"{day.strftime(how)};{metres / 1000:.3f} km"), Columns(decimal="point"))[0]
    assert (ride.day, ride.metres) == (day, metres)
    with suppress(Refusal):
        assert rides(sheet("Date;km", f"{day:%m/%d/%Y};5"))[0].day == day  # read, or asked about
