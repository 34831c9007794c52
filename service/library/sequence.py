"""Does the order hold: cycles, milestones, cuts before the position, shop visits, the written reference order."""

from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path

from service.domain.order import Edge, Node, ReferenceOrder, edges, milestones_of, reference_order, with_taken
from service.domain.procedure import Category, Step
from service.library.files import Key
from service.library.known import CATEGORY_IDS
from service.library.mistakes import Mistake
from service.library.read import Shelf
from service.library.report import Report, steps_of

ORDER_FILE = "reference-order.txt"
WHOLE = "whole-bicycle"

WHY = {
    "above": "stands below it",
    "after": "says so",
    "look": "handles the part that is looked at",
    "bench": "fits the part",
}


def check_sequence(report: Report, written: Path | None) -> None:
    """All that hangs on the order of the steps; `written` is the file to compare the reference order with."""
    categories = {name: with_taken(each, report.categories) for name, each in report.categories.items()}
    _check_written_after(report)
    _check_milestones(report)
    found = reference_order(categories, report.table("milestones"), report.table("stages"))
    if found.cycles:
        report.mistakes.extend(cycle_mistakes(found.cycles, report.shelf))
        report.whole = False
        return
    steps = {Node(name, step.key, ""): step for name, each in categories.items() for _, step in steps_of(each)}
    _check_cuts(report, found, steps)
    _check_between_shops(report, edges(categories, report.table("milestones")), found, steps)
    if written is not None:
        _check_written_order(report, found, written)


def order_lines(categories: dict[str, Category], shelf: Shelf) -> str:
    """The text of the reference order: one step a line."""
    found = reference_order(categories, shelf.table("milestones"), shelf.table("stages"))
    return "".join(f"{node.shown()}\n" for node in found.nodes)


def cycle_mistakes(cycles: Iterable[tuple[Edge, ...]], shelf: Shelf) -> Iterator[Mistake]:
    """One line for each edge of each cycle, where the later step says what it waits for."""
    for number, cycle in enumerate(cycles, 1):
        for edge in cycle:
            name, key = _place_of(edge.after, shelf)
            before_file, before_line = shelf.documents[f"categories/{_place_of(edge.before, shelf)[0]}"].place(
                _place_of(edge.before, shelf)[1]
            )
            step = _step(edge.after, shelf)
            if edge.why == "milestone":
                needs = [each for each, _ in milestones_of(step)]
                key = (*key, "needs", needs.index(edge.milestone))
            elif edge.why == "after":
                key = (*key, "after")
            said = WHY.get(edge.why, f'needs "{edge.milestone}"')
            what = (
                f"cycle {number}: {edge.after.shown()} comes after {edge.before.shown()} "
                f"({before_file.name}:{before_line}), as it {said}"
            )
            yield shelf.documents[f"categories/{name}"].mistake(key, what)


def _place_of(node: Node, shelf: Shelf) -> tuple[str, tuple[str | int, ...]]:
    own = shelf.categories[node.category]
    for key, step in steps_of(own):
        if step.key == node.step:
            return node.category, key
    for taken in own.takes:
        file, _, name = taken.partition(".")
        if name == node.step and file in shelf.categories:
            for key, step in steps_of(shelf.categories[file]):
                if step.key == name:
                    return file, key
    return node.category, ()


def _step(node: Node, shelf: Shelf) -> Step:
    name, key = _place_of(node, shelf)
    step: Step = getattr(shelf.categories[name], str(key[0]))[key[1]]
    return step


def _check_written_after(report: Report) -> None:
    for name, category in report.categories.items():
        for table in ("used", "steps"):
            above: Step | None = None
            for number, step in enumerate(getattr(category, table)):
                if step.after is None and name == WHOLE:
                    report.wrong(name, (table, number), "a step of the whole bicycle writes its `after` ([] = none)")
                elif step.after is None and above is not None and above.for_each:
                    what = f"`after` must be written, as the step above, {above.key}, is done for each part"
                    report.wrong(name, (table, number), what)
                above = step


def _check_milestones(report: Report) -> None:
    """A milestone nobody gives or needs is a mistake, or only a doubt while categories have no file yet."""
    known = report.table("milestones")
    given = {key for category in report.categories.values() for _, step in steps_of(category) for key in step.gives}
    unwritten = len(CATEGORY_IDS - set(report.categories))
    later = f" ({unwritten} categories have no file yet)" if unwritten else ""
    needed: dict[str, tuple[str, Key]] = {}
    for name, category in report.categories.items():
        for key, step in steps_of(category):
            for number, (milestone, _) in enumerate(milestones_of(step)):
                needed.setdefault(milestone, (name, (*key, "needs", number)))
    say = report.doubt if unwritten else report.wrong
    taken_out = _given_no_longer(report)
    for milestone, (name, key) in needed.items():
        if milestone not in known or milestone in given:
            continue
        if milestone in taken_out:
            file, line, step = taken_out[milestone]
            what = f"{step} gave the milestone {milestone!r}, which nothing gives now: what needs it no longer waits"
            report.mistakes.append(Mistake(file, line, what, True))
        elif not report.shelf.lost:
            say(name, key, f"nobody gives the milestone {milestone!r}{later}")
    for number, milestone in enumerate(known):
        if milestone not in needed and not report.shelf.lost:
            what = f"nobody needs the milestone {milestone!r}{later}"
            is_doubt = bool(unwritten) or report.shelf.program is not None
            report.wrong_in("order", ("milestones", number), what, warning=is_doubt)


def _given_no_longer(report: Report) -> dict[str, tuple[Path, int, str]]:
    """The milestones of steps that the person's own folder takes out or replaces: its file, the line, the step."""
    met: dict[str, tuple[Path, int, str]] = {}
    program = report.shelf.program
    for name, category in {} if program is None else program.categories.items():
        own = {step.key: key for key, step in steps_of(report.categories[name])} if name in report.categories else {}
        for key, step in steps_of(category):
            dropped = report.shelf.dropped.get((name, str(key[0]), step.key))
            place = report.document(name).place(own[step.key]) if step.key in own else dropped
            if place is not None:
                met |= {milestone: (*place, f"{name}.{step.key}") for milestone in step.gives}
    return met


def _check_cuts(report: Report, found: ReferenceOrder, steps: dict[Node, Step]) -> None:
    rank = {node: number for number, node in enumerate(found.nodes)}
    settled = [rank[node] for node in found.nodes if "position-set" in steps[_plain(node)].gives]
    if not settled:
        return
    said: set[Node] = set()
    for node in found.nodes:
        plain = _plain(node)
        if steps[plain].cuts and rank[node] < max(settled) and plain not in said:
            said.add(plain)
            name, key = _place_of(node, report.shelf)
            report.wrong(name, (*key, "cuts"), 'a cut must come after the milestone "position-set": need it')


def _check_between_shops(report: Report, met: list[Edge], found: ReferenceOrder, steps: dict[Node, Step]) -> None:
    """Short home steps that alone split one visit to the shop in two: what else lies between can be done there."""
    before: dict[Node, list[Node]] = {}
    after: dict[Node, list[Node]] = {}
    for edge in met:
        before.setdefault(edge.after, []).append(edge.before)
        after.setdefault(edge.before, []).append(edge.after)
    where = {node: steps[_plain(node)].where for node in found.nodes}
    since_shop = _still_at_the_shop(where, found.nodes, before)
    until_shop = _still_at_the_shop(where, tuple(reversed(found.nodes)), after)
    said: set[Node] = set()
    for node in found.nodes:
        between = _is_short(steps[_plain(node)]) and _touches(since_shop, before, node)
        if between and _touches(until_shop, after, node) and _plain(node) not in said:
            said.add(_plain(node))
            name, key = _place_of(node, report.shelf)
            if not report.exempts(name, f"{name}.{node[1]}"):
                what = 'a home step between two shop steps: if it can be done there, where = "anywhere", else exempt it'
                report.doubt(name, key, what)


def _is_short(step: Step) -> bool:
    """Can it lie within a visit: up to 25 minutes, no wait, part of an assembly?"""
    return step.where == "home" and step.minutes <= 25 and not step.waits_minutes and "assemble" in step.jobs


def _still_at_the_shop(where: Mapping[Node, str], nodes: tuple[Node, ...], back: dict[Node, list[Node]]) -> set[Node]:
    """The shop steps, and what can be done anywhere with a shop step behind it."""
    reached: set[Node] = set()
    for node in nodes:
        if where[node] == "shop" or (where[node] == "anywhere" and _touches(reached, back, node)):
            reached.add(node)
    return reached


def _touches(reached: set[Node], beside: dict[Node, list[Node]], node: Node) -> bool:
    return any(each in reached for each in beside.get(node, ()))


def _plain(node: Node) -> Node:
    return node._replace(place="")


def _check_written_order(report: Report, found: ReferenceOrder, file: Path) -> None:
    new = [node.shown() for node in found.nodes]
    old = file.read_text("utf-8").split() if file.exists() else []
    if old == new:
        return
    pairs = enumerate(zip(old, new, strict=False))
    line = next((number for number, (was, now) in pairs if was != now), min(len(old), len(new)))
    now = new[line] if line < len(new) else "nothing more"
    what = f"the reference order has changed, first here: now {now}; look at it, then write it with check --write-order"
    report.mistakes.append(Mistake(file, line + 1, what, warning=not old))
