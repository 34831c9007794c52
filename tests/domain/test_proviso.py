"""What an undecided condition hangs on, in words. Rules: derived, no outside source."""

from typing import Any

import pytest

from service.domain.places import surroundings
from service.domain.procedure import When
from service.domain.proviso import only_if
from tests.domain.garage import Garage, at
from tests.procedures import whole_library

SHELF = whole_library()
NOT_YET = " (not known yet: measure)"


def said(when: When, category: str, **specs: str) -> str | None:
    """The words for a condition of this part on a bicycle with a frame and a fork of which nothing is known."""
    garage = Garage(SHELF)
    for name in ("frame", "fork"):
        garage.fit(garage.part(name), at(0))
    facts: dict[str, Any] = {**specs}
    garage.fit(garage.part(category, **facts), at(0))
    around = surroundings(garage.bicycle(), SHELF)
    return only_if(when, around.here(around.by_role[category][0]))


ENGLISH = {"kind": "cartridge", "shell": ["threaded_english", "threaded_m47"]}
CARBON = {"fork.steerer_material": "carbon"}


@pytest.mark.parametrize(
    ("when", "words"),
    [
        (ENGLISH, '"Shell it fits" is threaded english or threaded m47'),
        ({"not": {"shell": "threaded_english"}}, '"Shell it fits" is not threaded english'),
        (CARBON, '"Material of the steerer" of the fork is carbon'),
        ({"not": CARBON}, '"Material of the steerer" of the fork is not carbon'),
        (
            {"any": [CARBON, {"frame.material": "carbon"}, {"kind": "outboard"}]},
            '"Material of the steerer" of the fork is carbon or "Material" of the frame is carbon',
        ),
        (
            {"not": {"any": [CARBON, {"frame.material": "carbon"}]}},
            '"Material of the steerer" of the fork is not carbon and "Material" of the frame is not carbon',
        ),
        (
            {"spindle_length_mm": {"min": 110, "under": 118}},
            '"Length of its own spindle" is at least 110 and under 118',
        ),
        ({"build.front_brake_hand": "right"}, '"Front brake hand" of the build is right'),
    ],
)
def test_only_what_is_not_known_is_named_by_its_title(when: When, words: str) -> None:
    assert said(when, "bottom-bracket", kind="cartridge") == f"only if {words}{NOT_YET}"


def test_what_is_decided_hangs_on_nothing() -> None:
    assert said(ENGLISH, "bottom-bracket", **{"kind": "cartridge", "shell": "threaded_english"}) is None
    assert said(ENGLISH, "bottom-bracket", kind="outboard") is None
    assert said({}, "bottom-bracket") is None


def test_every_condition_of_a_fastening_has_words_when_nothing_is_measured() -> None:
    met = {
        f"{name}.{each.key}": said(each.when, name)
        for name, category in SHELF.categories.items()
        for each in category.fastenings
        if each.when and "build" in category.into
    }
    assert met["bottom-bracket.fixed-cup"] is not None
    assert [name for name, words in met.items() if words and (" is " not in words or "_" in words)] == []
