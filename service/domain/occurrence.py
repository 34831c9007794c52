"""When a task's round began and by which interval it runs: since it was done, fitted, started afresh or called for."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from service.domain.bicycle import ServiceRule
from service.domain.history import History, Moment, Subject
from service.domain.occasions import occasion
from service.domain.procedure import Span, Task

SETTLING_KM, SETTLING_DAYS, SETTLING_HOURS = 200, 30, 15
"""A first interval no longer than this is a settling check: it looks at a joint just made, whatever the part's past.
Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Clock:
    """One way in which a task runs: from a moment, by an interval; without one it is asked for at once.

    `from_new`: what the part had ridden before it was known here counts too. `crash`: not to be ridden until done.
    """

    moment: Moment
    span: Span | None
    from_new: bool = False
    crash: bool = False


@dataclass(frozen=True, slots=True)
class Round:
    """All clocks of a task that run now; `unknown` where there is nothing to count from."""

    clocks: tuple[Clock, ...]
    unknown: bool = False


def settles(span: Span) -> bool:
    """Is this first interval a settling check?"""
    return (
        (span.km is not None and span.km <= SETTLING_KM)
        or (span.days is not None and span.days <= SETTLING_DAYS)
        or (span.hours is not None and span.hours <= SETTLING_HOURS)
    )


def ruled(task: Task, rule: ServiceRule | None) -> Task:
    """The task with the owner's own limits in place of the library's, each that they name."""
    if rule is None or rule.off or (rule.metres is None and rule.days is None and rule.hours is None):
        return task
    own = _own_limits(task.every or task.first or Span(), rule)
    return replace(task, first=own) if task.every is None and task.first is not None else replace(task, every=own)


def _own_limits(span: Span, rule: ServiceRule) -> Span:
    if rule.metres is not None:
        span = replace(span, km=rule.metres / 1000, overdue_km=None)
    if rule.days is not None:
        span = replace(span, days=rule.days, overdue_days=None, wet_days=None)
    return span if rule.hours is None else replace(span, hours=rule.hours)


def round_of(subject: Subject, task: Task, history: History) -> Round:
    """The clocks of a task that run for a subject now.

    Started afresh, nothing older counts. Else: the repeating interval since it was last done (or since a part that came
    new was fitted), the settling check since the part was last fitted, and what an occasion asks for.
    """
    name = f"{subject.category.category}.{task.key}"
    last = history.last_done(subject, name)
    done = Moment(last.at, last.id, f"Last done ({last.kind})", last.day) if last else None
    afresh = max(
        (pair for pair in history.restarted(subject, name) if done is None or pair[0].at > done.at),
        key=lambda pair: pair[0].at,
        default=None,
    )
    if afresh is not None:
        clocks = list(_afresh(task, *afresh))
        since: Moment | None = afresh[0]
        unknown = False
    else:
        clocks = [*_since_done(task, done), *_since_fitted(subject, task, done)]
        since = done
        unknown = done is None and not clocks and _needs_a_start(task) and subject.began is not None
    clocks.extend(_called_for(subject, task, history, since))
    return Round(tuple(clocks), unknown)


def _afresh(task: Task, moment: Moment, by_new_part: bool) -> Iterator[Clock]:
    span = (task.first or task.every) if by_new_part else (task.every or task.first)
    if span is not None and (by_new_part or task.every is not None):
        yield Clock(moment, span)


def _since_done(task: Task, done: Moment | None) -> Iterator[Clock]:
    if done is not None and task.every is not None:
        yield Clock(done, task.every)


def _since_fitted(subject: Subject, task: Task, done: Moment | None) -> Iterator[Clock]:
    if subject.began is None or subject.fitted is None:
        return
    if task.first is not None and settles(task.first):
        if done is None or subject.fitted.at > done.at:
            yield Clock(subject.fitted, task.first)
        return
    span = task.first or task.every
    if done is None and span is not None and _counts_from_new(subject, span):
        yield Clock(subject.began, span, from_new=True)


def _counts_from_new(subject: Subject, span: Span) -> bool:
    """A part that came new counts from its first fitting; a used one only by a distance that is known."""
    before = subject.metres_before
    return before == 0 or (before is not None and span.km is not None)


def _needs_a_start(task: Task) -> bool:
    return task.every is not None or task.first is not None


def _called_for(subject: Subject, task: Task, history: History, since: Moment | None) -> Iterator[Clock]:
    for word in task.after:
        met = occasion(word, subject, history, since.at if since else None)
        if met is not None:
            span = None if met.at_once else task.first
            yield Clock(met.moment, span, crash=word == "crash" and task.weight == "safety")
