"""Looks that keep finding nothing: where an interval asks too often for this rider, a longer one is suggested."""

from itertools import pairwise

from service.domain.bicycle import Event
from service.domain.procedure import Span
from service.domain.used import Reckoning, weighing_of

LOOKS, IDLE_LOOKS = 5, 4
"""Four of the last five that found nothing, done when they were asked for, are a sign."""
LATE_SHARE = 1.1
"""A look within a tenth of the interval after it was due was done because it was asked for."""
LONGER = 1.5
"""Never longer than half as much again, and never for what concerns safety. Common practice, no source."""


def longer_interval(reckoning: Reckoning) -> str | None:
    """The sentence that suggests a longer interval of one's own; None where nothing speaks for it."""
    every = reckoning.task.every
    if every is None or reckoning.task.weight == "safety" or (every.km is None and every.days is None):
        return None
    name = f"{reckoning.subject.category.category}.{reckoning.task.key}"
    done = reckoning.history.done_on(reckoning.subject, name)[-LOOKS - 1 :]
    if len(done) <= LOOKS:
        return None
    idle = sum(_found_nothing(event, before, every, reckoning) for before, event in pairwise(done))
    if idle < IDLE_LOOKS:
        return None
    own = [f"{every.km * LONGER:g} km"] if every.km is not None else []
    own += [f"{round(every.days * LONGER)} days"] if every.days is not None else []
    return f"{idle} of the last {LOOKS} found nothing to do: an interval of your own of {' or '.join(own)} would do."


def _found_nothing(event: Event, before: Event, every: Span, reckoning: Reckoning) -> bool:
    """Was it found fine, soon after it had fallen due?"""
    history = reckoning.history
    weighing = weighing_of(reckoning.task, history)
    ridden = history.ridden.equivalent_metres(reckoning.subject.part_id, before.at, event.at, weighing) / 1000
    shares = [ridden / every.km] if every.km else []
    shares += [(event.day - before.day).days / every.days] if every.days else []
    return event.found == "fine" and 1 <= max(shares, default=0) <= LATE_SHARE
