"""Symptoms: every start leads somewhere, the trade's advice on riding, what a bicycle has and has not."""

import pytest

from service.domain.places import Surroundings, surroundings
from service.domain.procedure import Library
from service.domain.trouble import concerns, find_symptoms, start_of, trouble_of
from tests.domain.garage import Garage, at
from tests.procedures import whole_library

# What may be done with each symptom; trade diagnosis, common practice, no source.
TRADE = (
    ("click-each-turn", {"ride", "do not ride"}),
    ("knock-at-the-front", {"ride home gently", "do not ride"}),
    ("steering-stiff", {"ride home gently"}),
    ("chain-skips", {"ride home gently", "do not ride"}),
    ("slow-to-small-sprockets", {"ride"}),
    ("index-will-not-hold", {"ride", "ride home gently"}),
    ("chain-drops", {"ride home gently"}),
    ("lever-spongy", {"do not ride"}),
    ("lever-comes-to-the-bar", {"do not ride"}),
    ("brake-weak", {"do not ride"}),
    ("brake-squeals", {"ride"}),
    ("grinding-at-the-brake", {"do not ride"}),
    ("lever-pulses", {"ride home gently", "do not ride"}),
    ("brake-drags", {"ride"}),
    ("wheel-wobbles", {"ride home gently", "do not ride"}),
    ("spoke-breaks", {"ride home gently"}),
    ("bump-each-turn", {"do not ride"}),
    ("tubeless-loses-air", {"do not ride"}),
    ("rear-wheel-rocks", {"do not ride"}),
    ("no-drive", {"do not ride"}),
    ("chain-sags-coasting", {"ride home gently"}),
    ("shimmy-or-pull", {"ride home gently"}),
    ("bar-or-saddle-moves", {"do not ride"}),
    ("crack-dent-bubble", {"do not ride"}),
)
LIBRARY: Library = whole_library()


@pytest.mark.parametrize(("key", "advised"), TRADE)
def test_the_trade_advises_as_much(key: str, advised: set[str]) -> None:
    assert advised <= {cause.ride for cause in LIBRARY.symptoms[key].causes}


def test_every_start_of_every_symptom_is_a_task_or_a_step_of_the_library() -> None:
    found = [(cause, start_of(cause, LIBRARY)) for each in LIBRARY.symptoms.values() for cause in each.causes]
    assert len(found) > 100
    assert [cause.say for cause, start in found if (cause.start is None) != (start.kind == "event")] == []
    assert {start.kind for _, start in found} == {"task", "step", "event"}
    assert [start.title for _, start in found if not start.title or "{" in start.title] == []


def test_a_symptom_says_the_hardest_of_its_causes() -> None:
    for symptom in LIBRARY.symptoms.values():
        rides = {cause.ride for cause in symptom.causes}
        hardest = next(each for each in ("do not ride", "ride home gently", "ride") if each in rides)
        assert trouble_of(symptom, LIBRARY).ride == hardest


def test_a_category_finds_what_has_a_cause_that_begins_there() -> None:
    found = find_symptoms(LIBRARY, categories=["headset"])
    assert "knock-at-the-front" in [each.key for each in found]
    assert all("headset" in concerns(each) for each in found)
    assert len(find_symptoms(LIBRARY, stage="riding")) < len(LIBRARY.symptoms)


def test_what_is_not_entered_comes_last_with_the_reason_and_counts_for_riding() -> None:
    nothing = Surroundings((), None, LIBRARY)
    symptom = LIBRARY.symptoms["shimmy-or-pull"]
    trouble = trouble_of(symptom, LIBRARY, nothing)
    assert trouble.ride == trouble_of(symptom, LIBRARY).ride
    absent = [each.absent for each in trouble.causes]
    assert absent[0] is None  # what sits in no part can always be
    assert all(absent[1:])
    assert [each.cause for each in trouble.causes[1:]] == [each for each in symptom.causes if each.start]


def test_on_a_hydraulic_bicycle_the_calliper_is_centred_by_its_own_step() -> None:
    symptom = LIBRARY.symptoms["brake-squeals"]
    cause = next(each for each in symptom.causes if each.say == "The calliper is off line")
    assert start_of(cause, LIBRARY).id == "cable-disc-caliper.centre-pads"
    garage = Garage(LIBRARY)
    garage.fit(garage.part("hydraulic-disc-caliper"), at(0), "front")
    around = surroundings(garage.bicycle(), LIBRARY, "service")
    assert start_of(cause, LIBRARY, around).id == "hydraulic-disc-caliper.centre"
    tried = next(each for each in trouble_of(symptom, LIBRARY, around).causes if each.cause == cause)
    assert (tried.absent, [spot.place for spot in tried.spots]) == (None, ["front"])
