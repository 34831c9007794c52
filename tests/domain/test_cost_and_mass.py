"""Cost and mass of a bicycle: hand sums, what is left out is named, nothing is counted twice or lost."""

from dataclasses import replace
from datetime import date
from typing import Any
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.cost import Spent, cost
from service.domain.mass import GROUPS, OTHER, mass
from service.domain.procedure import Library
from tests.domain.reckoned_bicycle import ReckonedBicycle

DAY = date(2026, 4, 1)


def spent(kind: str, amount: int, number: int = 1) -> Spent:
    return Spent(UUID(int=number), kind, amount, DAY, "")


def bought(library: Library) -> ReckonedBicycle:
    """A bicycle of which four parts have a price and the others none."""
    made = ReckonedBicycle(library)
    made.set("frame", price_minor=12000, price_new_minor=60000)
    made.set("fork", price_minor=0, price_new_minor=9000)  # a gift
    made.set("saddle", state="planned", price_minor=4500)
    made.set("stem", state="ordered", price_minor=None, price_new_minor=2990)
    return made


def test_the_sums_are_hand_sums(library: Library) -> None:
    made = bought(library)
    found = cost(made.bicycle(compare_price_minor=100000), library, [spent("shop", 3000), spent("carriage", 690, 2)])
    assert found.paid_minor == 12000
    assert found.to_buy_minor == 4500 + 2990
    assert found.by_kind == (("shop", 3000), ("tool", 0), ("consumable", 0), ("carriage", 690))
    assert found.total_minor == 12000 + 4500 + 2990 + 3690
    assert found.as_new_minor == 60000 + 9000 + 2990
    assert (found.compare_minor, found.against_minor) == (100000, 23180 - 100000)


def test_every_part_without_a_price_is_named_and_a_gift_is_not_one(library: Library) -> None:
    made = bought(library)
    found = cost(made.bicycle(), library)
    without = {each.name for each in found.without_price}
    assert len(found.without_price) == len(found.parts) - 4
    assert {"frame", "fork", "saddle", "stem"} & without == set()
    assert all(name in found.leaves_out for name in without)
    assert {each.part for each in found.not_known} == {each.part for each in found.without_price}
    assert (found.compare_minor, found.against_minor) == (None, None)


def test_a_price_as_new_counts_for_what_is_still_to_buy_and_not_for_what_was_bought(library: Library) -> None:
    made = ReckonedBicycle(library)
    made.set("frame", price_new_minor=60000)
    made.set("saddle", state="planned", price_new_minor=4500)
    found = cost(made.bicycle(), library)
    assert (found.paid_minor, found.to_buy_minor) == (None, 4500)  # what the parts in hand cost nobody knows
    assert found.total_minor == 4500
    known = {each.name: each.known_by for each in found.parts if each.category in ("frame", "saddle")}
    assert known == {"frame": "not known", "saddle": "as new"}


def test_places_where_nothing_is_chosen_are_named_too(library: Library) -> None:
    made = bought(library)
    made.made.shop.take_off(made.parts["saddle"])
    found = cost(made.bicycle(), library)
    assert "Saddle" in {each.title for each in found.not_chosen}
    assert "1 place where nothing is chosen yet is not in the sum: Saddle." in found.leaves_out
    assert "1 place where nothing is chosen yet" in found.leaves_out_in_short
    assert "Saddle" not in found.leaves_out_in_short


def test_where_nothing_is_left_out_nothing_is_said(library: Library) -> None:
    made = bought(library)
    for name in made.parts:
        made.set(name, price_minor=100)
    found = cost(made.bicycle(), library)
    assert found.without_price == ()
    assert "without a price" not in found.leaves_out
    assert "without a price" not in found.leaves_out_in_short


def test_where_no_price_is_known_no_sum_is(library: Library) -> None:
    found = cost(ReckonedBicycle(library).bicycle(compare_price_minor=90000), library)
    assert (found.total_minor, found.paid_minor, found.as_new_minor, found.against_minor) == (None, None, None, None)
    assert found.to_buy_minor == 0  # every part is in hand: there is nothing to buy
    assert (len(found.without_price), found.spent_minor) == (len(found.parts), 0)
    alone = cost(ReckonedBicycle(library).bicycle(), library, [spent("shop", 3000)])
    assert (alone.total_minor, alone.paid_minor) == (3000, None)


def test_what_is_left_out_is_counted_before_it_is_named(library: Library) -> None:
    made = bought(library)
    for name in made.parts:
        made.set(name, price_minor=None if name == "stem" else 100, price_new_minor=None)
    found = cost(made.bicycle(), library)
    assert found.leaves_out.startswith("1 part without a price is not in the sum: stem.")
    assert found.leaves_out_in_short.startswith("Not in the sum: 1 part without a price")


@given(st.lists(st.one_of(st.none(), st.integers(0, 10**6)), min_size=4, max_size=4), st.permutations(range(4)))
def test_each_price_is_in_one_sum_or_named(library: Library, prices: list[int | None], order: list[int]) -> None:
    made = ReckonedBicycle(library)
    for name, number in zip(("frame", "fork", "saddle", "stem"), order, strict=True):
        made.set(name, price_minor=prices[number], state="planned" if number % 2 else "in hand")
    found = cost(made.bicycle(), library)
    known = [price for price in prices if price is not None]
    assert (found.total_minor is None) == (not known)
    assert (found.paid_minor or 0) + (found.to_buy_minor or 0) == sum(known) == (found.total_minor or 0)
    assert len(found.without_price) + sum(price is not None for price in prices) == len(found.parts)


def weighed(library: Library) -> ReckonedBicycle:
    made = ReckonedBicycle(library)
    made.set("frame", mass_claimed_g=1900.0, mass_weighed_g=2010.0)
    made.set("fork", mass_claimed_g=850.0)
    made.set("cassette@rear", mass_weighed_g=350.0)
    return made


def test_what_was_weighed_counts_before_what_is_claimed(library: Library) -> None:
    found = mass(weighed(library).bicycle(mass_weighed_g=11000))
    assert found.sum_g == 2010 + 850 + 350
    assert (found.weighed_g, found.claimed_g) == (2360, 850)
    assert (found.bicycle_weighed_g, found.difference_g) == (11000, 11000 - 3210)
    groups = {each.group: each.mass_g for each in found.groups}
    assert groups["frame and fork"] == 2860
    assert groups["drive"] == 350
    assert groups["cockpit and saddle"] is None  # nothing of it has a mass
    assert sum(each or 0 for each in groups.values()) == found.sum_g


def test_where_no_mass_is_known_no_sum_is(library: Library) -> None:
    found = mass(ReckonedBicycle(library).bicycle(mass_weighed_g=11000))
    assert (found.sum_g, found.weighed_g, found.claimed_g, found.difference_g) == (None, None, None, None)
    assert {(each.mass_g, each.weighed_g) for each in found.groups} == {(None, None)}
    assert found.bicycle_weighed_g == 11000
    assert found.leaves_out_in_short == f"Not in the sum: {len(found.not_known)} parts without a mass."


def test_what_has_no_mass_is_named(library: Library) -> None:
    found = mass(weighed(library).bicycle())
    names = {each.name for each in found.without_mass}
    assert "saddle" in names
    assert "wheel" not in names  # a laced wheel is nothing but its parts
    assert all(name in found.leaves_out for name in names)
    assert sum(each.without_mass_count for each in found.groups) == len(found.without_mass) == len(found.not_known)
    assert found.difference_g is None


def test_a_weighed_wheel_stands_for_hub_rim_and_spokes(library: Library) -> None:
    made = weighed(library)
    made.set("hub@rear", mass_claimed_g=300.0)
    made.set("rim@rear", mass_claimed_g=500.0)
    apart = mass(made.bicycle())
    made.set("wheel@rear", mass_weighed_g=1200.0)
    whole = mass(made.bicycle())
    assert (apart.sum_g, whole.sum_g) == (2010 + 850 + 350 + 300 + 500, 2010 + 850 + 350 + 1200)
    by_id = {each.part: each.known_by for each in whole.parts}
    assert {by_id[made.parts[name]] for name in ("hub@rear", "rim@rear", "spokes@rear.left")} == {"with its wheel"}
    assert by_id[made.parts["cassette@rear"]] == "weighed"
    assert any("laced wheel" in each for each in whole.assumes)


def test_every_category_has_one_group(library: Library) -> None:
    grouped = [category for categories in GROUPS.values() for category in categories]
    assert len(grouped) == len(set(grouped))
    assert set(grouped) <= set(library.categories)
    assert OTHER not in GROUPS


@given(st.dictionaries(st.sampled_from(["frame", "fork", "saddle", "stem", "chain"]), st.floats(1, 5000)))
def test_the_sum_is_the_groups_and_the_groups_are_the_parts(library: Library, masses: dict[str, Any]) -> None:
    made = ReckonedBicycle(library)
    for name, grams in masses.items():
        made.set(name, mass_claimed_g=grams)
    found = mass(replace(made.bicycle()))
    assert (found.sum_g is None) == (not masses)
    assert (found.sum_g or 0) == pytest.approx(sum(masses.values()))
    assert (found.sum_g or 0) == pytest.approx(sum(each.mass_g or 0 for each in found.groups))
    assert sum(each.parts_count for each in found.groups) == len(found.parts)
