"""The visits to a shop of one checklist: what to do there, what to bring, and whether it is worth going now."""

from collections.abc import Iterator, Sequence

from service.domain.following import in_hand
from service.domain.holding import Holding, not_here
from service.domain.steps import ShopVisit
from service.domain.visits import Visits
from service.domain.wording import ended

NAMED = 3


def shop_visits(holding: Holding, visits: Visits, order: Sequence[int]) -> tuple[ShopVisit, ...]:
    """The visits that open shop steps fall into, in order; ready where all is in hand and nothing comes before."""
    return tuple(_one(number, holding, visits, order) for number in sorted(set(visits.visit.values())))


def _one(number: int, holding: Holding, visits: Visits, order: Sequence[int]) -> ShopVisit:
    steps = holding.steps
    there = [i for i in order if holding.is_open(i) and visits.stretch[i] == 2 * number]
    parts = {p.part.id: p for i in there for p in (*steps[i].works_on, *steps[i].touches)}
    absent = [placed for placed in parts.values() if not in_hand(placed)]
    before = set(_all_before(there, holding.before))
    first = [holding.titles[i] for i in order if i in before and holding.is_open(i)]
    waits = [not_here(placed, holding.library, holding.at.today) for placed in absent]
    waits += [f"Before it: {ended(title)}" for title in first[:NAMED]]
    if len(first) > NAMED:
        waits.append(f"And {len(first) - NAMED} more steps before it.")
    return ShopVisit(number, tuple(steps[i].id for i in there), tuple(parts), not waits, tuple(waits))


def _all_before(start: Sequence[int], before: Sequence[Sequence[int]]) -> Iterator[int]:
    seen = set(start)
    front = list(start)
    while front:
        for j in before[front.pop()]:
            if j not in seen:
                seen.add(j)
                front.append(j)
                yield j
