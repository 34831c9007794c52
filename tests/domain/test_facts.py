"""Which fastenings concern a part, and which maker's figures are asked about. Limits: derived, no source."""

from dataclasses import replace

import pytest

from service.domain.facts import at_specs, check_fastening, check_figure, check_pairs, fastenings_at
from service.errors import Asks, Refusal
from tests.domain.garage import category, library
from tests.procedures import whole_library

SHELF = whole_library()


@pytest.mark.parametrize(
    ("part", "fastening", "asked", "taken"),
    [
        ("cable-disc-caliper", "cable-disc-caliper.cable-anchor", (2.8, 10.4, 70), (2.9, 6, 10.3)),  # M5: 10.35 N·m
        ("bottom-bracket", "bottom-bracket.left-cup", (16, 98.1), (16.5, 50, 98)),  # 33 to 49, no thread named
        ("stem", "stem.steerer-clamp", (1.9, 12), (2, 8, 10)),  # 4 to 8 and 4 to 6
        ("stem", "handlebar.faceplate", (12, 50), (5,)),  # another category's
        ("seat-clamp", "seat-clamp.clamp-bolt", (1.2, 15, 55), (5, 12)),  # a lever by feel does not widen it
        ("crankset", "crankset.preload-ring", (61,), (1, 60)),  # by feel alone
        ("headset", "headset.top-cap", (18,), (3,)),  # by feel, M6: 17.55 N·m
        ("saddle", "saddle.rail-clamp", (43,), (28, 42)),  # M8 of class 12.9: 42.6 N·m
    ],
)
def test_a_figure_outside_reason_is_asked_about(
    part: str, fastening: str, asked: tuple[float, ...], taken: tuple[float, ...]
) -> None:
    for high_nm in asked:
        with pytest.raises(Asks, match=f"{high_nm:g} N·m is unlikely") as raised:
            check_figure(SHELF, part, fastening, high_nm, pointer="/high_nm")
        assert (raised.value.confirm, raised.value.errors[0].pointer) == ("sure", "/high_nm")
    accepted = [check_figure(SHELF, part, fastening, high_nm, pointer="/high_nm") for high_nm in taken]  # type: ignore[func-returns-value]
    assert accepted == [None] * len(taken)


def test_no_range_of_the_library_would_be_asked_about() -> None:
    rows = [
        (name, row) for name in SHELF.categories for key, all_ in fastenings_at(SHELF, name).items() for row in all_
    ]
    assert len(rows) > 80
    for name, row in rows:
        full = next(key for key, all_ in fastenings_at(SHELF, name).items() if row in all_)
        if row.high_nm is not None:
            check_figure(SHELF, name, full, row.high_nm, pointer="/high_nm")


def test_an_unknown_fastening_is_refused_with_all_that_are_taken() -> None:
    named = r"joins a stem; it has stem\.steerer-clamp, drop-bar\.faceplate, handlebar\.faceplate\.$"
    with pytest.raises(Refusal, match=named):
        check_fastening(SHELF, "stem", "mount-bolt")
    for part in ("stem", "fork", "hub", "one-piece-bar", "combined-lever"):
        for name in fastenings_at(SHELF, part):
            assert check_fastening(SHELF, part, name) == name
    with pytest.raises(Refusal, match="it has none"):
        check_fastening(library(category("tape")), "tape", "bolt")


def test_only_what_hosts_a_part_joins_by_its_host_bolts() -> None:
    assert "cable-disc-caliper.mount-bolt" in fastenings_at(SHELF, "fork")
    assert "cable-disc-caliper.mount-bolt" not in fastenings_at(SHELF, "stem")
    assert "combined-lever.band" in fastenings_at(SHELF, "combined-lever")  # taken over from the brake lever
    gone = replace(SHELF.categories["stem"], fastenings=())
    without = replace(SHELF, categories={**SHELF.categories, "stem": gone})
    assert list(fastenings_at(without, "stem")) == ["drop-bar.faceplate", "handlebar.faceplate"]


def test_a_least_above_its_most_is_refused_at_the_fields_that_are_entered() -> None:
    calliper = SHELF.categories["cable-disc-caliper"]
    upside_down = {"rotor_min_mm": 180.0, "rotor_max_mm": 160.0}
    for entered in ({"rotor_min_mm"}, {"rotor_max_mm"}, set(upside_down)):
        with pytest.raises(Refusal, match="measure both again") as refused:
            check_pairs(calliper, upside_down, at_specs(entered))
        assert {fault.pointer for fault in refused.value.errors} == {f"/specs/{key}" for key in entered}


def test_a_pair_that_is_equal_half_known_or_stood_there_before_is_let_be() -> None:
    calliper = SHELF.categories["cable-disc-caliper"]
    check_pairs(calliper, {"rotor_min_mm": 160.0, "rotor_max_mm": 160.0}, at_specs(["rotor_min_mm"]))
    check_pairs(calliper, {"rotor_min_mm": 180.0}, at_specs(["rotor_min_mm"]))
    check_pairs(calliper, {"rotor_min_mm": 180.0, "rotor_max_mm": 160.0}, at_specs(["rotor_thickness_mm"]))
