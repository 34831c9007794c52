"""How long it takes: the critical path over hands-on minutes, waits and days of arrival."""

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Span:
    """Earliest and latest start and finish of one activity, in the unit that went in."""

    earliest_start: float
    earliest_finish: float
    latest_start: float
    latest_finish: float

    @property
    def slack(self) -> float:
        """How much later it may start without moving the end."""
        return self.latest_start - self.earliest_start


def spans(
    durations: Sequence[float],
    before: Sequence[Sequence[int]],
    order: Sequence[int],
    not_before: Sequence[float] | None = None,
) -> tuple[Span, ...]:
    """Forward and backward pass of the critical path method.

    `before[i]` are the activities that i waits for, `order` any order that holds them, `not_before[i]` the earliest
    moment i may start for a reason outside (an arrival, a wait that runs already).
    """
    start = [0.0] * len(durations) if not_before is None else list(not_before)
    finish = [0.0] * len(durations)
    for i in order:
        start[i] = max([start[i], *[finish[j] for j in before[i]]])
        finish[i] = start[i] + durations[i]
    latest = [max(finish, default=0.0)] * len(durations)
    for i in reversed(order):
        begin = latest[i] - durations[i]
        for j in before[i]:
            if begin < latest[j]:
                latest[j] = begin
    return tuple(Span(start[i], finish[i], latest[i] - durations[i], latest[i]) for i in range(len(durations)))


def longest_chain(
    met: Sequence[Span], before: Sequence[Sequence[int]], order: Sequence[int]
) -> tuple[float, tuple[int, ...]]:
    """The length of the longest chain and the activities on one such chain, first to last."""
    if not met:
        return 0.0, ()
    rank = {i: position for position, i in enumerate(order)}
    last = max(order, key=lambda i: (met[i].earliest_finish, -rank[i]))
    chain = [last]
    while True:
        now = chain[-1]
        held = [j for j in before[now] if abs(met[j].earliest_finish - met[now].earliest_start) < 1e-9]
        if not held:
            return met[last].earliest_finish, tuple(reversed(chain))
        chain.append(min(held, key=lambda j: rank[j]))
