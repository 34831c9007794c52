"""What is remembered from one question to the next never answers another question."""

import random
import sys
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import timedelta

from service.domain.checklist import draw_up
from service.domain.joins import findings, with_joins
from service.domain.memory import remembered
from service.domain.places import familiar, surroundings
from service.domain.procedure import Library
from tests.domain.bicycles import NOW, TODAY, Workshop, spec
from tests.domain.mixed_bicycle import MixedBicycle
from tests.domain.random_bicycles import any_bicycle


def drawn_alone(shop: Workshop, library: Library) -> object:
    """The checklist with nothing to remember: an equal library that is not the same value."""
    return draw_up(shop.bicycle(), replace(library), shop.job(), now=NOW, today=TODAY)


def test_an_answer_is_remembered_for_these_very_values() -> None:
    worked: list[list[int]] = []

    @remembered
    def total(numbers: list[int]) -> int:
        worked.append(numbers)
        return sum(numbers)

    ours, theirs = [1, 2], [1, 2]
    assert [total(ours), total(ours), total(theirs)] == [3, 3, 3]
    assert len(worked) == 2


def test_values_that_are_gone_are_never_taken_for_new_ones() -> None:
    @remembered
    def copied(numbers: list[int]) -> tuple[int, ...]:
        return tuple(numbers)

    assert [copied([number]) for number in range(1000)] == [(number,) for number in range(1000)]


def test_the_same_parts_are_looked_at_from_the_same_surroundings(library: Library) -> None:
    bike = MixedBicycle(library)
    first, second = (familiar(surroundings(bike.shop.bicycle(), library)) for _ in range(2))
    assert first is second


def test_other_parts_facts_jobs_and_libraries_are_not_familiar(library: Library) -> None:
    bike = MixedBicycle(library)
    seen = bike.shop.bicycle()
    known = familiar(surroundings(seen, library))
    fork = seen.parts[bike.parts["fork"]]
    bike.shop.parts[fork.id] = replace(fork, specs={**fork.specs, "material": (spec("material", "carbon"),)})
    heavier = replace(seen, build=replace(seen.build, rider_mass_g=110_000))
    others = [
        surroundings(bike.shop.bicycle(), library),
        surroundings(heavier, library),
        surroundings(seen, library, "check"),
        surroundings(seen, replace(library)),
        replace(surroundings(seen, library), said=frozenset({"safety skipped"})),
        with_joins(surroundings(seen, library)),
    ]
    assert [each for each in others if familiar(each) is known] == []


def test_a_checklist_drawn_again_after_every_change_is_as_if_drawn_for_the_first_time(library: Library) -> None:
    for seed in range(2):
        dice = random.Random(seed)
        shop = any_bicycle(library, dice)
        for row in list(shop.plan)[:6]:
            shop.checklist()
            shop.fit(row.part_id, row.place, row.into_part_id)
            if dice.random() < 0.5:
                shop.off_and_on(row.part_id)
            assert shop.checklist() == drawn_alone(shop, library)


def test_threads_that_draw_for_the_same_parts_at_once_are_answered_alike(library: Library) -> None:
    bike = MixedBicycle(library)
    right = drawn_alone(bike.shop, library)
    bicycles = [bike.shop.bicycle() for _ in range(8)]
    pause = sys.getswitchinterval()
    sys.setswitchinterval(1e-5)  # so that they do meet half-way
    try:
        with ThreadPoolExecutor(8) as pool:
            drawn = list(pool.map(lambda each: draw_up(each, library, bike.shop.job(), now=NOW, today=TODAY), bicycles))
    finally:
        sys.setswitchinterval(pause)
    assert [each == right for each in drawn] == [True] * 8


def test_findings_asked_again_after_a_fact_has_changed_are_new(library: Library) -> None:
    bike = MixedBicycle(library)
    before = findings(bike.shop.bicycle(), library)
    post = bike.shop.parts[bike.parts["seatpost"]]
    bike.shop.parts[post.id] = replace(post, specs={**post.specs, "diameter_mm": (spec("diameter_mm", 31.6),)})
    after = findings(bike.shop.bicycle(), library)
    assert before != after
    assert after == findings(bike.shop.bicycle(), replace(library))


def test_what_rests_until_a_moment_is_told_from_the_moment_it_is_asked(library: Library) -> None:
    bike = MixedBicycle(library)
    resting = next(step for step in bike.shop.checklist().steps if step.waits_minutes)
    bike.shop.now = NOW
    job = bike.shop.job(marks=(bike.shop.mark(resting),))
    seen = bike.shop.bicycle()
    later = NOW + timedelta(minutes=resting.waits_minutes + 1)
    waits = [
        any(
            held.kind == "wait"
            for step in draw_up(seen, library, job, now=now, today=now.date()).steps
            for held in step.blocked_by
        )
        for now in (NOW, later, NOW)
    ]
    assert waits == [True, False, True]
