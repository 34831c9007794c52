"""Distance: conservation properties that must hold by definition (derived, no outside source), and worked cases."""

from datetime import date, timedelta, timezone
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.domain.distance import Ridden, presence
from service.domain.instants import fitting_instant, ride_instant, usual_side
from service.domain.lists import Factors
from service.domain.odometer import Odometer, Weighing, check_reading
from service.errors import Refusal
from tests.domain.garage import BUILD, OTHER, Garage, at, category, library

PARTS = library(
    category("frame"), category("wheel"), category("tyre", into=("wheel",)), category("a"), category("b"), category("c")
)
ROW = Factors(wet=1.75, gritty=4.0, loaded=1.8, indoor=0.0, motor=1.5, cap=6.0, basis="from memory")

hours = st.integers(min_value=0, max_value=24 * 60)
rides = st.lists(st.tuples(hours, st.integers(min_value=1, max_value=90_000)), max_size=25)
cuts = st.lists(hours, unique=True, min_size=1, max_size=6).map(sorted)
END = at(100)


def ridden(logged: list[tuple[int, int]]) -> Garage:
    garage = Garage(PARTS)
    for hour, metres in logged:
        garage.ride(at(0, hour), metres / 1000)
    return garage


@given(logged=rides, changes=cuts)
@settings(max_examples=200)
def test_tyres_in_wheels_that_follow_one_another_sum_to_the_distance_of_the_build(
    logged: list[tuple[int, int]], changes: list[int]
) -> None:
    garage = ridden(logged)
    wheel = garage.part("wheel")
    garage.fit(wheel, at(0), "front")
    tyres = [garage.part("tyre")]
    garage.fit(tyres[0], at(0), "", wheel)
    for number, hour in enumerate(changes):
        moment = at(0, hour + 0.5)
        if number % 2:
            wheels = garage.part("wheel")
            tyres.append(garage.part("tyre"))
            garage.take_off(tyres[-2], moment)
            garage.swap(wheel, wheels, moment)
            wheel = wheels
            garage.fit(tyres[-1], moment, "", wheel)
        else:
            tyres.append(garage.part("tyre"))
            garage.swap(tyres[-2], tyres[-1], moment)
    bicycle = garage.bicycle()
    total = Odometer(garage.rides).metres(END)
    assert sum(Ridden(bicycle).of_part(tyre, END).metres for tyre in tyres) == total
    assert total == sum(metres for _, metres in logged)


@given(logged=rides, moves=cuts)
@settings(max_examples=200)
def test_moving_a_part_between_builds_loses_and_doubles_nothing(
    logged: list[tuple[int, int]], moves: list[int]
) -> None:
    garage = ridden(logged)
    for hour, metres in logged:
        garage.ride(at(0, hour), metres / 1000, build=OTHER)
    here, there = garage.part("a"), garage.part("a")
    garage.fit(here, at(0))
    garage.fit(there, at(0), build=OTHER)
    for hour in moves:
        moment = at(0, hour + 0.5)
        builds = [garage.take_off(part, moment).build_id or BUILD for part in (here, there)]
        garage.fit(here, moment, build=builds[1])
        garage.fit(there, moment, build=builds[0])
    bicycle = garage.bicycle()
    assert sum(Ridden(bicycle).of_part(part, END).metres for part in (here, there)) == 2 * sum(m for _, m in logged)


@given(logged=rides, seen=st.integers(min_value=0, max_value=3_000_000), hour=hours)
@settings(max_examples=200)
def test_a_reading_makes_the_total_agree_and_never_doubles(logged: list[tuple[int, int]], seen: int, hour: int) -> None:
    garage = ridden(logged)
    first = garage.reading(at(0), 1000)
    last = garage.reading(at(61), 1000 + seen / 1000)
    odometer = Odometer(garage.rides, garage.readings)
    between = odometer.metres(last.at) - odometer.metres(first.at)
    assert between == max(seen, sum(metres for _, metres in logged))
    middle = at(0, hour)
    parts = (odometer.metres(middle) - odometer.metres(first.at)) + (odometer.metres(last.at) - odometer.metres(middle))
    assert parts == between


@given(logged=rides, late=st.tuples(hours, st.integers(min_value=1, max_value=50_000)))
@settings(max_examples=200)
def test_a_ride_written_down_late_inside_a_filled_stretch_changes_no_total(
    logged: list[tuple[int, int]], late: tuple[int, int]
) -> None:
    garage = ridden(logged)
    seen = (sum(metres for _, metres in logged) + late[1]) / 1000
    garage.reading(at(0), 0)
    garage.reading(at(61), seen)
    before = Odometer(garage.rides, garage.readings).metres(END)
    garage.ride(at(0, late[0]), late[1] / 1000)
    assert Odometer(garage.rides, garage.readings).metres(END) == before


@given(logged=rides, spans=st.lists(st.tuples(hours, st.integers(min_value=1, max_value=400)), min_size=4, max_size=4))
@settings(max_examples=100)
def test_a_part_four_deep_is_there_while_all_its_hosts_are(
    logged: list[tuple[int, int]], spans: list[tuple[int, int]]
) -> None:
    garage = ridden(logged)
    host = None
    for name, (start, length) in zip(("wheel", "a", "b", "c"), spans, strict=True):
        part = garage.part(name)
        garage.fit(part, at(0, start), "", host)
        garage.take_off(part, at(0, start + length))
        host = part
    assert host is not None
    begins, ends = max(s for s, _ in spans), min(s + n for s, n in spans)
    expected = sum(metres for hour, metres in logged if begins <= hour < ends)
    assert Ridden(garage.bicycle()).of_part(host, END).metres == expected


@given(logged=rides, changes=cuts)
@settings(max_examples=100)
def test_equivalent_distance_of_parts_that_follow_one_another_sums_up_too(
    logged: list[tuple[int, int]], changes: list[int]
) -> None:
    garage = Garage(PARTS)
    weathers = ("dry", "wet", "gritty", "indoor")
    for number, (hour, metres) in enumerate(logged):
        garage.ride(at(0, hour), metres / 1000, weathers[number % 4], loaded=number % 3 == 0)
    weighing = Weighing("row", factors=ROW)
    odometer = Odometer(garage.rides)
    instants = [at(0), *(at(0, hour) for hour in changes), END]
    met = [
        odometer.equivalent_metres(b, weighing) - odometer.equivalent_metres(a, weighing) for a, b in pairwise(instants)
    ]
    assert sum(met) == odometer.equivalent_metres(END, weighing)
    by_hand = sum(r.metres * weighing.thousandths(r.conditions, r.loaded, False) for r in garage.rides)
    assert odometer.equivalent_metres(END, weighing) == by_hand // 1000


def test_presence_is_cut_by_the_host_and_half_open() -> None:
    garage = Garage(PARTS)
    wheel, tyre = garage.part("wheel"), garage.part("tyre")
    garage.fit(wheel, at(1), "front")
    garage.fit(tyre, at(0), "", wheel)
    garage.take_off(wheel, at(5))
    garage.fit(wheel, at(8), "rear", build=OTHER)
    assert presence(tyre, garage.fittings) == ((BUILD, at(1), at(5)), (OTHER, at(8), None))


def test_a_ride_belongs_whole_to_what_was_fitted_when_it_began() -> None:
    garage = Garage(PARTS)
    old, new = garage.part("a"), garage.part("a")
    garage.fit(old, at(0))
    garage.swap(old, new, at(2))
    garage.ride(at(1, 23.9), 40)
    garage.ride(at(2), 7)
    bicycle = garage.bicycle()
    assert Ridden(bicycle).of_part(old, END).metres == 40_000
    assert Ridden(bicycle).of_part(new, END).metres == 7_000


def test_a_removal_written_down_afterwards_takes_its_kilometres_back() -> None:
    garage = Garage(PARTS)
    part = garage.part("a")
    garage.fit(part, at(0))
    garage.ride(at(3), 30)
    assert Ridden(garage.bicycle()).of_part(part, END).metres == 30_000
    garage.take_off(part, at(2))
    assert Ridden(garage.bicycle()).of_part(part, END).metres == 0


def test_a_part_of_unknown_past_says_at_least() -> None:
    garage = Garage(PARTS)
    new, used = garage.part("a"), garage.part("b", origin="second-hand", metres_before=None)
    known = garage.part("c", origin="second-hand", metres_before=1_200_000)
    for part in (new, used, known):
        garage.fit(part, at(0))
    garage.ride(at(1), 10)
    run = Ridden(garage.bicycle())
    assert (run.of_part(new, END).metres, run.of_part(new, END).known) == (10_000, True)
    assert (run.of_part(used, END).metres, run.of_part(used, END).known) == (10_000, False)
    assert (run.of_part(known, END).metres, run.of_part(known, END).known) == (1_210_000, True)


def test_what_nobody_logged_is_spread_evenly_between_two_readings() -> None:
    garage = Garage(PARTS)
    garage.ride(at(2), 20)
    garage.reading(at(0), 500)
    garage.reading(at(10), 620)
    odometer = Odometer(garage.rides, garage.readings)
    assert odometer.unlogged[0].metres == 100_000
    assert odometer.metres(at(5)) == 20_000 + 50_000


def test_a_new_instrument_fills_nothing() -> None:
    garage = Garage(PARTS)
    garage.reading(at(0), 500)
    garage.reading(at(10), 900, restarts=True)
    assert Odometer((), garage.readings).metres(END) == 0


@pytest.mark.parametrize(
    ("logged", "seen", "doubted"), [(101.9, 100, False), (102.1, 100, True), (305.9, 300, False), (306.1, 300, True)]
)
def test_rides_well_over_what_the_odometer_saw_are_doubted_not_cut(logged: float, seen: float, doubted: bool) -> None:
    garage = Garage(PARTS)
    garage.ride(at(2), logged)
    garage.reading(at(0), 0)
    garage.reading(at(10), seen)
    odometer = Odometer(garage.rides, garage.readings)
    assert bool(odometer.doubts) is doubted
    assert odometer.metres(END) == round(logged * 1000)


def test_a_reading_that_goes_back_is_asked_about() -> None:
    garage = Garage(PARTS)
    first, last = garage.reading(at(0), 500), garage.reading(at(10), 700)
    wrong = garage.reading(at(5), 800)
    with pytest.raises(Refusal, match="reset or exchanged"):
        check_reading(wrong, [first, last])
    check_reading(garage.reading(at(5), 600), [first, last])
    check_reading(garage.reading(at(12), 3, restarts=True), [first, last])
    with pytest.raises(Refusal, match="very instant"):
        check_reading(garage.reading(at(10), 701), [first, last])


def test_factors_multiply_up_to_their_cap_and_the_motor_counts_on_its_own_build() -> None:
    weighing = Weighing("row", motor=True, factors=ROW)
    assert weighing.thousandths("wet", False, False) == round(1.75 * 1.5 * 1000)
    assert weighing.thousandths("gritty", True, False) == 6000
    assert weighing.thousandths("indoor", True, True) == 0


def test_the_end_a_tyre_was_at_then_decides_its_factor() -> None:
    row = Factors(roller=1.0, by_end={"front": {"roller": 0.0}, "rear": {"roller": 3.0}}, basis="from memory")
    garage = Garage(PARTS)
    wheels = [garage.part("wheel"), garage.part("wheel")]
    tyre = garage.part("tyre")
    garage.fit(wheels[0], at(0), "front")
    garage.fit(wheels[1], at(0), "rear")
    garage.fit(tyre, at(0), "", wheels[0])
    garage.ride(at(1), 10, "roller")
    garage.take_off(tyre, at(2))
    garage.fit(tyre, at(2), "", wheels[1])
    garage.ride(at(3), 10, "roller")
    run = Ridden(garage.bicycle())
    assert run.equivalent_metres(tyre, None, END, Weighing("row", factors=row)) == 30_000


def test_hours_come_from_moving_time_else_from_eighteen_kilometres_an_hour_and_say_so() -> None:
    garage = Garage(PARTS)
    part = garage.part("a")
    garage.fit(part, at(0))
    garage.ride(at(1), 30, moving_s=3600)
    assert Ridden(garage.bicycle()).seconds(part, None, END) == (3600, False)
    garage.ride(at(2), 18)
    assert Ridden(garage.bicycle()).seconds(part, None, END) == (7200, True)


def test_days_without_a_time_become_instants() -> None:
    zone = timezone(timedelta(hours=2))
    day = date(2026, 5, 3)
    assert ride_instant(day, zone).isoformat() == "2026-05-03T12:00:00+02:00"
    assert fitting_instant(day, "before", zone).isoformat() == "2026-05-03T00:00:00+02:00"
    assert fitting_instant(day, "after", zone).isoformat() == "2026-05-04T00:00:00+02:00"
    garage = Garage(PARTS)
    ride = garage.ride(at(3, 12), 10)
    assert usual_side(ride.day, [each.day for each in garage.rides]) == "after"
    assert usual_side(ride.day + timedelta(days=1), [each.day for each in garage.rides]) == "before"
