"""The fewest visits to a shop: which visit each shop step falls into, and what comes before which visit."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

Where = Literal["home", "shop", "anywhere"]
AFTER_ALL_VISITS = 10**6


@dataclass(frozen=True, slots=True)
class Visits:
    """`visit` of every shop step, from 1; `stretch` of every step: 2k - 1 is what visit k waits for, 2k is visit k.

    `earliest` is the first stretch in which a step can be done, `stretch` the last before a visit waits for it.
    """

    visit: Mapping[int, int]
    stretch: tuple[int, ...]
    earliest: tuple[int, ...] = ()

    @property
    def count(self) -> int:
        """How many visits there are."""
        return max(self.visit.values(), default=0)


def plan_visits(where: Sequence[Where], before: Sequence[Sequence[int]], order: Sequence[int]) -> Visits:
    """Label each step with the visit it falls into.

    `before[i]` are the steps that i waits for, `order` is any order that holds them. A step done at home between two
    shop steps puts the second into a later visit; one that may be done anywhere does not.
    """
    halves = [0] * len(where)  # twice the visit reached; odd once something was done at home since
    visit: dict[int, int] = {}
    for i in order:
        reached = max((halves[j] for j in before[i]), default=0)
        if where[i] == "shop":
            visit[i] = max(1, (reached + 1) // 2)
            halves[i] = 2 * visit[i]
        elif where[i] == "home" and reached % 2 == 0:
            halves[i] = reached + 1
        else:
            halves[i] = reached
    stretch = _stretches(halves, visit, before, order)
    earliest = tuple(min(last, half or 1) for last, half in zip(stretch, halves, strict=True))
    return Visits(visit, stretch, earliest)


def _stretches(
    halves: Sequence[int], visit: Mapping[int, int], before: Sequence[Sequence[int]], order: Sequence[int]
) -> tuple[int, ...]:
    waited_for = [AFTER_ALL_VISITS] * len(halves)  # the first visit that waits for this step
    for i in reversed(order):
        first = visit.get(i, waited_for[i])
        for j in before[i]:
            waited_for[j] = min(waited_for[j], first)
    met = []
    for i, half in enumerate(halves):
        if i in visit:
            met.append(2 * visit[i])
        elif half == 2 * waited_for[i]:  # still at the shop, and the same visit goes on afterwards
            met.append(half)
        else:
            met.append(2 * waited_for[i] - 1)
    return tuple(met)
