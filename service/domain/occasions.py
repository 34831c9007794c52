"""Occasions that ask for a task whatever its interval: a crash, the wet, storage, travel, a swap, another task done."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from service.domain.bicycle import Ride
from service.domain.distance import BEGINNING
from service.domain.history import History, Moment, Subject
from service.domain.odometer import WET

SPELL_DAYS = 14
"""A wet spell that ended longer ago asks for nothing any more: common practice, no source."""
UNUSED_DAYS = 60
"""A bicycle that stood for so long is woken with a look: common practice, no source."""
WOKEN_DAYS = 30
"""How long the look after storage is asked for once it is ridden again: common practice, no source."""


@dataclass(frozen=True, slots=True)
class Occasion:
    """What happened, and whether it asks at once or after the task's first interval."""

    moment: Moment
    at_once: bool


def occasion(word: str, subject: Subject, history: History, since: datetime | None) -> Occasion | None:
    """The last time that an occasion of `Task.after` came up for a subject after an instant; None if it did not."""
    met = _look_up(word, subject, history, since)
    if met is None or (since is not None and met.moment.at <= since):
        return None
    return met


def _look_up(word: str, subject: Subject, history: History, since: datetime | None) -> Occasion | None:
    kind, _, what = word.partition(":")
    match kind:
        case "crash":
            return _at_once(_happened(subject, history, "crashed", "Crashed"))
        case "travelled":
            return _at_once(_happened(subject, history, "travelled", "Packed or carried"))
        case "wet":
            return _at_once(_wet_spell(subject, history, since))
        case "stored":
            return _at_once(_stored(subject, history))
        case "refitted":
            return _first(_refitted(subject, history))
        case "swapped":
            return _first(history.swapped(subject, what))
        case "done":
            return _first(history.done_near(subject, what))
    return None


def _at_once(moment: Moment | None) -> Occasion | None:
    return None if moment is None else Occasion(moment, at_once=True)


def _first(moment: Moment | None) -> Occasion | None:
    return None if moment is None else Occasion(moment, at_once=False)


def _happened(subject: Subject, history: History, kind: str, say: str) -> Moment | None:
    for event in reversed(history.build_events.get(kind, ())):
        stay = subject.at(event.at)
        if stay is not None and stay.build_id == event.build_id:
            return Moment(event.at, event.id, say, event.day)
    return None


def _refitted(subject: Subject, history: History) -> Moment | None:
    """When the part itself was last fitted again; moving with what it sits in undoes nothing of its own."""
    own = history.ridden.whereabouts.fittings(subject.part_id) if subject.part_id else ()
    again = [fitting for fitting in own[1:] if fitting.from_at <= history.now]
    return Moment(again[-1].from_at, again[-1].id, "Fitted again") if again else None


def _wet_spell(subject: Subject, history: History, since: datetime | None) -> Moment | None:
    """The first ride of the wet spell that the last wet rides were, unless that was long ago."""
    first: Ride | None = None
    for ride in reversed(_rides(subject, history, since)):
        if ride.conditions not in WET:
            if first is not None:
                break
        elif first is None and ride.started_at < history.now - timedelta(days=SPELL_DAYS):
            break
        else:
            first = ride
    return Moment(first.started_at, first.id, "Ridden in the wet", first.day) if first else None


def _rides(subject: Subject, history: History, since: datetime | None) -> list[Ride]:
    met: list[Ride] = []
    recent = max(since or BEGINNING, history.now - timedelta(days=4 * SPELL_DAYS))
    for stay, start, end in history.ridden.spans(subject.part_id, recent, history.now):
        met.extend(history.ridden.odometer(stay.build_id).rides_between(start, end))
    return [ride for ride in met if since is None or ride.started_at > since]


def _stored(subject: Subject, history: History) -> Moment | None:
    """When the bicycle was woken, or has stood for sixty days, if it was not ridden for long since."""
    woken = _happened(subject, history, "woken", "Woken from storage")
    odometer = history.ridden.odometer(history.bicycle.build.id)
    stood = _stood(odometer.rides_between(BEGINNING, history.now), history.now)
    met = [moment for moment in (woken, stood) if moment is not None]
    return max(met, key=lambda moment: moment.at, default=None)


def _stood(rides: Sequence[Ride], now: datetime) -> Moment | None:
    unused = timedelta(days=UNUSED_DAYS)
    until = now
    for ride in reversed(rides):
        if until < now - timedelta(days=WOKEN_DAYS):
            return None
        if until - ride.started_at >= unused:
            return Moment(ride.started_at + unused, ride.id, "Stood unused for sixty days")
        until = ride.started_at
    return None


def days_resting(subject: Subject, history: History, since: datetime) -> int:
    """Whole days since an instant on which the part was on no bicycle, or its bicycle was put away."""
    away = history.ridden.days_away(subject.part_id, since, history.now) if subject.part_id else 0
    if "put away" not in history.build_events:
        return away
    spans = history.ridden.spans(subject.part_id, since, history.now)
    return away + sum((_put_away(history, stay.build_id, start, end) for stay, start, end in spans), timedelta()).days


def _put_away(history: History, build_id: object, start: datetime, end: datetime) -> timedelta:
    turns = [*history.build_events["put away"], *history.build_events.get("woken", ())]
    total, since = timedelta(), None
    for event in sorted((each for each in turns if each.build_id == build_id), key=lambda event: event.at):
        if event.kind == "put away":
            since = since or event.at
        elif since is not None:
            total, since = total + _overlap(start, end, since, event.at), None
    return total + (_overlap(start, end, since, end) if since is not None else timedelta())


def _overlap(start: datetime, end: datetime, from_at: datetime, to_at: datetime) -> timedelta:
    return max(min(end, to_at) - max(start, from_at), timedelta())
