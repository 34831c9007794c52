"""The critical path of named activities: earliest and latest times, slack, and the activities that may not slip."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from graphlib import CycleError, TopologicalSorter

from service.domain.timing import Span, spans
from service.errors import Refusal

MOST_TOLD = 10
"""So many steps of a circle are named in its refusal."""


@dataclass(frozen=True, slots=True)
class Activity:
    """Something that takes minutes, after others."""

    key: str
    minutes: float
    after: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Path:
    """Each activity's times in the order they were given; `critical` in an order in which they can be done."""

    times: Mapping[str, Span]
    total: float
    critical: tuple[str, ...]


def critical_path(activities: Sequence[Activity]) -> Path:
    """Forward and backward pass (B. W. Taylor, Introduction to Management Science, ch. 8).

    Raises Refusal for a key given twice, an activity that waits for an unknown one, and a circle.
    """
    places = _places(activities)
    before = [[places[name] for name in each.after] for each in activities]
    try:
        order = list(TopologicalSorter(dict(enumerate(before))).static_order())
    except CycleError as error:
        circle = _told([activities[i].key for i in reversed(error.args[1])])
        raise Refusal(
            f"These steps wait for one another: {circle}.",
            errors=[(f"/steps/{error.args[1][0]}/after", "steps that do not wait for this one in turn")],
        ) from None
    met = spans([each.minutes for each in activities], before, order)
    return Path(
        times={each.key: span for each, span in zip(activities, met, strict=True)},
        total=max((span.earliest_finish for span in met), default=0.0),
        critical=tuple(activities[i].key for i in order if abs(met[i].slack) < 1e-9),
    )


def _told(circle: Sequence[str]) -> str:
    """The keys of a circle, its first one again at its end; of a long one the middle is counted."""
    shown = [*circle[:MOST_TOLD], f"({len(circle) - MOST_TOLD - 1} more)", circle[-1]]
    return " → ".join(circle if len(circle) <= MOST_TOLD + 2 else shown)


def _places(activities: Sequence[Activity]) -> dict[str, int]:
    places: dict[str, int] = {}
    for number, each in enumerate(activities):
        if each.key in places:
            raise Refusal(
                f"The key {each.key} stands twice.", errors=[(f"/steps/{number}/key", "a key of its own for each step")]
            )
        places[each.key] = number
    for number, each in enumerate(activities):
        for place, name in enumerate(each.after):
            if name not in places:
                right = f"the key of one of these steps, not {name}"
                raise Refusal(f"There is no step {name}.", errors=[(f"/steps/{number}/after/{place}", right)])
    return places
