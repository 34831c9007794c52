"""How much of an interval is used: kilometres, days, hours, parts, each against its limit."""

from dataclasses import dataclass
from datetime import date, timedelta

from service.domain.desk import Desk
from service.domain.history import History, Subject
from service.domain.lists import Factors
from service.domain.occasions import days_resting
from service.domain.occurrence import Clock
from service.domain.odometer import Weighing
from service.domain.procedure import Span, Task

OVERDUE_SHARE = 1.2
LAST_SHARE = 0.85
"""The last 15 % of an interval are for planning."""
WARNED_KM, WARNED_DAYS = 300, 30
"""A shorter interval gets no warning before it is due."""
WET_SHARE = 1 / 3
"""From this share of wet, gritty or salted distance on, `wet_days` stand in for `days`: common practice, no source."""
SECONDS_AN_HOUR = 3600
MIX_DAYS = 84
"""What a kilometre counts for lately is that of the last twelve weeks: common practice, no source."""


@dataclass(frozen=True, slots=True)
class Gauge:
    """One unit of an interval: used of a limit; `overdue` from its own figure on, else from 1.2 of the limit."""

    unit: str
    used: float
    limit: float
    overdue: float
    warns: bool
    on: date | None = None
    remark: str = ""

    @property
    def share(self) -> float:
        """The used part of the limit; 1 and more is due."""
        return self.used / self.limit if self.limit > 0 else 1.0

    @property
    def left(self) -> float:
        """What is left of the limit; less than 0 is past."""
        return self.limit - self.used

    def say(self) -> str:
        """ "412 of 500 km"."""
        remark = f" ({self.remark})" if self.remark else ""
        return f"{_figure(self.used)} of {_figure(self.limit)} {self.unit}{remark}"


def _figure(amount: float) -> str:
    return f"{amount:.0f}" if amount >= 100 or amount == round(amount) else f"{amount:.1f}"


@dataclass(frozen=True, slots=True)
class Reckoning:
    """What is reckoned: one task of one subject, with its own limits, and the words for whose they are."""

    subject: Subject
    task: Task
    desk: Desk
    basis: str
    forecast_km: float | None = None

    @property
    def history(self) -> History:
        """The past until now."""
        return self.desk.history

    def gauges(self, clock: Clock) -> tuple[Gauge, ...]:
        """Each unit of a clock's interval; none where the task is asked for at once."""
        span = clock.span
        if span is None:
            return ()
        met = (self._km(clock, span), self._days(clock, span), self._hours(clock, span), self._parts(clock, span))
        return tuple(gauge for gauge in met if gauge is not None)

    def _km(self, clock: Clock, span: Span) -> Gauge | None:
        limit = span.km if span.km is not None else span.overdue_km
        if limit is None:
            return None
        weighing = weighing_of(self.task, self.history)
        ridden = self.history.ridden.equivalent_metres(
            self.subject.part_id, clock.moment.at, self.history.now, weighing
        )
        before = (self.subject.metres_before or 0) if clock.from_new else 0
        remark = "weighed by conditions" if weighing.factors is not None else ""
        sooner = self._sooner(span, limit, ridden / 1000)
        if sooner < limit:
            limit, remark = sooner, "sooner, for it is wearing out"
        overdue = span.overdue_km if span.overdue_km is not None else limit * OVERDUE_SHARE
        return Gauge("km", (ridden + before) / 1000, limit, overdue, limit >= WARNED_KM, remark=remark)

    def _sooner(self, span: Span, limit: float, ridden_km: float) -> float:
        """A share of what was forecast when it was last done, where that is less; never under `least_km`."""
        if span.share_of_forecast is None or self.forecast_km is None:
            return limit
        share = span.share_of_forecast * (self.forecast_km + ridden_km)
        return min(limit, max(share, span.least_km or 0))

    def _days(self, clock: Clock, span: Span) -> Gauge | None:
        limit, remark = span.days if span.days is not None else span.overdue_days, ""
        if span.wet_days is not None and (limit is None or span.wet_days < limit) and self._rode_wet(clock):
            limit, remark = span.wet_days, "shorter, for it was wet"
        if limit is None:
            return None
        rested = 0 if self.task.in_bin else days_resting(self.subject, self.history, clock.moment.at)
        began = self.desk.day_of(clock.moment)
        used = max((self.desk.today - began).days - rested, 0)
        overdue = span.overdue_days if span.overdue_days is not None else limit * OVERDUE_SHARE
        on = began + timedelta(days=limit + rested)
        return Gauge("days", used, limit, overdue, limit >= WARNED_DAYS, on, remark)

    def _rode_wet(self, clock: Clock) -> bool:
        ridden = self.history.ridden
        return ridden.wet_share(self.subject.part_id, clock.moment.at, self.history.now) >= WET_SHARE

    def _hours(self, clock: Clock, span: Span) -> Gauge | None:
        if span.hours is None:
            return None
        seconds, estimated = self.history.ridden.seconds(self.subject.part_id, clock.moment.at, self.history.now)
        remark = "estimated" if estimated else ""
        return Gauge("hours", seconds / SECONDS_AN_HOUR, span.hours, span.hours * OVERDUE_SHARE, True, remark=remark)

    def _parts(self, clock: Clock, span: Span) -> Gauge | None:
        if span.parts is None or span.parts_of is None:
            return None
        used = self.history.parts_used(self.subject, span.parts_of, clock.moment.at)
        return Gauge(f"{span.parts_of}s used", used, span.parts, span.parts * OVERDUE_SHARE, True)


def weighing_of(task: Task, history: History) -> Weighing:
    """How kilometres count for a task."""
    name = task.factors
    return Weighing(name or "", factors=history.library.factors.get(name) if name else None)


def mix_of(subject: Subject, history: History, weighing: Weighing) -> tuple[float, float]:
    """What a kilometre has counted for over the last twelve weeks, and the share of them that counted at all.

    Both are 1 where nothing was ridden then.
    """
    if weighing.factors is None:
        return 1.0, 1.0
    known = history.mixes.get((subject.part_id, weighing))
    if known is None:
        known = history.mixes[subject.part_id, weighing] = _mix(subject, history, weighing, weighing.factors)
    return known


def _mix(subject: Subject, history: History, weighing: Weighing, row: Factors) -> tuple[float, float]:
    since = history.now - timedelta(days=MIX_DAYS)
    plain = history.ridden.metres(subject.part_id, since, history.now)
    if plain <= 0:
        return 1.0, 1.0
    weighed = history.ridden.equivalent_metres(subject.part_id, since, history.now, weighing)
    if row.indoor > 0 and row.roller > 0 and not row.by_end:
        return weighed / plain, 1.0
    reaching = Weighing(weighing.name, weighing.end, weighing.motor, row, reaching=True)
    reached = history.ridden.equivalent_metres(subject.part_id, since, history.now, reaching)
    return weighed / plain, reached / plain
