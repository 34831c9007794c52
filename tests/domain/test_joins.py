"""Joins: the answers as a truth table (derived from the rules, no outside source), and worked cases."""

from dataclasses import replace
from itertools import product
from typing import Any

import pytest

from service.domain.bicycle import Acceptance
from service.domain.condition import Answer
from service.domain.joins import Finding, findings, look, with_joins
from service.domain.places import surroundings
from service.domain.procedure import CareCase, Join, Library
from tests.domain.garage import Garage, at, category, choice, library, number

ROUND = {"mine": "shape", "is": "equal", "than": "round"}


def join(key: str = "fit", *, with_: tuple[str, ...] = ("hole",), **more: Any) -> Join:
    more.setdefault("basis", "common practice")
    more.setdefault("say", "Mine is {mine}, theirs {theirs}.")
    return Join(key=key, title="Peg and hole", with_=with_, **more)


def shelf(*joins: Join) -> Library:
    """Pegs with the joins under test, and the holes they go in."""
    fields = (
        number("size_mm"),
        number("other_mm"),
        number("bore_mm", nominal=(27.0, 27.2), snap=0.05),
        replace(number("fits_mm"), kind="numbers"),
        choice("mark", kind="label"),
        choice("shape", "round", "square"),
    )
    return library(
        category("peg", specs=fields, joins=joins, places=("front", "rear")),
        category("hole", specs=fields, places=("front", "rear")),
        category("shim", specs=(number("inside_mm"), number("outside_mm")), places="joins"),
        category("frame", specs=fields),
    )


def found(books: Library, peg: dict[str, Any], hole: dict[str, Any] | None, **shim: Any) -> Finding:
    """The only finding of one peg and one hole."""
    garage = Garage(books)
    garage.fit(garage.part("peg", **peg), at(0))
    if hole is not None:
        garage.fit(garage.part("hole", **hole), at(0))
    if shim:
        garage.fit(garage.part("shim", **shim), at(0), "peg-fit")
    (one,) = findings(garage.bicycle(), books)
    return one


def equal(give: float | None = None, *, how: str = "equal", **more: Any) -> dict[str, Any]:
    test = {"mine": "size_mm", "is": how, "theirs": "hole.size_mm"} | more
    return test if give is None else test | {"give": give}


# A fact for each answer of a test on its own field: a size, a size nobody measured, a label nobody knows
SIZES: dict[str, dict[str, Any]] = {"no": {"size_mm": 9}, "not known": {}, "yes": {"size_mm": 10}}
OTHERS: dict[str, dict[str, Any]] = {"no": {"other_mm": 9}, "not known": {}, "yes": {"other_mm": 10}}
TRUTH = {
    ("yes", "no"): "meets",
    ("yes", "not known"): "meets",
    ("yes", "yes"): "meets",
    ("no", "no"): "conflicts",
    ("no", "not known"): "not measured yet",
    ("no", "yes"): "needs care",
    ("not known", "no"): "not measured yet",
    ("not known", "not known"): "not measured yet",
    ("not known", "yes"): "not measured yet",
}


@pytest.mark.parametrize(("meets", "care"), list(product(("no", "not known", "yes"), repeat=2)))
def test_the_outcome_follows_from_what_meets_and_what_works_with_care(meets: str, care: str) -> None:
    case = CareCase(
        key="near", say="Near: {mine} and {theirs}.", tests=({"mine": "other_mm", "is": "equal", "than": 10},)
    )
    books = shelf(join(meets_if=(equal(),), care_if=(case,)))
    one = found(books, SIZES[meets] | OTHERS[care], {"size_mm": 10})
    assert one.answer == TRUTH[meets, care]
    assert one.care == ("near" if one.answer == "needs care" else None)


@pytest.mark.parametrize("care", ["no", "not known", "yes"])
def test_an_alternative_may_ask_for_care_even_where_the_parts_meet(care: str) -> None:
    case = CareCase(
        key="cam", say="Use another.", tests=({"mine": "other_mm", "is": "equal", "than": 10},), even_if_meets=True
    )
    one = found(shelf(join(meets_if=(equal(),), care_if=(case,))), SIZES["yes"] | OTHERS[care], {"size_mm": 10})
    assert one.answer == ("needs care" if care == "yes" else "meets")


def test_a_certain_conflict_does_not_wait_for_what_is_not_known() -> None:
    books = shelf(join(meets_if=({"mine": "shape", "is": "equal", "theirs": "hole.shape"}, equal())))
    one = found(books, {"size_mm": 9}, {"size_mm": 10})
    assert one.answer == "conflicts"
    assert one.measure == ()


def test_an_unknown_is_never_a_pass_and_says_what_to_measure() -> None:
    one = found(shelf(join(meets_if=(equal(),))), {"size_mm": 10}, {})
    assert one.answer == "not measured yet"
    assert [(each.category, each.field, each.how) for each in one.measure] == [("hole", "size_mm", "Measure size_mm.")]


@pytest.mark.parametrize(
    ("mine", "theirs", "answer"),
    [("A-7", " a-7 ", "meets"), ("A-7", "B", "conflicts"), (None, "B", "needs care"), ("A-7", None, "needs care")],
)
def test_a_label_is_compared_trimmed_and_an_unknown_one_needs_care(
    mine: str | None, theirs: str | None, answer: str
) -> None:
    books = shelf(join(meets_if=({"mine": "mark", "is": "equal", "theirs": "hole.mark"},)))
    assert found(books, {"mark": mine}, {"mark": theirs}).answer == answer


@pytest.mark.parametrize(
    ("test", "peg", "hole", "answer"),
    [
        (equal(), {"size_mm": 10.1}, {"size_mm": 10}, "meets"),
        (equal(), {"size_mm": 10.11}, {"size_mm": 10}, "conflicts"),
        (equal(0.5), {"size_mm": 10.5}, {"size_mm": 10}, "meets"),
        (equal(plus=2, times=3), {"size_mm": 32}, {"size_mm": 10}, "meets"),
        (equal(how="not equal"), {"size_mm": 10}, {"size_mm": 10}, "conflicts"),
        (equal(how="at least"), {"size_mm": 9.95}, {"size_mm": 10}, "conflicts"),
        (equal(how="at least", plus=-1), {"size_mm": 9}, {"size_mm": 10}, "meets"),
        (equal(0.1, how="at most"), {"size_mm": 10.1}, {"size_mm": 10}, "meets"),
        (equal(0.1, how="at most"), {"size_mm": 10.2}, {"size_mm": 10}, "conflicts"),
        (equal(2, how="within"), {"size_mm": 8}, {"size_mm": 10}, "meets"),
        (equal(2, how="within"), {"size_mm": 7.9}, {"size_mm": 10}, "conflicts"),
        ({"mine": "size_mm", "is": "within", "than": [5, 7]}, {"size_mm": 7}, {}, "meets"),
        ({"mine": "size_mm", "is": "within", "than": [5, 7]}, {"size_mm": 7.1}, {}, "conflicts"),
        ({"mine": "shape", "is": "in", "than": ["round", "oval"]}, {"shape": "round"}, {}, "meets"),
        ({"mine": "shape", "is": "in", "than": ["round", "oval"]}, {"shape": "square"}, {}, "conflicts"),
        ({"mine": "size_mm", "is": "in", "theirs": "hole.fits_mm"}, {"size_mm": 8}, {"fits_mm": [7, 8]}, "meets"),
        ({"mine": "size_mm", "is": "in", "theirs": "hole.fits_mm"}, {"size_mm": 9}, {"fits_mm": [7, 8]}, "conflicts"),
        (
            {"mine": "shape", "is": "pairs", "theirs": "hole.size_mm", "table": [["round", 10], ["square", 8]]},
            {"shape": "round"}, {"size_mm": 10}, "meets",
        ),
        (
            {"mine": "shape", "is": "pairs", "theirs": "hole.size_mm", "table": [["round", 10], ["square", 8]]},
            {"shape": "square"}, {"size_mm": 10}, "conflicts",
        ),
        ({"any": [[equal()], [ROUND]]}, {"shape": "round"}, {}, "meets"),
        ({"any": [[equal()], [ROUND]]}, {"shape": "square"}, {}, "not measured yet"),
        ({"any": [[equal()], [ROUND]]}, {"shape": "square", "size_mm": 9}, {"size_mm": 10}, "conflicts"),
        (equal(theirs="frame.size_mm"), {"size_mm": 10}, {}, "conflicts"),
    ],
)  # fmt: skip
def test_every_kind_of_test(test: dict[str, Any], peg: dict[str, Any], hole: dict[str, Any], answer: str) -> None:
    assert found(shelf(join(meets_if=(test,))), peg, hole).answer == answer


@pytest.mark.parametrize(
    ("mine", "theirs", "answer"),
    [(27.03, 27.0, "meets"), (27.2, 27.0, "conflicts"), (27.1, 27.2, "not measured yet"), (27.16, 27.23, "meets")],
)
def test_readings_are_sizes_before_they_are_compared(mine: float, theirs: float, answer: str) -> None:
    books = shelf(join(meets_if=({"mine": "bore_mm", "is": "equal", "theirs": "hole.bore_mm"},)))
    assert found(books, {"bore_mm": mine}, {"bore_mm": theirs}).answer == answer


@pytest.mark.parametrize(
    ("mine", "theirs", "answer"),
    [
        (27.20, 27.10, "meets"),
        (27.02, 27.00, "conflicts"),
        (27.30, 27.00, "conflicts"),
        ((27.2,), 27.1, "not measured yet"),  # only a printed code
        (27.2, None, "not measured yet"),
    ],
)
def test_a_press_fit_is_compared_as_read_and_signed(mine: Any, theirs: Any, answer: str) -> None:
    press = {"mine": "bore_mm", "theirs": "hole.bore_mm", "raw": True, "give": 0}
    tests = (press | {"is": "at least", "plus": 0.05}, press | {"is": "at most", "plus": 0.25})
    assert found(shelf(join(meets_if=tests)), {"bore_mm": mine}, {"bore_mm": theirs}).answer == answer


def test_a_shim_bridges_the_join_that_it_stands_in() -> None:
    tests = (
        {"mine": "shim.inside_mm", "is": "equal", "theirs": "size_mm"},
        {"mine": "shim.outside_mm", "is": "equal", "theirs": "hole.size_mm"},
    )
    case = CareCase(key="shim", say="A shim.", tests=tests, bridged_by="shim")
    books = shelf(join(meets_if=(equal(),), care_if=(case,)))
    assert found(books, {"size_mm": 9}, {"size_mm": 10}).answer == "conflicts"
    assert found(books, {"size_mm": 9}, {"size_mm": 10}, inside_mm=9, outside_mm=10).care == "shim"
    assert found(books, {"size_mm": 9}, {"size_mm": 10}, inside_mm=8, outside_mm=10).answer == "conflicts"
    assert found(books, {"size_mm": 9}, {"size_mm": 10}, inside_mm=9).answer == "not measured yet"


def test_without_a_partner_there_is_no_finding_and_ends_are_kept_apart() -> None:
    books = shelf(join(meets_if=(equal(),)))
    garage = Garage(books)
    garage.fit(garage.part("peg", size_mm=10), at(0), "front")
    assert findings(garage.bicycle(), books) == ()
    garage.fit(garage.part("hole", size_mm=10), at(0), "rear")
    assert findings(garage.bicycle(), books) == ()
    garage.fit(garage.part("peg", size_mm=9), at(0), "rear")
    assert [(each.join, each.answer) for each in findings(garage.bicycle(), books)] == [("peg.fit@rear", "conflicts")]


def test_several_partners_give_a_finding_each_under_its_own_name() -> None:
    books = library(*(c for c in shelf(join(meets_if=(equal(),))).categories.values() if c.category != "hole"),
                    category("hole", specs=(number("size_mm"),), places=("1", "2")))  # fmt: skip
    garage = Garage(books)
    garage.fit(garage.part("peg", size_mm=10), at(0), "front")
    holes = [garage.part("hole", size_mm=size) for size in (10, 12)]
    for place, hole in zip(("1", "2"), holes, strict=True):
        garage.fit(hole, at(0), place)
    met = {each.join: each.answer for each in findings(garage.bicycle(), books)}
    assert met == {
        f"peg.fit@front:{holes[0].hex[-8:]}": "meets",
        f"peg.fit@front:{holes[1].hex[-8:]}": "conflicts",
    }


def test_two_of_a_kind_are_compared_once_a_pair() -> None:
    pair = join("pair", with_=("peg",), meets_if=({"mine": "size_mm", "is": "equal", "theirs": "other.size_mm"},))
    books = shelf(pair)
    garage = Garage(books)
    for place, size in (("front", 10), ("rear", 9)):
        garage.fit(garage.part("peg", size_mm=size), at(0), place)
    (one,) = findings(garage.bicycle(), books)
    assert one.answer == "conflicts"
    assert len(one.parts) == 2


def test_a_condition_that_is_no_leaves_no_join_and_an_unknown_one_waits_unless_they_meet_anyhow() -> None:
    books = shelf(join(meets_if=(equal(),), when={"shape": "round"}))
    garage = Garage(books)
    garage.fit(garage.part("peg", size_mm=9, shape="square"), at(0))
    garage.fit(garage.part("hole", size_mm=10), at(0))
    assert findings(garage.bicycle(), books) == ()
    waits = found(books, {"size_mm": 9}, {"size_mm": 10})
    assert waits.answer == "not measured yet"
    assert [each.field for each in waits.measure] == ["shape"]
    assert found(books, {"size_mm": 10}, {"size_mm": 10}).answer == "meets"


def test_words_are_filled_from_the_facts_that_fail() -> None:
    tests = ({"mine": "shape", "is": "equal", "than": "round"}, equal())
    one = found(shelf(join(meets_if=tests)), {"size_mm": 9.5, "shape": "round"}, {"size_mm": 10})
    assert one.say == "Mine is 9.5, theirs 10."
    facts = {(each.category, each.field): each.number or each.words for each in one.facts}
    assert facts == {("peg", "shape"): "round", ("peg", "size_mm"): 9.5, ("hole", "size_mm"): 10.0}


def test_only_an_acceptable_conflict_may_be_accepted_and_only_for_these_facts() -> None:
    books = shelf(join(meets_if=(equal(),), acceptable=True, accepting_adds="look-again"))
    garage = Garage(books)
    peg = garage.part("peg", size_mm=9)
    garage.fit(peg, at(0))
    garage.fit(garage.part("hole", size_mm=10), at(0))
    (before,) = findings(garage.bicycle(), books)
    assert before.acceptable
    assert before.accepting_adds == "look-again"
    accepted = Acceptance(before.join, before.fingerprint, before.answer, "it holds", at(1))
    bicycle = garage.bicycle()
    object.__setattr__(bicycle, "acceptances", (accepted,))
    assert findings(bicycle, books)[0].acceptance == accepted
    other = Garage(books)
    other.fit(other.part("peg", size_mm=9.1), at(0))
    other.fit(other.part("hole", size_mm=10), at(0))
    assert findings(other.bicycle(), books)[0].fingerprint != before.fingerprint
    garage.take_off(peg, at(2))
    garage.fit(peg, at(3))
    assert findings(garage.bicycle(), books)[0].fingerprint != before.fingerprint
    assert not found(shelf(join(meets_if=(equal(),))), {"size_mm": 9}, {"size_mm": 10}).acceptable


@pytest.mark.parametrize(("by", "found"), [("steerer_stack", ["peg.stack@front"]), ("nobody_wrote_it", [])])
def test_a_calculated_join_has_a_finding_where_there_is_such_a_calculation(by: str, found: list[str]) -> None:
    books = shelf(join("stack", by=by))
    garage = Garage(books)
    garage.fit(garage.part("peg"), at(0), "front")
    garage.fit(garage.part("hole"), at(0), "front")
    assert [each.join for each in findings(garage.bicycle(), books)] == found


@pytest.mark.parametrize(
    ("size", "name", "alternative", "answer"),
    [
        (9, "peg.fit", None, Answer.YES),
        (9, "peg.fit", "near", Answer.YES),
        (9, "peg.fit", "far", Answer.NO),
        (9, "peg.fit@front", None, Answer.YES),
        (9, "peg.fit@rear", None, Answer.NO),
        (10, "peg.fit", None, Answer.NO),
        (None, "peg.fit", None, Answer.UNKNOWN),
        (9, "peg.other", None, Answer.NO),
        (9, "peg.stack", None, Answer.UNKNOWN),
    ],
)
def test_a_condition_can_ask_for_a_finding(
    size: float | None, name: str, alternative: str | None, answer: Answer
) -> None:
    near = CareCase(key="near", say="", tests=({"mine": "size_mm", "is": "at least", "than": 8},))
    books = shelf(join(meets_if=(equal(),), care_if=(near,)), join("stack", by="x"))
    garage = Garage(books)
    garage.fit(garage.part("peg", size_mm=size), at(0), "front")
    garage.fit(garage.part("hole", size_mm=10), at(0), "front")
    around = with_joins(surroundings(garage.bicycle(), books))
    judged = look(around.here(around.placed[0]), name, alternative)
    assert judged.answer is answer
    assert [fact.key for fact in judged.settles] == (["size_mm"] if size is None else [])


# Roles: a combined lever is a brake lever and a shifter


def levers() -> Library:
    pull = Join(
        key="pull", title="Pull", with_=("lever",), say="", basis="common practice",
        meets_if=({"mine": "pull", "is": "equal", "theirs": "lever.pull"},),
    )  # fmt: skip
    reach = Join(
        key="reach", title="Reach", with_=("lever",), say="", basis="common practice",
        meets_if=({"mine": "pull", "is": "equal", "theirs": "lever.reach"},),
    )  # fmt: skip
    pulls, works = choice("pull", "long", "short"), choice("works_brake", "front", "rear")
    sides = ("left", "right")
    return library(
        category("calliper", places=("front", "rear"), specs=(pulls,), joins=(pull, reach)),
        category("lever", places=sides, specs=(pulls, works, choice("reach", "long"))),
        category("combined", places=sides, stands_in_for={"lever": "works_brake"}, specs=(pulls, works)),
    )


def test_a_part_is_tested_in_its_roles_but_not_by_specs_that_it_does_not_have() -> None:
    books = levers()
    garage = Garage(books)
    garage.fit(garage.part("calliper", pull="short"), at(0), "rear")
    garage.fit(garage.part("combined", pull="short", works_brake="rear"), at(0), "left")
    garage.fit(garage.part("combined", pull="long", works_brake="front"), at(0), "right")
    assert {each.join: each.answer for each in findings(garage.bicycle(), books)} == {"calliper.pull@rear": "meets"}


def test_an_end_that_nobody_said_leaves_the_finding_open() -> None:
    books = levers()
    garage = Garage(books)
    garage.fit(garage.part("calliper", pull="short"), at(0), "rear")
    garage.fit(garage.part("combined", pull="short"), at(0), "left")
    (one,) = findings(garage.bicycle(), books)
    assert one.answer == "not measured yet"
    assert [each.field for each in one.measure] == ["works_brake"]
