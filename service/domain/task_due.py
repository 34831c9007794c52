"""The tasks of a part, or of the whole bicycle, with where each stands."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from service.domain.ahead import Ahead
from service.domain.condition import Answer, Judged, judge
from service.domain.desk import Desk
from service.domain.false_alarms import longer_interval
from service.domain.history import Subject
from service.domain.occurrence import Clock, round_of, ruled
from service.domain.places import Here
from service.domain.procedure import Task
from service.domain.standing import STATES, Due, State
from service.domain.used import LAST_SHARE, Gauge, Reckoning, mix_of, weighing_of
from service.domain.wear_due import Worn
from service.domain.wording import asked, filled

HOME_DAYS, SHOP_DAYS = 14, 28
"""How long before it falls due a task is planned: where a shop is needed, four weeks."""
ALWAYS = Judged(Answer.YES)
ASKING = frozenset({"overdue", "due", "plan it"})
_UNITS = ("km", "days", "hours")


@dataclass(frozen=True, slots=True)
class _Stands:
    """How a task stands by one of its clocks."""

    state: State
    share: float
    why: str
    gauges: tuple[Gauge, ...] = ()
    clock: Clock | None = None


def task_dues(subject: Subject, desk: Desk, worn: Iterable[Worn] = ()) -> Iterator[Due]:
    """Every task that applies, or may apply, and runs now; what only an occasion asks for is left out until then.

    `worn`: how the part's wear stands, for looks that come the sooner the nearer it is to its limit.
    """
    forecast_km = _forecast_km(worn)
    for task in subject.category.tasks:
        judged = _judged(task, subject.here) if task.when else ALWAYS
        if judged.answer is Answer.NO:
            continue
        rule = desk.rule(subject, f"{subject.category.category}.{task.key}")
        if rule is not None and rule.off:
            yield _due(subject, desk, task, _Stands("switched off", 0.0, f"Switched off: {rule.reason}"))
            continue
        own = ruled(task, rule)
        basis = task.basis if rule is None or own is task else f"your own, {rule.reason}" if rule.reason else "your own"
        reckoning = Reckoning(subject, own, desk, basis, forecast_km)
        stands = _worst(reckoning)
        if stands is not None:
            if stands.state in ASKING and own is task and (longer := longer_interval(reckoning)):
                stands = replace(stands, why=f"{stands.why} {longer}")
            yield _due(subject, desk, task, _with_unknown(stands, judged, subject))


def _forecast_km(worn: Iterable[Worn]) -> float | None:
    """The equivalent kilometres left of what, of all that was read, is likely to wear out first; None where none is."""
    met = [each.life.ahead.worn_km() for each in worn if each.life.ahead is not None and each.life.seen]
    return min((km for km in met if km is not None), default=None)


def _judged(task: Task, here: Here) -> Judged:
    category = here.category.category if here.category else ""
    return here.around.keep(("task", here, category, task.key), lambda: judge(task.when, here))


def _worst(reckoning: Reckoning) -> _Stands | None:
    """The most pressing of a task's clocks; None where none runs."""
    subject, task, desk = reckoning.subject, reckoning.task, reckoning.desk
    now = round_of(subject, task, desk.history)
    met = [_of_clock(clock, reckoning) for clock in now.clocks]
    if now.unknown:
        met.append(_look_once(subject, desk))
    if not met and subject.began is None and (task.first or task.every):
        met.append(_Stands("fine", 0.0, "It counts from the first ride."))
    worst = _first(met)
    if worst is None or not desk.resting or worst.state == "do not ride":
        return worst
    aging = [each for each in met if task.in_bin and each.gauges]
    return _first(_by_days(each, reckoning) for each in aging) or _rested(worst, desk)


def _first(met: Iterable[_Stands]) -> _Stands | None:
    return min(met, key=lambda each: (STATES.index(each.state), -each.share), default=None)


def _rested(stands: _Stands, desk: Desk) -> _Stands:
    return replace(stands, state="resting", why=f"{desk.why_resting} {stands.why}", gauges=())


def _by_days(stands: _Stands, reckoning: Reckoning) -> _Stands:
    """What ages in the bin goes on ageing while a bicycle is laid up; its kilometres rest."""
    days = tuple(gauge for gauge in stands.gauges if gauge.unit == "days")
    if stands.clock is None or not days:
        return _rested(stands, reckoning.desk)
    return _by_gauges(stands.clock, days, reckoning)


def _look_once(subject: Subject, desk: Desk) -> _Stands:
    since = f" before {desk.day_words(subject.began)}" if subject.began else ""
    return _Stands("look once", 1.0, f"Nothing is known of it{since}: look once, then it counts.")


def _of_clock(clock: Clock, reckoning: Reckoning) -> _Stands:
    began = f"{clock.moment.say} on {reckoning.desk.day_words(clock.moment)}"
    if clock.crash:
        return _Stands("do not ride", 1.0, f"{began}: not to be ridden before this is done.", (), clock)
    gauges = reckoning.gauges(clock)
    if not gauges:
        return _Stands("due", 1.0, f"{began}, not done since. {_basis(reckoning)}", (), clock)
    return _by_gauges(clock, gauges, reckoning)


def _by_gauges(clock: Clock, gauges: tuple[Gauge, ...], reckoning: Reckoning) -> _Stands:
    began = f"{clock.moment.say} on {reckoning.desk.day_words(clock.moment)}"
    why = f"{began}; {', '.join(gauge.say() for gauge in gauges)}. {_basis(reckoning)}"
    share = max(gauge.share for gauge in gauges)
    return _Stands(_state(gauges, reckoning), share, why, gauges, clock)


def _basis(reckoning: Reckoning) -> str:
    return f"Interval: {reckoning.basis}."


def _state(gauges: tuple[Gauge, ...], reckoning: Reckoning) -> State:
    if any(gauge.used >= gauge.overdue for gauge in gauges):
        return "overdue"
    if any(gauge.used >= gauge.limit for gauge in gauges):
        return "due"
    days = SHOP_DAYS if reckoning.task.needs_shop else HOME_DAYS
    return "plan it" if any(_soon(gauge, days, reckoning.desk.km_a_day) for gauge in gauges) else "fine"


def _soon(gauge: Gauge, days: int, km_a_day: float | None) -> bool:
    """In the last 15 % and, as far as days can be told, no longer than so many days before."""
    if not gauge.warns or gauge.share < LAST_SHARE:
        return False
    if gauge.unit == "days":
        return gauge.left <= days
    return gauge.unit != "km" or km_a_day is None or gauge.left <= km_a_day * days


def _with_unknown(stands: _Stands, judged: Judged, subject: Subject) -> _Stands:
    if judged.answer is not Answer.UNKNOWN:
        return stands
    facts = [asked(fact, subject.here.around).title for fact in judged.settles]
    known = f"{' and '.join(facts)} known" if facts else "more known"
    return replace(stands, why=f"{stands.why} It may not apply: with {known} that can be said.")


def _due(subject: Subject, desk: Desk, task: Task, stands: _Stands) -> Due:
    placed, clock = subject.placed, stands.clock
    name = f"{subject.category.category}.{task.key}"
    last = desk.history.last_done(subject, name)
    ahead = _ahead(subject, desk, task, stands)
    km, days = ahead.metres_left, ahead.days_left
    on = None if stands.state == "resting" else ahead.on(desk.today, desk.pace)
    km_left = ahead.km_left()
    has_no_day = on is None and km_left is not None and stands.state != "resting" and desk.pace is None
    return Due(
        build_id=desk.history.bicycle.build.id,
        part_id=subject.part_id,
        part_name=placed.part.name if placed else None,
        task=name,
        title=filled(task.title, subject.here),
        place=placed.place if placed else "",
        state=stands.state,
        weight=task.weight,
        metres_left=None if km is None else round(km),
        days_left=None if days is None else round(days),
        on=on,
        share=stands.share,
        why=stands.why,
        last=last.day if last else None,
        cycle=str(clock.moment.row if clock else placed.fitting_id if placed else desk.history.bicycle.build.id),
        put_off=desk.put_off(subject, name),
        done_by=task.done_by,
        steps=task.steps,
        by_wear=False,
        needs_shop=task.needs_shop,
        km_left=km_left,
        refused=desk.why_no_pace if has_no_day else None,
        ahead=ahead,
    )


def _ahead(subject: Subject, desk: Desk, task: Task, stands: _Stands) -> Ahead:
    left = {unit: min((each.left for each in stands.gauges if each.unit == unit), default=None) for unit in _UNITS}
    km = left["km"]
    weighing = weighing_of(task, desk.history)
    mix, reach = mix_of(subject, desk.history, weighing) if km is not None else (1.0, 1.0)
    return Ahead(weighing, mix, reach, None if km is None else km * 1000, left["days"], left["hours"])
