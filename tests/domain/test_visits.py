"""Fewest visits to a shop, against every order there is; and the critical path, against published examples."""

import random
from functools import cache
from itertools import pairwise

import networkx
import pytest

from service.domain.following import ordered
from service.domain.timing import longest_chain, spans
from service.domain.visits import Where, plan_visits

WHERES: tuple[Where, ...] = ("home", "shop", "anywhere")


def graph(dice: random.Random) -> tuple[list[Where], list[list[int]]]:
    size = dice.randint(1, 9)
    where = [dice.choice(WHERES) for _ in range(size)]
    chance = dice.choice((0.15, 0.3, 0.5))
    return where, [[j for j in range(i) if dice.random() < chance] for i in range(size)]


def fewest(where: list[Where], before: list[list[int]]) -> int:
    """Every order, by set of done steps: a visit ends with work at home and begins with a shop step."""
    size = len(where)
    needs = [sum(1 << j for j in met) for met in before]

    @cache
    def left(done: int, at_shop: bool) -> int:
        if done == (1 << size) - 1:
            return 0
        tried = []
        for i in range(size):
            if done >> i & 1 or needs[i] & ~done:
                continue
            goes = where[i] == "shop" and not at_shop
            stays = where[i] == "shop" or (where[i] == "anywhere" and at_shop)
            tried.append(goes + left(done | 1 << i, stays))
        return min(tried)

    return left(0, False)


def test_visits_are_the_fewest_there_can_be_in_3000_random_graphs() -> None:
    dice = random.Random(4)
    several = 0
    for _ in range(3000):
        where, before = graph(dice)
        met = plan_visits(where, before, range(len(where)))
        assert met.count == fewest(where, before), (where, before)
        several += met.count > 1
    assert several > 200  # the check means something: many graphs need more than one visit


def test_the_order_by_stretch_holds_every_pair_and_keeps_each_visit_together() -> None:
    dice = random.Random(5)
    for _ in range(1000):
        where, before = graph(dice)
        met = plan_visits(where, before, range(len(where)))
        order = ordered(before, [(met.stretch[i], i) for i in range(len(where))])
        at = {i: n for n, i in enumerate(order)}
        assert all(at[j] < at[i] for i, waits in enumerate(before) for j in waits)
        assert all(met.stretch[i] <= met.stretch[k] for i, k in pairwise(order))
        trips = sum(
            1 for n, i in enumerate(order) if where[i] == "shop" and not _still_there([where[k] for k in order[:n]])
        )
        assert trips == met.count


def test_what_is_done_as_early_as_it_can_be_costs_no_visit_more() -> None:
    dice = random.Random(7)
    early = 0
    for _ in range(1000):
        where, before = graph(dice)
        met = plan_visits(where, before, range(len(where)))
        soon = [dice.random() < 0.4 for _ in where]
        keys = [(met.earliest[i] if soon[i] else met.stretch[i], i) for i in range(len(where))]
        order = ordered(before, keys)
        at = {i: n for n, i in enumerate(order)}
        assert all(at[j] < at[i] for i, waits in enumerate(before) for j in waits)
        trips = sum(
            1 for n, i in enumerate(order) if where[i] == "shop" and not _still_there([where[k] for k in order[:n]])
        )
        assert trips == met.count
        early += any(met.earliest[i] < met.stretch[i] for i in range(len(where)))
    assert early > 200  # the check means something: many steps could be done before the last moment


def _still_there(done: list[Where]) -> bool:
    last = next((place for place in reversed(done) if place != "anywhere"), "home")
    return last == "shop"


def test_the_order_is_that_of_networkx_for_the_same_keys() -> None:
    dice = random.Random(6)
    for _ in range(500):
        where, before = graph(dice)
        keys = [(dice.randint(0, 3), dice.randint(0, 3)) for _ in where]
        met = networkx.DiGraph()
        met.add_nodes_from(range(len(where)))
        met.add_edges_from((j, i) for i, waits in enumerate(before) for j in waits)
        theirs = networkx.lexicographical_topological_sort(met, key=lambda i, keys=keys: (*keys[i], i))
        assert list(ordered(before, keys)) == list(theirs)


def test_steps_that_wait_for_each_other_are_not_lost() -> None:
    assert ordered([[1], [0], []], [(0,), (1,), (2,)]) == (2, 0, 1)


def test_the_longest_chain_is_as_long_as_that_of_networkx() -> None:
    dice = random.Random(7)
    for _ in range(500):
        where, before = graph(dice)
        minutes = [dice.randint(1, 60) for _ in where]
        met = networkx.DiGraph()
        met.add_weighted_edges_from((("from", i), ("to", i), minutes[i]) for i in range(len(where)))
        met.add_weighted_edges_from((("to", j), ("from", i), 0) for i, waits in enumerate(before) for j in waits)
        spent = spans(minutes, before, range(len(where)))
        length, chain = longest_chain(spent, before, range(len(where)))
        assert length == networkx.dag_longest_path_length(met)
        assert sum(minutes[i] for i in chain) == length
        assert all(spent[i].slack == 0 for i in chain)


def test_two_shop_steps_with_work_at_home_between_are_two_visits() -> None:
    met = plan_visits(["shop", "home", "shop"], [[], [0], [1]], [0, 1, 2])
    assert (met.visit, met.stretch) == ({0: 1, 2: 2}, (2, 3, 4))


def test_what_may_be_done_anywhere_does_not_end_a_visit() -> None:
    met = plan_visits(["shop", "anywhere", "shop"], [[], [0], [1]], [0, 1, 2])
    assert (met.visit, met.stretch) == ({0: 1, 2: 1}, (2, 2, 2))


# B. W. Taylor, Introduction to Management Science, ch. 8 solutions, https://ar.scribd.com/doc/47113515/TaylCh08
TAYLOR = {"1-2": 7, "1-3": 10, "2-4": 6, "3-4": 5, "3-5": 4, "4-5": 3, "5-6": 2}
TAYLOR_CELLS = {  # earliest start, earliest finish, latest start, latest finish, slack, as printed there
    "1-2": (0, 7, 2, 9, 2),
    "1-3": (0, 10, 0, 10, 0),
    "2-4": (7, 13, 9, 15, 2),
    "3-4": (10, 15, 10, 15, 0),
    "3-5": (10, 14, 14, 18, 4),
    "4-5": (15, 18, 15, 18, 0),
    "5-6": (18, 20, 18, 20, 0),
}
# https://homeworksource.com/p/4323963/a-project-is-showed-as-follows-a-find-out-the-critical-path
HOMEWORK = {
    "A": (8, ""), "B": (4, ""), "C": (3, ""), "D": (5, "A"), "E": (1, "A"), "F": (2, "C"), "G": (7, "D"), "H": (6, "C"),
    "I": (9, "BEF"), "J": (6, "H"),
}  # fmt: skip
HOMEWORK_SLACK = {"B": 7, "C": 5, "E": 2, "F": 6, "H": 5, "I": 2, "J": 5, "A": 0, "D": 0, "G": 0}


def taylor_before() -> list[list[int]]:
    names = list(TAYLOR)
    return [[names.index(j) for j in names if j.split("-")[1] == i.split("-")[0]] for i in names]


@pytest.mark.parametrize("name", TAYLOR)
def test_the_textbook_activity_has_the_times_printed_there(name: str) -> None:
    met = spans(list(TAYLOR.values()), taylor_before(), range(7))[list(TAYLOR).index(name)]
    cells = (met.earliest_start, met.earliest_finish, met.latest_start, met.latest_finish, met.slack)
    assert cells == TAYLOR_CELLS[name]


def test_the_textbook_critical_path_is_1_3_4_5_6_and_20_long() -> None:
    met = spans(list(TAYLOR.values()), taylor_before(), range(7))
    length, chain = longest_chain(met, taylor_before(), range(7))
    assert (length, [list(TAYLOR)[i] for i in chain]) == (20, ["1-3", "3-4", "4-5", "5-6"])


def test_the_homework_project_takes_20_on_a_d_g_with_the_printed_slack() -> None:
    names = list(HOMEWORK)
    before = [[names.index(j) for j in HOMEWORK[i][1]] for i in names]
    met = spans([HOMEWORK[i][0] for i in names], before, range(len(names)))
    length, chain = longest_chain(met, before, range(len(names)))
    assert (length, [names[i] for i in chain]) == (20, ["A", "D", "G"])
    assert {name: met[names.index(name)].slack for name in HOMEWORK_SLACK} == HOMEWORK_SLACK


def test_two_critical_paths_give_the_published_length_and_slack() -> None:
    """A 3, B 4, C 3 after B, D 1 and E 3 after A, F 3 after D: total 7, slack of E 1.

    Encyclopaedia article on the method, https://en.wikipedia.org/wiki/Critical_path_method
    """
    before: list[list[int]] = [[], [], [1], [0], [0], [3]]
    met = spans([3, 4, 3, 1, 3, 3], before, range(6))
    assert max(span.earliest_finish for span in met) == 7
    assert [i for i, span in enumerate(met) if span.slack == 0] == [0, 1, 2, 3, 5]
    assert met[4].slack == 1


def test_an_arrival_moves_the_start_and_with_it_the_end() -> None:
    met = spans([10, 5], [[], [0]], range(2), [0, 100])
    assert (met[1].earliest_start, met[1].earliest_finish, met[0].slack) == (100, 105, 90)
