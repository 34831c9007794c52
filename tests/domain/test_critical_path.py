"""The critical path against textbook networks and an outside judge."""

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.critical_path import Activity, critical_path
from service.errors import Refusal

# B. W. Taylor, Introduction to Management Science, ch. 8 solutions, https://ar.scribd.com/doc/47113515/TaylCh08:
# activities by start and end node; times, and ES, EF, LS, LF, slack
TAYLOR = {
    (1, 2): (7, 0, 7, 2, 9, 2),
    (1, 3): (10, 0, 10, 0, 10, 0),
    (2, 4): (6, 7, 13, 9, 15, 2),
    (3, 4): (5, 10, 15, 10, 15, 0),
    (3, 5): (4, 10, 14, 14, 18, 4),
    (4, 5): (3, 15, 18, 15, 18, 0),
    (5, 6): (2, 18, 20, 18, 20, 0),
}


def test_every_cell_of_a_textbook_table() -> None:
    steps = [
        Activity(f"{start}-{end}", cells[0], tuple(f"{a}-{b}" for a, b in TAYLOR if b == start))
        for (start, end), cells in TAYLOR.items()
    ]
    found = critical_path(steps)
    for (start, end), cells in TAYLOR.items():
        span = found.times[f"{start}-{end}"]
        said = (span.earliest_start, span.earliest_finish, span.latest_start, span.latest_finish, span.slack)
        assert said == cells[1:]
    assert (found.total, found.critical) == (20, ("1-3", "3-4", "4-5", "5-6"))


# https://en.wikipedia.org/wiki/Critical_path_method: two critical paths, total 7, slack of E 1
def test_two_critical_paths() -> None:
    found = critical_path(
        [
            *(Activity("A", 3), Activity("B", 4), Activity("C", 3, ("B",))),
            *(Activity("D", 1, ("A",)), Activity("E", 3, ("A",)), Activity("F", 3, ("D",))),
        ]
    )
    assert (found.total, set(found.critical), found.times["E"].slack) == (7, set("BCADF"), 1)


# https://homeworksource.com/p/4323963/a-project-is-showed-as-follows-a-find-out-the-critical-path
def test_slacks_of_a_worked_project() -> None:
    minutes = {"A": 8, "B": 4, "C": 3, "D": 5, "E": 1, "F": 2, "G": 7, "H": 6, "I": 9, "J": 6}
    after = {"D": "A", "E": "A", "F": "C", "G": "D", "H": "C", "I": "BEF", "J": "H"}
    found = critical_path([Activity(key, worth, tuple(after.get(key, ""))) for key, worth in minutes.items()])
    assert (found.total, found.critical) == (20, ("A", "D", "G"))
    assert {key: found.times[key].slack for key in "BCEFHIJ"} == dict(B=7, C=5, E=2, F=6, H=5, I=2, J=5)


# Three-point estimates t = (a + 4m + b)/6 in sequence: expected 24, https://flylib.com/books/en/3.287.1.117/1
def test_expected_times_in_sequence() -> None:
    estimates = {"1": (5, 8, 17), "3": (3, 5, 7), "5": (4, 6, 8), "7": (3, 4, 5)}
    expected = {key: (least + 4 * likely + most) / 6 for key, (least, likely, most) in estimates.items()}
    before = dict(zip(list(expected)[1:], expected, strict=False))
    found = critical_path(
        [Activity(key, minutes, (before[key],) if key in before else ()) for key, minutes in expected.items()]
    )
    assert found.total == pytest.approx(24)
    assert found.critical == ("1", "3", "5", "7")


@given(st.lists(st.tuples(st.integers(0, 50), st.sets(st.integers(0, 11))), min_size=1, max_size=12))
def test_the_total_is_the_longest_path_that_networkx_finds(drawn: list[tuple[int, set[int]]]) -> None:
    steps = [
        Activity(str(i), minutes, tuple(str(j) for j in sorted(before) if j < i))
        for i, (minutes, before) in enumerate(drawn)
    ]
    graph = nx.DiGraph()
    for step in steps:
        graph.add_edge(f"{step.key} begins", f"{step.key} ends", weight=step.minutes)
        graph.add_edges_from((f"{name} ends", f"{step.key} begins", {"weight": 0}) for name in step.after)
    found = critical_path(steps)
    assert found.total == nx.dag_longest_path_length(graph)
    assert all(span.slack >= 0 for span in found.times.values())
    assert found.total == 0 or found.critical


@pytest.mark.parametrize(
    ("steps", "pointer"),
    [
        ([Activity("a", 1), Activity("a", 2)], "/steps/1/key"),
        ([Activity("a", 1, ("b",))], "/steps/0/after/0"),
        ([Activity("a", 1, ("a",))], "/steps/0/after"),
        ([Activity("a", 1, ("c",)), Activity("b", 1, ("a",)), Activity("c", 1, ("b",))], "/steps/"),
    ],
)
def test_what_has_no_order_is_refused(steps: list[Activity], pointer: str) -> None:
    with pytest.raises(Refusal) as refused:
        critical_path(steps)
    assert refused.value.errors[0].pointer.startswith(pointer)
