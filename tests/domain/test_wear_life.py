"""The life of a dimension on a ridden bicycle, with the whole library: forecasts, doubts, refusals, other tools.

Rules and numbers: worked cases by the rules, no outside source, unless said.
"""

from datetime import date
from uuid import UUID

import pytest

from service.domain.due import Due, desk_of, due_of, worn_at
from service.domain.procedure import Rate
from service.domain.wear_life import Life
from tests.domain.garage import Garage, Limit, Wear, at, category, library
from tests.domain.regression import line, pairs
from tests.domain.worn_bicycles import GROWTH, chain_bicycle, of, ride_daily
from tests.procedures import whole_library


def read_chain(km: tuple[float, ...], read: tuple[float, ...]) -> tuple[Garage, UUID]:
    """A chain on nine sprockets, ridden dry by 25 km a day, read after so many kilometres."""
    garage, chain, _ = chain_bicycle()
    ride_daily(garage, range(round(max(km) / 25)))
    for at_km, percent in zip(km, read, strict=True):
        garage.read(chain, "elongation_percent", at(round(at_km / 25) - 1, 20), percent)
    return garage, chain


# A straight line through 0.4 % at 1,500 km and 0.6 % at 2,500 km is at 0.75 % at 3,250 km
def test_two_readings_of_a_chain_lead_where_a_straight_line_does_with_a_range() -> None:
    garage, _ = read_chain((1500, 2500), (0.4, 0.6))
    straight = line([(1500, 0.4), (2500, 0.6)]).here.crossing(0.75, 0)
    assert straight == pytest.approx(3250)
    left = of(garage, 100, GROWTH).km_left
    assert left is not None
    assert 2500 + left.middle == pytest.approx(straight, abs=200)
    assert left.late is not None
    assert left.early < left.middle < left.late


def test_a_lone_first_reading_stays_near_common_practice() -> None:
    """Read at 250 km, twice what was expected: the rate is hardly moved, as a reading says more of the level."""
    garage, _ = read_chain((250,), (0.2,))
    life = life_of_growth(garage, 10)
    assert life.worn is not None
    assert life.worn.rate == pytest.approx(0.2, rel=0.2)
    assert life.prior_share is not None
    assert life.prior_share > 0.8


def life_of_growth(garage: Garage, day: int, dimension: str = "elongation_percent") -> Life:
    now = at(day, 9)
    desk = desk_of(garage.bicycle(), garage.library, today=now.date(), now=now)
    return next(each.life for each in worn_at(desk) if each.wear.key == dimension)


def test_readings_move_the_rate_away_from_common_practice_the_more_there_are() -> None:
    km = (500, 1000, 1500, 2000)
    shares = [life_of_growth(read_chain(km[:n], (0.1, 0.15, 0.2, 0.25)[:n])[0], 81).prior_share for n in range(1, 5)]
    known = [share for share in shares if share is not None]
    assert known == sorted(known, reverse=True)
    assert len(known) == 4
    assert known[-1] < 0.25


@pytest.mark.parametrize(("km", "sd"), [(100, (0.03**2 + 0.05**2) ** 0.5), (300, 0.03)])
def test_a_reading_while_a_chain_runs_in_is_less_sure(km: float, sd: float) -> None:
    """The library: a tape is good to 0.03 %, chains are new to 0.05 % more or less, and run in for 250 km."""
    garage, chain, _ = chain_bicycle()
    ride_daily(garage, range(round(km / 25)))
    garage.read(chain, "elongation_percent", at(round(km / 25) - 1, 20), 0.1, tool="tape-measure")
    assert life_of_growth(garage, 20).seen[0].reading.sd == pytest.approx(sd)


# Doubts


def test_a_reading_that_improves_is_asked_about_and_nothing_is_told_from_it() -> None:
    garage, chain = read_chain((1500, 2500), (0.4, 0.6))
    garage.read(chain, "elongation_percent", at(99, 21), 0.2)
    found = of(garage, 100, GROWTH)
    assert (found.km_left, found.on, found.chance) == (None, None, None)
    assert found.refused is not None
    assert "better than the one before" in found.refused
    assert "new part that was not logged" in found.why
    assert life_of_growth(garage, 100).seen[-1].doubt == "improves"


def test_readings_that_differ_by_their_error_alone_are_not_asked_about() -> None:
    garage, chain = read_chain((1500, 2500), (0.4, 0.6))
    garage.read(chain, "elongation_percent", at(99, 21), 0.5)
    assert life_of_growth(garage, 100).seen[-1].doubt is None


def test_an_improvement_that_the_next_reading_confirms_is_believed() -> None:
    garage, chain = read_chain((1500, 2500), (0.4, 0.6))
    garage.read(chain, "elongation_percent", at(99, 21), 0.1)
    garage.read(chain, "elongation_percent", at(99, 22), 0.12)
    found = of(garage, 100, GROWTH)
    assert found.refused is None
    assert found.km_left is not None
    assert found.km_left.middle == pytest.approx((0.75 - 0.11) / 0.2 * 1000, rel=0.15)


def test_a_doubtful_reading_is_set_aside_and_said_and_the_state_goes_by_it_all_the_same() -> None:
    garage, chain = read_chain((1500, 2500), (0.4, 0.6))
    before = of(garage, 100, GROWTH)
    garage.read(chain, "elongation_percent", at(99, 21), 1.5)
    found = of(garage, 100, GROWTH)
    assert found.km_left == before.km_left
    assert found.state == "overdue"
    assert "is doubted; about 0.6 % was expected: read it again" in found.why


def test_two_doubtful_readings_that_agree_are_believed() -> None:
    garage, chain = read_chain((1500, 2500), (0.4, 0.6))
    garage.read(chain, "elongation_percent", at(99, 21), 1.5)
    garage.read(chain, "elongation_percent", at(99, 22), 1.45)
    life = life_of_growth(garage, 100)
    assert [each.doubt for each in life.seen] == [None, None, "unexpected", None]
    assert life.worn is not None
    assert life.worn.wear == pytest.approx(1.475, abs=0.05)


def test_two_doubtful_readings_that_do_not_agree_are_both_set_aside() -> None:
    garage, chain = read_chain((1500, 2500), (0.4, 0.6))
    garage.read(chain, "elongation_percent", at(99, 21), 1.5)
    garage.read(chain, "elongation_percent", at(99, 22), 2.5)
    assert [each.doubt for each in life_of_growth(garage, 100).seen[-2:]] == ["unexpected", "unexpected"]


# W. Q. Meeker, L. A. Escobar, Statistical Methods for Reliability Data (1998), sliding metal wear: a power law


def worn_metal(unit: str, running_in_km: float = 0, new_spread: float = 0) -> Life:
    """A specimen as a part: a cycle is ten km, its own mean rate is common practice, its limit twice its wear."""
    data = pairs("metal_sliding_wear", "cycles", "wear_um", unit=unit)
    last = data[-1][1]
    rate = Rate(per_1000_km=last / 5, spread=0.6, basis="from memory")
    wear = Wear(
        key="wear_um", title="Wear", direction="grows", new=0, new_spread=new_spread, running_in_km=running_in_km,
        measure="Scale.", reading_error={"any": 0.3}, rates=(rate,),
        limits=(Limit(action="replace", value=2 * last, basis="from memory"),),
    )  # fmt: skip
    garage = Garage(library(category("pin", wear=(wear,))))
    pin = garage.part("pin")
    garage.fit(pin, at(0))
    for number, ((before, _), (cycles, read)) in enumerate(zip([(0.0, 0.0), *data], data, strict=False)):
        garage.ride(at(30 * number + 1), (cycles - before) * 10)
        garage.read(pin, "wear_um", at(30 * number + 20), read)
    return life_of_growth(garage, 250, "wear_um")


UNITS = [str(number) for number in range(101, 113)]


@pytest.mark.parametrize("unit", UNITS)
def test_curved_wear_is_noticed_at_its_beginning(unit: str) -> None:
    """What is noticed: the first reading is far from any steady rate, it is doubted until the next one agrees."""
    assert worn_metal(unit).seen[0].doubt == "unexpected"
    assert worn_metal(unit).seen[-1].doubt is None


@pytest.mark.parametrize("unit", UNITS)
def test_a_running_in_that_the_library_knows_of_is_not_doubted(unit: str) -> None:
    spread = pairs("metal_sliding_wear", "cycles", "wear_um", unit=unit)[0][1]
    assert all(each.doubt is None for each in worn_metal(unit, running_in_km=500, new_spread=spread).seen)


@pytest.mark.parametrize("unit", UNITS)
def test_curved_wear_later_on_is_not_noticed_and_told_too_early_never_too_late(unit: str) -> None:
    """What is not: a rate that goes on falling. Later readings are less than was expected, and the range too near."""
    life = worn_metal(unit)
    later = life.seen[-2:]
    assert all(each.doubt is None and each.expected is not None for each in later)
    assert all(each.reading.least < (each.expected or 0) for each in later)
    data = pairs("metal_sliding_wear", "cycles", "wear_um", unit=unit)
    straight = line([(x / 100, y) for x, y in data[-2:]])
    truly = straight.here.crossing(2 * data[-1][1], 0)  # a line through the last two is itself too early
    left = life.ahead.km_left() if life.ahead is not None else None
    assert truly is not None
    assert left is not None
    assert left.middle < truly * 1000 - 5000


# Refusals


def test_grades_get_no_line() -> None:
    garage = Garage(whole_library())
    headset = garage.part("headset")
    garage.fit(headset, at(0))
    ride_daily(garage, range(40))
    for day in (10, 39):
        garage.read(headset, "notch", at(day, 20), 0)
    found = of(garage, 40, "headset.notch")
    assert (found.km_left, found.on) == (None, None)
    assert found.refused == "What is felt or passed has no rate: it is looked at again, with no date."


def test_no_reading_and_an_unknown_past_are_refused_with_their_sentence() -> None:
    garage, _, _ = chain_bicycle(origin="second-hand", metres_before=None)
    ride_daily(garage, range(40))
    found = of(garage, 40, GROWTH)
    assert (found.state, found.km_left, found.on) == ("look once", None, None)
    assert found.refused == "Never read, and its former life is not known: measure once, then it counts."


def test_with_one_reading_an_unknown_past_counts_from_there() -> None:
    garage, chain, _ = chain_bicycle(origin="second-hand", metres_before=None)
    ride_daily(garage, range(40))
    garage.read(chain, "elongation_percent", at(39, 20), 0.35)
    left = of(garage, 40, GROWTH).km_left
    assert left is not None
    assert left.middle == pytest.approx((0.75 - 0.35) / 0.2 * 1000, rel=1e-6)


def test_known_kilometres_before_count_as_worn() -> None:
    new, used = (chain_bicycle(metres_before=metres)[0] for metres in (0, 2_000_000))
    for garage in (new, used):
        ride_daily(garage, range(4))
    left = [of(garage, 5, GROWTH).km_left for garage in (new, used)]
    assert left[0] is not None
    assert left[1] is not None
    assert left[0].middle - left[1].middle == pytest.approx(2000)


def test_no_late_end_beyond_three_lives() -> None:
    garage, _ = read_chain((1000, 2000, 3000), (0.05, 0.08, 0.1))
    found = of(garage, 121, GROWTH)
    assert found.km_left is not None
    assert found.km_left.late is None
    assert "or more km" in found.why


def test_what_does_not_change_is_told_no_end() -> None:
    """Readings that go down within their error, again and again: the rate they come to is none."""
    garage, _ = read_chain((500, 1500, 2500, 3750, 5000), (0.55, 0.4, 0.25, 0.1, 0.0))
    found = of(garage, 200, GROWTH)
    assert (found.km_left, found.on, found.refused) == (
        None, None, "Its readings hardly change: no end can be told."
    )  # fmt: skip


# Kilometres without a date


def test_not_ridden_for_six_weeks_gives_kilometres_and_no_date() -> None:
    garage, _ = read_chain((1500, 2500), (0.4, 0.6))
    ridden, idle = of(garage, 130, GROWTH), of(garage, 145, GROWTH)
    assert ridden.on is not None
    assert idle.on is None
    assert idle.km_left == ridden.km_left
    assert idle.refused == "Not ridden since 10 April: kilometres, no date."


def test_laid_up_rests_without_dates() -> None:
    garage, _ = read_chain((1500, 2500), (0.4, 0.6))
    garage.state = "laid up"
    found = of(garage, 100, GROWTH)
    assert (found.state, found.on) == ("resting", None)
    assert found.km_left is not None


def test_a_pace_that_the_rider_says_dates_a_bicycle_that_is_hardly_ridden() -> None:
    garage, chain, _ = chain_bicycle()
    ride_daily(garage, range(1))
    garage.read(chain, "elongation_percent", at(0, 20), 0.05)
    silent = of(garage, 1, GROWTH)
    assert (silent.on, silent.refused is not None) == (None, True)
    assert said(garage, 1, 175_000).on is not None
    slow, quick = (said(garage, 1, metres).day or date.max for metres in (50_000, 175_000))
    assert slow > quick


def said(garage: Garage, day: int, weekly_metres: int) -> Due:
    now = at(day, 9)
    found = due_of(garage.bicycle(), garage.library, today=now.date(), now=now, weekly_metres=weekly_metres)
    return next(each for each in found if each.task == GROWTH)
