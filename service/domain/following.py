"""What each applied step waits for, and the order that holds it: in the file, by milestones, after looks and bench."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from heapq import heapify, heappop, heappush
from itertools import pairwise

from service.domain.applying import Applied, once
from service.domain.bicycle import Placed
from service.domain.order import milestones_of
from service.domain.places import Here
from service.domain.procedure import Library


@dataclass(frozen=True, slots=True)
class Links:
    """`before[i]` are the steps that step i waits for, by number; `milestones[i]` those it waits for by a milestone."""

    before: tuple[tuple[int, ...], ...]
    milestones: tuple[Mapping[str, tuple[int, ...]], ...]


def link(steps: Sequence[Applied], library: Library) -> Links:
    """Everything that must come before each step. What does not apply holds nothing up."""
    before: list[dict[int, None]] = [{} for _ in steps]
    for i, met in enumerate(_in_file(steps)):
        before[i] |= dict.fromkeys(met)
    for i, met in enumerate(_looks_first(steps)):  # none at all where no part is looked at
        before[i] |= dict.fromkeys(met)
    for i, met in enumerate(_bench_first(steps)):
        before[i] |= dict.fromkeys(met)
    for i, met in enumerate(_strip_first(steps)):
        before[i] |= dict.fromkeys(met)
    milestones = tuple(_by_milestone(steps, library))
    for i, given in enumerate(milestones):
        for met in given.values():
            before[i] |= dict.fromkeys(met)
    return Links(tuple(tuple(j for j in met if j != i) for i, met in enumerate(before)), milestones)


def ordered(before: Sequence[Sequence[int]], keys: Sequence[tuple[int, ...]]) -> tuple[int, ...]:
    """The order that holds every `before` and otherwise goes by key; steps that wait for each other come last."""
    waits = [len(met) for met in before]
    followers: list[list[int]] = [[] for _ in before]
    for i, met in enumerate(before):
        for j in met:
            followers[j].append(i)
    ready = [(keys[i], i) for i, count in enumerate(waits) if count == 0]
    heapify(ready)
    met_order: list[int] = []
    while ready:
        _, i = heappop(ready)
        met_order.append(i)
        for follower in followers[i]:
            waits[follower] -= 1
            if waits[follower] == 0:
                heappush(ready, (keys[follower], follower))
    left = sorted((i for i, count in enumerate(waits) if count > 0), key=lambda i: (keys[i], i))
    return (*met_order, *left)


def in_hand(placed: Placed) -> bool:
    """Is the part there to be worked on?"""
    return not placed.planned or placed.part.state == "in hand"


def _in_file(steps: Sequence[Applied]) -> Iterator[tuple[int, ...]]:
    files: dict[tuple[str, str], list[int]] = {}
    at_part: dict[tuple[str, str, Here], list[int]] = {}
    for i, applied in enumerate(steps):
        name, key = applied.category.category, applied.step.key
        files.setdefault((name, key), []).append(i)
        at_part.setdefault((name, key, applied.here), []).append(i)
    above = _steps_above(steps)
    for i, applied in enumerate(steps):
        if applied.step.after is None:
            yield above[i]
            continue
        name, here = applied.category.category, applied.here
        met: list[int] = []
        for key in applied.step.after:
            met += at_part.get((name, key, here), ())
            if here.placed is None:  # the whole bicycle waits for each part that is in hand
                met += [j for j in files.get((name, key), ()) if _in_hand_at(steps[j])]
            else:
                met += at_part.get((name, key, here.around.here(None)), ())
        yield tuple(met)


def _in_hand_at(applied: Applied) -> bool:
    return applied.placed is not None and in_hand(applied.placed)


def _steps_above(steps: Sequence[Applied]) -> list[tuple[int, ...]]:
    """For each step the nearest one above it in its file, of the same part; looks and steps are two chains."""
    chains: dict[tuple[str, Here, bool], list[int]] = {}
    for i, applied in enumerate(steps):
        chains.setdefault((applied.category.category, applied.here, applied.look), []).append(i)
    above: list[tuple[int, ...]] = [()] * len(steps)
    for chain in chains.values():
        chain.sort(key=lambda i: steps[i].number)
        for upper, lower in pairwise(chain):
            above[lower] = (upper,)
    return above


def _looks_first(steps: Sequence[Applied]) -> Iterator[tuple[int, ...]]:
    """The looks of a part come before what fits or touches it; those nothing waits for, before what touches all."""
    looks: dict[Here, list[int]] = {}
    for i, applied in enumerate(steps):
        if applied.look and applied.placed is not None:
            looks.setdefault(applied.here, []).append(i)
    if not looks:
        return
    met = [_looks_at(applied, looks) for applied in steps]
    waited_for = {j for each in met for j in each}
    others = tuple(j for each in looks.values() for j in each if j not in waited_for)
    for applied, each in zip(steps, met, strict=True):
        yield (*each, *others) if "*" in applied.step.touches else each


def _looks_at(applied: Applied, looks: Mapping[Here, Sequence[int]]) -> tuple[int, ...]:
    own, here = applied.placed if applied.look else None, applied.here.around.here
    handled = applied.fits if "*" in applied.step.touches else (*applied.fits, *applied.touches)
    return tuple(j for placed in handled if placed is not own for j in looks.get(here(placed), ()))


def _bench_first(steps: Sequence[Applied]) -> Iterator[tuple[int, ...]]:
    """What is done for each part on the bench comes before the step that fits the part."""
    bench: dict[Here, list[int]] = {}
    for i, applied in enumerate(steps):
        if applied.of_each_part and applied.placed is not None:
            bench.setdefault(applied.here, []).append(i)
    for applied in steps:
        here = applied.here.around.here
        yield tuple(j for placed in applied.fits for j in bench.get(here(placed), ()))


def _strip_first(steps: Sequence[Applied]) -> Iterator[tuple[int, ...]]:
    """Where a part is replaced, the old one comes off before anything else is done, papers and looks apart."""
    strip = tuple(i for i, applied in enumerate(steps) if "strip" in applied.step.jobs)
    if not strip or len(strip) == len(steps):
        return
    for applied in steps:
        beside = "strip" in applied.step.jobs or applied.look or applied.of_each_part
        yield () if beside else strip


def _by_milestone(steps: Sequence[Applied], library: Library) -> Iterator[Mapping[str, tuple[int, ...]]]:
    givers: dict[str, list[int]] = {}
    for i, applied in enumerate(steps):
        for milestone in applied.step.gives:
            givers.setdefault(milestone, []).append(i)
    of_part = {
        key: _by_part(steps, met)
        for key, met in givers.items()
        if key in library.milestones and library.milestones[key].per == "part"
    }
    alike: dict[tuple[str, tuple[str, ...], frozenset[str]], tuple[int, ...]] = {}
    for applied in steps:
        given: dict[str, tuple[int, ...]] = {}
        for key, of in milestones_of(applied.step):
            if key in of_part:
                met = _given_for_its_parts(applied, of_part[key], of)
            elif (key, of, applied.ends) in alike:
                met = alike[key, of, applied.ends]
            else:
                whole = key in library.milestones and library.milestones[key].per == "bicycle"
                met = tuple(j for j in givers.get(key, ()) if _meets(steps[j], applied, of, whole=whole))
                alike[key, of, applied.ends] = met
            if met:
                given[key] = met
        yield given


def _meets(giver: Applied, needer: Applied, of: tuple[str, ...], *, whole: bool) -> bool:
    if of and (giver.placed is None or giver.placed.slot not in of):
        return False
    return whole or not giver.ends or not needer.ends or bool(giver.ends & needer.ends)


def _by_part(steps: Sequence[Applied], givers: Sequence[int]) -> Mapping[Here, tuple[int, ...]]:
    met: dict[Here, tuple[int, ...]] = {}
    for i in givers:
        here = steps[i].here
        met[here] = (*met.get(here, ()), i)
    return met


def _given_for_its_parts(
    needer: Applied, givers: Mapping[Here, tuple[int, ...]], of: tuple[str, ...]
) -> tuple[int, ...]:
    """A milestone of each part: waited for by the steps of that part, by the step that fits it, and where it is named.

    A step of the bicycle as a whole waits for the parts that are in hand.
    """
    here, own = needer.here, needer.placed
    if of:
        named: Iterable[Placed] = (placed for role in of for placed, _ in here.partners(role))
        if own is not None and own.slot in of:
            named = (own, *named)
    else:
        named = here.around.placed if own is None else (own, *needer.fits)
    parts = once(placed for placed in named if own is not None or in_hand(placed))
    spots = (here.around.here(None), *(here.around.here(placed) for placed in parts))
    return tuple(j for spot in spots for j in givers.get(spot, ()))
