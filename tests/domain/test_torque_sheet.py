"""The torque sheet of a bicycle: makers before the general range, the wrench, what is set on it, the bolt."""

from dataclasses import replace
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.bicycle import Bench, Bicycle, TorqueFigure, Wrench
from service.domain.procedure import Library
from service.domain.torque_sheet import Extension, Tightening, TorqueSheet, torque_sheet
from service.errors import Refusal
from tests.domain.reckoned_bicycle import ReckonedBicycle

SMALL = Wrench(UUID(int=1), "Small", 2, 24, 4, None)
STEERER = "stem.steerer-clamp"


def bicycle(library: Library, high_nm: float | None = None, low_nm: float | None = None) -> Bicycle:
    made = ReckonedBicycle(library)
    stem = made.parts["stem"]
    figures = () if high_nm is None else (TorqueFigure(stem, STEERER, low_nm, high_nm, ""),)
    made.set("stem", torque_figures=figures)
    return replace(made.bicycle(), bench=Bench(wrenches=(SMALL,)))


def row(found: TorqueSheet, name: str = STEERER) -> Tightening:
    return next(each for each in found.fastenings if each.fastening == name)


def test_the_makers_figure_governs_and_the_general_range_says_that_it_is_one(library: Library) -> None:
    general = torque_sheet(bicycle(library), library)
    assert not row(general).by_maker
    assert STEERER in {each.field for each in general.not_known}
    own = torque_sheet(bicycle(library, high_nm=5, low_nm=4), library)
    assert (row(own).low_nm, row(own).high_nm, row(own).by_maker) == (4, 5, True)
    assert STEERER not in {each.field for each in own.not_known}
    [read] = own.inputs
    assert (read.field, read.number, read.known_by) == (STEERER, 5, "maker")
    assert own.general_count == general.general_count - 1


# https://www.tpub.com/air/3-8.htm: 100 lbf·in with a 12 in wrench and a 6 in extension: 66.7
def test_what_is_set_with_an_extension_is_the_published_share(library: Library) -> None:
    found = torque_sheet(bicycle(library, high_nm=10), library, extension=Extension(304.8, 152.4))
    assert row(found).set_high_nm == pytest.approx(6.667, abs=0.005)
    square = torque_sheet(bicycle(library, high_nm=10), library, extension=Extension(304.8, 152.4, 90))
    assert row(square).set_high_nm == 10
    assert row(torque_sheet(bicycle(library, high_nm=10), library)).set_high_nm is None


def test_the_wrench_is_chosen_for_what_is_set(library: Library) -> None:
    plain = torque_sheet(bicycle(library, high_nm=27, low_nm=25), library)
    assert (row(plain).wrench, row(plain).no_wrench) == (None, True)
    longer = torque_sheet(bicycle(library, high_nm=27, low_nm=25), library, extension=Extension(300, 100))
    assert row(longer).wrench == "2 to 24 N·m, 4 %"  # 18.8 to 20.3 is to be set


# ISO 898-1 as tabulated at https://staging2.optimas.com/technical-resources/iso-metric-thread-proof-loads:
# M5 8.8 bears 8230 N; three quarters of it, dry (K 0.2), 5 mm: 6.2 N·m
def test_a_figure_over_what_the_bolt_takes_is_marked(library: Library) -> None:
    found = torque_sheet(bicycle(library, high_nm=9), library)
    assert row(found).thread == "M5"
    assert row(found).bolt_most_nm == pytest.approx(6.17, abs=0.01)
    assert row(found).over_bolt
    strong = torque_sheet(bicycle(library, high_nm=9), library, bolt_class="12.9")
    assert row(strong).bolt_most_nm == pytest.approx(0.75 * 13800 * 0.2 * 5 / 1000)
    assert not row(strong).over_bolt


def test_an_extension_as_long_as_the_wrench_is_refused(library: Library) -> None:
    with pytest.raises(Refusal, match="as long as the wrench"):
        torque_sheet(bicycle(library, high_nm=5), library, extension=Extension(200, 200))


@given(st.floats(50, 290), st.floats(3, 20))
def test_a_longer_extension_wants_a_lower_setting(library: Library, length: float, high: float) -> None:
    made = bicycle(library, high_nm=high)
    shorter = row(torque_sheet(made, library, extension=Extension(300, length / 2))).set_high_nm
    longer = row(torque_sheet(made, library, extension=Extension(300, length))).set_high_nm
    assert longer is not None
    assert shorter is not None
    assert longer < shorter < high
