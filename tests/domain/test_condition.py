"""Conditions answer as Kleene's strong three-valued logic does; keys and values mean what the files say they mean.

Truth tables: S. C. Kleene, Introduction to Metamathematics (1952), § 64, strong tables for and, or, not.
"""

from dataclasses import dataclass, field
from itertools import product
from typing import Any
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.choices import TooManyCombinations, facts_read, holes
from service.domain.condition import (
    NO_PART,
    Answer,
    Fact,
    Found,
    Judged,
    all_of,
    judge,
    one_of_them,
    turned_round,
)
from service.domain.procedure import When

NO, UNKNOWN, YES = Answer.NO, Answer.UNKNOWN, Answer.YES
PART = UUID(int=1)


@dataclass
class Seen:
    """A view over written facts: `facts` by the key that a condition uses; None = not entered; absent = no part."""

    facts: dict[str, Any] = field(default_factory=dict)
    there: frozenset[str] = frozenset()
    roles: frozenset[str] = frozenset()
    words: frozenset[str] = frozenset()
    findings: dict[tuple[str, str | None], Answer] = field(default_factory=dict)

    def own(self, key: str) -> Found:
        if key not in self.facts:
            return NO_PART
        value = self.facts[key]
        if isinstance(value, Found):
            return value
        return Found(unknown=(Fact("mine", key, PART),)) if value is None else Found((value,), (), "measured")

    def of(self, category: str, key: str) -> Found:
        return self.own(f"{category}.{key}")

    def host(self, key: str) -> Found:
        return self.own(f"host.{key}")

    def build(self, key: str) -> Found:
        return self.own(f"build.{key}")

    @property
    def origin(self) -> Found:
        return self.own("origin")

    @property
    def job(self) -> Found:
        return self.own("job")

    @property
    def end(self) -> Found:
        return self.own("end")

    @property
    def side(self) -> Found:
        return self.own("side")

    @property
    def slot(self) -> Found:
        return self.own("category")

    def has(self, category: str) -> Answer:
        return YES if category in self.there else NO

    def role(self, category: str) -> Answer:
        return YES if category in self.there | self.roles else NO

    def any_part(self, when: When) -> Judged:
        return one_of_them([judge(when, Seen({"kind": "carbon"})), judge(when, Seen({"kind": None}))])

    def finding(self, name: str, alternative: str | None) -> Judged:
        return Judged(self.findings.get((name, alternative), NO))

    def checklist(self, word: str) -> Answer:
        return YES if word in self.words else NO


KNOWN = {YES: {"fact": "a"}, NO: {"fact": "b"}, UNKNOWN: {"fact": None}}
AND = {
    (NO, NO): NO,
    (NO, UNKNOWN): NO,
    (NO, YES): NO,
    (UNKNOWN, UNKNOWN): UNKNOWN,
    (UNKNOWN, YES): UNKNOWN,
    (YES, YES): YES,
}
OR = {
    (NO, NO): NO,
    (NO, UNKNOWN): UNKNOWN,
    (NO, YES): YES,
    (UNKNOWN, UNKNOWN): UNKNOWN,
    (UNKNOWN, YES): YES,
    (YES, YES): YES,
}
NOT = {NO: YES, UNKNOWN: UNKNOWN, YES: NO}


def seen(first: Answer, second: Answer) -> Seen:
    values = {YES: "a", NO: "b", UNKNOWN: None}
    return Seen({"first": values[first], "second": values[second]})


@pytest.mark.parametrize(("first", "second"), list(product(Answer, Answer)))
def test_two_keys_answer_as_kleenes_and(first: Answer, second: Answer) -> None:
    expected = AND[min(first, second), max(first, second)]
    assert judge({"first": "a", "second": "a"}, seen(first, second)).answer is expected


@pytest.mark.parametrize(("first", "second"), list(product(Answer, Answer)))
def test_any_answers_as_kleenes_or(first: Answer, second: Answer) -> None:
    expected = OR[min(first, second), max(first, second)]
    assert judge({"any": [{"first": "a"}, {"second": "a"}]}, seen(first, second)).answer is expected


@pytest.mark.parametrize("answer", Answer)
def test_not_turns_the_answer_round_and_leaves_not_known(answer: Answer) -> None:
    assert judge({"not": {"first": "a"}}, seen(answer, NO)).answer is NOT[answer]


answers = st.lists(st.sampled_from(Answer).map(Judged), max_size=5)


@given(answers)
def test_and_or_and_not_obey_de_morgan(met: list[Judged]) -> None:
    """Holds in Kleene's logic as in two-valued logic (same source)."""
    both = turned_round(all_of(met)).answer
    assert both is one_of_them(map(turned_round, met)).answer


def test_an_empty_table_is_yes_and_an_empty_choice_is_no() -> None:
    assert judge({}, Seen()).answer is YES
    assert judge({"any": []}, Seen()).answer is NO


@pytest.mark.parametrize(
    ("wanted", "known", "answer"),
    [
        ("post", "post", YES),
        ("post", "flat", NO),
        (["post", "flat"], "flat", YES),
        (["post", "flat"], "lugs", NO),
        (True, True, YES),
        (True, "yes", YES),
        (False, "no", YES),
        (True, "no", NO),
        (28.6, 28.6, YES),
        (11, 11.0, YES),
        ([25.4, 31.8], 31.8, YES),
        ({"min": 5, "max": 10}, 5, YES),
        ({"min": 5, "max": 10}, 10, YES),
        ({"min": 5, "max": 10}, 10.5, NO),
        ({"over": 2}, 2, NO),
        ({"over": 2}, 2.1, YES),
        ({"under": 3}, 3, NO),
        ({"under": 3, "over": 1}, 2, YES),
        ({"min": 5}, "5", NO),
        ("Blue ", "blue", YES),
    ],
)
def test_a_value_is_equal_one_of_or_within(wanted: Any, known: Any, answer: Answer) -> None:
    assert judge({"fact": wanted}, Seen({"fact": known})).answer is answer


@pytest.mark.parametrize("key", ["kind", "fork.kind", "host.kind", "build.use", "origin", "job", "end", "side"])
def test_each_kind_of_key_is_looked_up_where_it_belongs(key: str) -> None:
    assert judge({key: "x"}, Seen({key: "x"})).answer is YES
    assert judge({key: "x"}, Seen({key: "y"})).answer is NO
    assert judge({key: "x"}, Seen({key: None})).settles == (Fact("mine", key, PART),)


def test_no_such_part_is_no_and_its_opposite_yes() -> None:
    assert judge({"fork.kind": "carbon"}, Seen()).answer is NO
    assert judge({"not": {"fork.kind": "carbon"}}, Seen()).answer is YES


def test_of_several_parts_one_match_is_enough_and_an_unknown_one_leaves_it_open() -> None:
    unknown = Fact("spokes", "kind", PART)
    assert judge({"spokes.kind": "a"}, Seen({"spokes.kind": Found(("b", "a"))})).answer is YES
    assert judge({"spokes.kind": "a"}, Seen({"spokes.kind": Found(("a",), (unknown,))})).answer is YES
    open_still = judge({"spokes.kind": "a"}, Seen({"spokes.kind": Found(("b",), (unknown,))}))
    assert (open_still.answer, open_still.settles) == (UNKNOWN, (unknown,))


def test_a_part_is_asked_which_category_it_is_of() -> None:
    assert judge({"category": ["hub", "rim"]}, Seen({"category": "rim"})).answer is YES
    assert judge({"category": "hub"}, Seen({"category": "rim"})).answer is NO
    laced = {"category": "hub", "wheel.built_by": "home"}
    assert judge(laced, Seen({"category": "rim", "wheel.built_by": None})) == Judged(NO)
    met = judge(laced, Seen({"category": "hub", "wheel.built_by": "home"}))
    assert met == Judged(YES, because=("wheel.built_by is home (measured)",))


def test_has_sees_no_stand_ins_and_role_does() -> None:
    bicycle = Seen(there=frozenset({"combined-lever"}), roles=frozenset({"shifter"}))
    assert judge({"has": "combined-lever", "role": "shifter"}, bicycle).answer is YES
    assert judge({"has": "shifter"}, bicycle).answer is NO
    assert judge({"lacks": "shifter"}, bicycle).answer is YES
    assert judge({"has": ["shifter", "combined-lever"]}, bicycle).answer is YES
    assert judge({"lacks": ["shifter", "combined-lever"]}, bicycle).answer is NO


def test_a_finding_is_asked_for_with_its_place_and_its_alternative() -> None:
    found = Seen(findings={("hub.width@rear", "steel-spread"): YES, ("hub.width", None): UNKNOWN})
    assert judge({"finding": {"hub.width@rear:steel-spread": True}}, found).answer is YES
    assert judge({"finding": {"hub.width@rear:steel-spread": False}}, found).answer is NO
    assert judge({"finding": {"hub.width": True}}, found).answer is UNKNOWN
    assert judge({"finding": {"hub.width@rear:other": True}}, found).answer is NO


def test_any_part_is_yes_where_one_is_and_the_checklist_says_what_was_skipped() -> None:
    assert judge({"any_part": {"kind": "carbon"}}, Seen()).answer is YES
    assert judge({"any_part": {"kind": "steel"}}, Seen()).answer is UNKNOWN
    assert judge({"checklist": "safety skipped"}, Seen(words=frozenset({"safety skipped"}))).answer is YES
    assert judge({"checklist": ["safety skipped", "finding accepted"]}, Seen()).answer is NO


def test_only_what_would_settle_the_answer_is_asked_for() -> None:
    facts = Seen({"kind": "a", "thread": None, "size_mm": None})
    assert [fact.key for fact in judge({"kind": "a", "thread": "b", "size_mm": {"min": 1}}, facts).settles] == [
        "thread",
        "size_mm",
    ]
    assert judge({"kind": "z", "thread": "b"}, facts).settles == ()
    assert judge({"any": [{"kind": "a"}, {"thread": "b"}]}, facts).settles == ()


def test_an_answer_says_what_it_rests_on() -> None:
    facts = Seen({"moving_pads": "one", "width_mm": 2.5, "painted": True})
    because = judge({"moving_pads": "one", "width_mm": {"min": 2}, "painted": True}, facts).because
    assert because == ("moving_pads is one (measured)", "width_mm is 2.5 (measured)", "painted is yes (measured)")
    assert judge({"fork.kind": "a"}, facts).because == ("fork.kind: no such part",)


def test_a_group_with_a_choice_for_every_combination_has_no_hole() -> None:
    group: list[When] = [{"kind": "a"}, {"kind": "b", "end": "front"}, {"kind": "b", "end": "rear"}]
    assert list(holes(group, {"kind": ["a", "b"], "end": ["front", "rear"]})) == []


def test_a_hole_is_named_with_its_facts() -> None:
    group: list[When] = [{"thread": "english"}, {"thread": ["press", "other"]}]
    (hole,) = holes(group, {"thread": ["english", "italian", "press", "other"]})
    assert hole.shown() == "0 of them hold for { thread = 'italian' }"


def test_an_overlap_is_a_hole_too() -> None:
    group: list[When] = [{"width_mm": {"min": 5}}, {"width_mm": {"max": 5}}]
    assert [(hole.facts["width_mm"], hole.count) for hole in holes(group, {"width_mm": [4, 5, 6]})] == [(5, 2)]


def test_what_all_alternatives_ask_alike_is_the_condition_of_the_group() -> None:
    group: list[When] = [{"kind": "a", "has": "fork"}, {"kind": "a", "not": {"has": "fork"}}]
    assert list(holes(group, {"kind": ["a", "b"], "has fork": [True, False]})) == []


def test_too_many_facts_are_refused_instead_of_tried_for_ever() -> None:
    group: list[When] = [{f"fact_{number}": True for number in range(20)}, {}]
    values = {fact: [True, False] for fact in facts_read(group)}
    with pytest.raises(TooManyCombinations):
        list(holes(group, values))
