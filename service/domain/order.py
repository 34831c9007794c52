"""The one reference order of all steps of the library, which every checklist keeps."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from heapq import heapify, heappop, heappush
from typing import Literal, NamedTuple

from service.domain.ends import ENDS, compose, end_in, own_places
from service.domain.lists import Milestone, Stage
from service.domain.procedure import Category, Need, Step

Categories = Mapping[str, Category]
Why = Literal["above", "after", "milestone", "look", "bench"]
BOTH = frozenset(ENDS)
WHOLE = "whole-bicycle"


class Node(NamedTuple):
    """A step of a category at one of the places that a part of it can have."""

    category: str
    step: str
    place: str

    def shown(self) -> str:
        """The id of the step, as checklists write it."""
        return f"{self.category}.{self.step}" + (f"@{self.place}" if self.place else "")


class Edge(NamedTuple):
    """`before` comes before `after`, and why: the step above, a written `after`, a milestone, a look, the bench."""

    before: Node
    after: Node
    why: Why
    milestone: str = ""


@dataclass(frozen=True, slots=True)
class ReferenceOrder:
    """All nodes in order; where some wait for each other, one cycle of edges for each such knot."""

    nodes: tuple[Node, ...]
    cycles: tuple[tuple[Edge, ...], ...] = ()


@dataclass(frozen=True, slots=True)
class _Stop:
    """A node with what deciding its order needs; no ends = it meets both."""

    node: Node
    step: Step
    ends: frozenset[str]
    rank: tuple[int, str, str, int, str]


def reference_order(
    categories: Categories, milestones: Mapping[str, Milestone], stages: Mapping[str, Stage]
) -> ReferenceOrder:
    """Kahn's algorithm with a heap on (stage, category, place, step, place): the same files give the same order."""
    stops = {stop.node: stop for stop in _stops(categories, stages)}
    followers: dict[Node, list[Node]] = {node: [] for node in stops}
    waits = dict.fromkeys(stops, 0)
    met = edges(categories, milestones)
    for edge in met:
        followers[edge.before].append(edge.after)
        waits[edge.after] += 1
    ready = [(stops[node].rank, node) for node, count in waits.items() if count == 0]
    heapify(ready)
    ordered: list[Node] = []
    while ready:
        _, node = heappop(ready)
        ordered.append(node)
        for follower in followers[node]:
            waits[follower] -= 1
            if waits[follower] == 0:
                heappush(ready, (stops[follower].rank, follower))
    if len(ordered) == len(stops):
        return ReferenceOrder(tuple(ordered))
    left = {node for node, count in waits.items() if count > 0}
    return ReferenceOrder(tuple(ordered), tuple(_cycles(left, met)))


def edges(categories: Categories, milestones: Mapping[str, Milestone]) -> list[Edge]:
    """Everything that must come before something else, over the whole library, each pair and reason once."""
    stops = list(_stops(categories, {}))
    found = [*_in_file(categories), *_by_milestone(stops, categories, milestones), *_looks(stops, categories)]
    found += _bench(stops)
    return list(dict.fromkeys(found))


def places_of(name: str, categories: Categories, depth: int = 4) -> tuple[str, ...]:
    """The effective places that a part of this category can have; ("",) where there is only one.

    What sits in another part takes that part's places, its own word behind; hosts without a file add nothing.
    """
    category = categories[name]
    if category.places == "joins":
        return ("",)
    met: dict[str, None] = {}
    for host in category.into:
        words = own_places(category, host) or ("",)
        if host == "build":
            met |= dict.fromkeys(words)
        elif host in categories and host != name and depth:
            above = places_of(host, categories, depth - 1)
            met |= dict.fromkeys(compose(place, word) for place in above for word in words)
    return tuple(met) or own_places(category) or ("",)


def ends_at(category: Category, place: str) -> frozenset[str]:
    """The ends that a part works at, as far as its files say; none = it is joined with both.

    What only a spec says (a lever's `works_brake`) counts as both ends.
    """
    if isinstance(category.stands_in_for, Mapping) or any(s.key.startswith("works_") for s in category.specs):
        return BOTH
    if category.end is not None:
        return frozenset() if category.end == "none" else frozenset({category.end})
    end = end_in(place)
    return frozenset() if end is None else frozenset({end})


def hosts_of(category: Category, ends: frozenset[str] = BOTH) -> tuple[str, ...]:
    """The categories that "host" can mean at these ends: by `host`, else what a part is fitted into."""
    if category.host:
        named = [host for word, host in category.host.items() if word not in BOTH or not ends or word in ends]
        return tuple(dict.fromkeys(named))
    return tuple(into for into in category.into if into != "build")


def stand_ins(categories: Categories) -> dict[str, tuple[str, ...]]:
    """For each role, the categories that can fill it: its own first, then those that stand in for it."""
    met = {name: [name] for name in categories}
    for name, category in categories.items():
        for role in category.stands_in_for:
            met.setdefault(role, []).append(name)
    return {role: tuple(names) for role, names in met.items()}


def milestones_of(step: Step) -> Iterator[tuple[str, tuple[str, ...]]]:
    """What a step needs, each with the categories it is limited to (none = all)."""
    for need in step.needs:
        yield (need.milestone, need.of) if isinstance(need, Need) else (need, ())


def with_taken(category: Category, categories: Categories) -> Category:
    """The category with the steps, looks and fastenings that it takes from other files, as if they stood in its own.

    Taken ones come before its own, in the order of `takes`; a name that its file does not have is left out.
    """
    if not category.takes:
        return category
    used, steps, fastenings = list(category.used), list(category.steps), list(category.fastenings)
    for name in reversed(category.takes):
        file, _, key = name.partition(".")
        other = categories.get(file)
        if other is None:
            continue
        used[:0] = [replace(s, stage=s.stage or other.stage) for s in other.used if s.key == key]
        steps[:0] = [replace(s, stage=s.stage or other.stage) for s in other.steps if s.key == key]
        fastenings[:0] = [f for f in other.fastenings if f.key == key]
    return replace(category, used=tuple(used), steps=tuple(steps), fastenings=tuple(fastenings))


def _stops(categories: Categories, stages: Mapping[str, Stage]) -> Iterator[_Stop]:
    stage_rank = {key: number for number, key in enumerate(stages)}
    for name, category in categories.items():
        for place in places_of(name, categories):
            ends = ends_at(category, place)
            whole = place if category.each == "whole" else ""
            for number, step in enumerate((*category.used, *category.steps)):
                stage = stage_rank.get(step.stage or category.stage, len(stage_rank))
                yield _Stop(Node(name, step.key, place), step, ends, (stage, name, whole, number, place))


def _in_file(categories: Categories) -> Iterator[Edge]:
    for name, category in categories.items():
        keys = {step.key for step in (*category.used, *category.steps)}
        pairs = [pair for chain in (category.used, category.steps) for pair in _in_chain(chain, keys)]
        for place in places_of(name, categories):
            for before, after, why in pairs:
                yield Edge(Node(name, before, place), Node(name, after, place), why)


def _in_chain(chain: Sequence[Step], keys: set[str]) -> Iterator[tuple[str, str, Why]]:
    for number, step in enumerate(chain):
        if step.after is not None:
            yield from ((key, step.key, "after") for key in step.after if key in keys)
            continue
        for above in reversed(chain[:number]):
            yield above.key, step.key, "above"
            if _always_beside(above, step):
                break


def _always_beside(above: Step, step: Step) -> bool:
    """Does the step above apply whenever this one does? If not, those further up can become the nearest one."""
    return not above.when and above.one_of is None and set(step.jobs) <= set(above.jobs)


def _by_milestone(
    stops: Sequence[_Stop], categories: Categories, milestones: Mapping[str, Milestone]
) -> Iterator[Edge]:
    givers: dict[str, list[_Stop]] = {}
    for stop in stops:
        for key in stop.step.gives:
            givers.setdefault(key, []).append(stop)
    for stop in stops:
        for key, of in milestones_of(stop.step):
            milestone = milestones.get(key)
            if milestone is None:
                continue
            for giver in givers.get(key, ()):
                if _meets(giver, stop, milestone, of):
                    yield Edge(giver.node, stop.node, "milestone", key)


def _meets(giver: _Stop, needer: _Stop, milestone: Milestone, of: tuple[str, ...]) -> bool:
    if milestone.per == "part":
        by_part = giver.step.for_each is not None or needer.step.for_each is not None
        same = giver.node.category == needer.node.category and giver.node.place == needer.node.place
        return by_part or same or giver.node.category == WHOLE
    if of and giver.node.category not in of:
        return False
    return milestone.per == "bicycle" or _share_an_end(giver.ends, needer.ends)


def _share_an_end(some: frozenset[str], others: frozenset[str]) -> bool:
    return not some or not others or bool(some & others)


def _looks(stops: Sequence[_Stop], categories: Categories) -> Iterator[Edge]:
    """The looks of a part come before every step that fits or touches it."""
    roles = stand_ins(categories)
    looks: dict[str, list[_Stop]] = {}
    for stop in stops:
        if any(stop.step is look for look in categories[stop.node.category].used):
            looks.setdefault(stop.node.category, []).append(stop)
    for stop in stops:
        for name in _handled(stop, categories, roles):
            for look in looks.get(name, ()):
                if look.node != stop.node and _share_an_end(look.ends, stop.ends):
                    yield Edge(look.node, stop.node, "look")


def _bench(stops: Sequence[_Stop]) -> Iterator[Edge]:
    """What is done for each part comes before every step that fits parts."""
    rounds = [stop for stop in stops if stop.step.for_each == "part"]
    for stop in stops:
        if stop.step.fits:
            yield from (Edge(each.node, stop.node, "bench") for each in rounds)


def _handled(stop: _Stop, categories: Categories, roles: Mapping[str, tuple[str, ...]]) -> Iterator[str]:
    step, category = stop.step, categories[stop.node.category]
    is_look = any(step is look for look in category.used)
    if step.fits:
        yield from (stop.node.category,) if isinstance(step.fits, bool) else step.fits
    for name in step.touches:
        for role in hosts_of(category, stop.ends) if name == "host" else (name,):
            yield from (each for each in roles.get(role, ()) if not (is_look and each == stop.node.category))


def _cycles(left: set[Node], met: Sequence[Edge]) -> Iterator[tuple[Edge, ...]]:
    """One shortest cycle of each knot; what only waits behind a knot is in none."""
    out: dict[Node, list[Edge]] = {node: [] for node in left}
    for edge in met:
        if edge.before in left and edge.after in left:
            out[edge.before].append(edge)
    named: set[Node] = set()
    for node in sorted(left):
        if node not in named:
            cycle = _cycle_from(node, out)
            if cycle and not named & {edge.before for edge in cycle}:
                named |= _reach_both_ways(node, out)
                yield cycle


def _cycle_from(start: Node, out: Mapping[Node, list[Edge]]) -> tuple[Edge, ...]:
    """The shortest way from a node back to itself, breadth first; empty where there is none."""
    came_by: dict[Node, Edge] = {}
    front = [start]
    while front:
        following: list[Node] = []
        for node in front:
            for edge in out[node]:
                if edge.after not in came_by:
                    came_by[edge.after] = edge
                    following.append(edge.after)
        if start in came_by:
            break
        front = following
    if start not in came_by:
        return ()
    cycle = [came_by[start]]
    while cycle[-1].before != start:
        cycle.append(came_by[cycle[-1].before])
    return tuple(reversed(cycle))


def _reach_both_ways(start: Node, out: Mapping[Node, list[Edge]]) -> set[Node]:
    """All nodes of the knot that `start` is in: reached from it, and it from them."""
    back: dict[Node, list[Edge]] = {node: [] for node in out}
    for met in out.values():
        for edge in met:
            back[edge.after].append(Edge(edge.after, edge.before, edge.why))
    return _reached(start, out) & _reached(start, back)


def _reached(start: Node, out: Mapping[Node, list[Edge]]) -> set[Node]:
    seen: set[Node] = {start}
    front = [start]
    while front:
        for edge in out[front.pop()]:
            if edge.after not in seen:
                seen.add(edge.after)
                front.append(edge.after)
    return seen
