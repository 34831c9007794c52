"""Readings that cannot be, or are unlikely: each of the whole library's dimensions, with its own figures."""

from typing import Any
from uuid import UUID

import pytest

from service.domain.bicycle import WearMeasurement
from service.domain.loosened import of_task
from service.domain.procedure import Wear
from service.domain.reading_check import Known, check_reading
from service.errors import Asks, Refusal
from tests.domain.garage import START, at
from tests.procedures import whole_library

PART = UUID(int=1)


def wear(name: str) -> Wear:
    """A dimension of the whole library."""
    found = of_task(whole_library(), name)
    assert isinstance(found, Wear)
    return found


def read(low: float, high: float | None = -1.0, *, tool: str | None = None, day: int = 10) -> WearMeasurement:
    """A reading; exact where no high is given, open where it is None."""
    top = low if high == -1.0 else high
    return WearMeasurement(UUID(int=2), PART, "key", "", low, top, tool, at(day), START)


def check(name: str, reading: WearMeasurement, *, sure: bool = False, **known: Any) -> None:
    """Holds a reading against what is known."""
    check_reading(wear(name), reading, Known(known.pop("specs", {}), **known), sure=sure)


# new linings are 1.8 to 2.5 mm, chains are replaced at 0.5 to 1.0 %: common practice, no source
UNLIKELY = [
    ("brake-pads.lining_mm", 18, "0 to"),
    ("brake-pads.lining_mm", -0.1, "0 or more"),
    ("chain.elongation_percent", 75, "to 5 %"),
    ("rotor.run_out_mm", 30, "mm"),
    ("rim.wall_mm", 15, "mm"),
    ("tyre.tread_dimple_mm", 10, "mm"),
    ("brake-lever.lever_gap_mm", 500, "mm"),
]


@pytest.mark.parametrize(("name", "reading", "right"), UNLIKELY)
def test_a_wrong_unit_or_side_is_asked_for_again_and_stored_when_sure(name: str, reading: float, right: str) -> None:
    with pytest.raises(Asks, match="would be right") as asked:
        check(name, read(reading))
    assert wear(name).title in str(asked.value)
    assert right in str(asked.value)
    assert [fault.pointer for fault in asked.value.errors] == ["/reading"]
    check(name, read(reading), sure=True)


LIKELY = [
    ("brake-pads.lining_mm", 2.5),
    ("brake-pads.lining_mm", 0.0),
    ("chain.elongation_percent", 0.0),
    ("chain.elongation_percent", 1.2),
    ("rim.wall_mm", 1.8),
    ("tyre.tread_dimple_mm", 0.0),
    ("brake-lever.lever_gap_mm", 60),
    ("headset.notch", 3),
    ("cassette.hook_gauge", 1),
    ("spokes.broken_count", 4),
    ("rim.lateral_run_out_mm", 3),
]


@pytest.mark.parametrize(("name", "reading"), LIKELY)
def test_what_a_worn_or_a_new_part_shows_is_not_asked_about(name: str, reading: float) -> None:
    asked = None
    try:
        check(name, read(reading))
    except Refusal as refusal:
        asked = refusal.say
    assert asked is None


OFF_SCALE = [
    ("headset.notch", 4, "0 .smooth. to 3"),
    ("headset.notch", 1.5, "whole number"),
    ("cassette.hook_gauge", 2, "0 .passes. or 1"),
    ("spokes.broken_count", 1.5, "whole number"),
    ("cassette.chains_used", -1, "0 or more"),
]


@pytest.mark.parametrize(("name", "reading", "right"), OFF_SCALE)
def test_what_the_scale_does_not_have_is_refused_even_when_sure(name: str, reading: float, right: str) -> None:
    with pytest.raises(Refusal, match=right) as refused:
        check(name, read(reading), sure=True)
    assert not isinstance(refused.value, Asks)
    assert [fault.pointer for fault in refused.value.errors] == ["/reading"]


def test_the_parts_own_thickness_is_what_new_means() -> None:
    check("rotor.thickness_mm", read(2.0), specs={"thickness_mm": 2.0})
    with pytest.raises(Asks, match="more than new"):
        check("rotor.thickness_mm", read(2.4), specs={"thickness_mm": 1.8})


def test_a_reading_that_improves_by_more_than_both_can_err_is_asked_about() -> None:
    worn = read(0.8, tool="calliper", day=5)
    with pytest.raises(Asks, match="wrong side, the other pad, or a new part"):
        check("brake-pads.lining_mm", read(2.0, tool="calliper"), earlier=[worn])
    check("brake-pads.lining_mm", read(1.2, tool="calliper"), earlier=[worn])  # within 4 x sqrt(2) x 0.1 mm
    check("brake-pads.lining_mm", read(2.0), earlier=[read(0.8, day=5)])  # in place: good to 0.4 mm only
    check("brake-pads.lining_mm", read(2.0, tool="calliper"), earlier=[worn], renewed=at(7))


def test_play_that_was_taken_up_is_no_question() -> None:
    check("hub.play_mm", read(0.0), earlier=[read(2.0, day=5)])
    with pytest.raises(Asks, match="is better than 3"):
        check("spokes.broken_count", read(0), earlier=[read(3, day=5)])


def test_a_bracket_is_asked_about_only_where_all_of_it_is_unlikely() -> None:
    check("chain.gauge_step", read(0.5, 0.75))
    check("chain.gauge_step", read(1.0, None))
    with pytest.raises(Asks) as asked:
        check("chain.gauge_step", read(50, 75))
    assert [fault.pointer for fault in asked.value.errors] == ["/low"]
