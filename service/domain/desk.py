"""What every judgement of what is due rests on: the day, the past, the owner's limits and put-offs, the usual pace."""

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from functools import cache, cached_property
from uuid import UUID

from service.domain.bicycle import PutOff, ServiceRule
from service.domain.distance import BEGINNING
from service.domain.history import History, Moment, Subject
from service.domain.pace import IDLE_DAYS, Pace, no_pace, pace_of, said_pace
from service.domain.wording import day_words

RESTING_BUILDS = frozenset({"laid up", "retired"})
"""Builds that are not ridden: their kilometres rest, and nothing nags."""


@dataclass(frozen=True)
class Desk:
    """One bicycle's past with the day it is looked at; `zone` is where its days begin.

    `weekly_metres`: what the rider says they ride, for as long as their rides do not tell.
    """

    history: History
    today: date
    zone: tzinfo | None
    weekly_metres: int | None = None

    @property
    def resting(self) -> bool:
        """Is the bicycle laid up or retired?"""
        return self.history.bicycle.build.state in RESTING_BUILDS

    @property
    def why_resting(self) -> str:
        """Why it rests; a part in the bin is looked at as a bicycle of its own, under its own id."""
        build = self.history.bicycle.build
        return "In the parts bin." if build.id in self.history.bicycle.parts else f"The bicycle is {build.state}."

    def day_of(self, moment: Moment) -> date:
        """The civil day of a moment."""
        return moment.day or moment.at.astimezone(self.zone).date()

    def day_words(self, moment: Moment) -> str:
        """Its day in words: "3 May"."""
        return day_words(self.day_of(moment), self.today)

    @cached_property
    def _rules(self) -> dict[tuple[UUID | None, str], ServiceRule]:
        return {(rule.part_id or rule.build_id, rule.task): rule for rule in self.history.bicycle.rules}

    def rule(self, subject: Subject, task: str) -> ServiceRule | None:
        """The owner's own limit: for the part, else for the whole build."""
        if not self._rules:
            return None
        on_build = self._rules.get((self.history.bicycle.build.id, task))
        return self._rules.get((subject.part_id, task), on_build) if subject.part_id else on_build

    @cached_property
    def _put_offs(self) -> dict[tuple[UUID | None, str], PutOff]:
        return {(each.part_id or each.build_id, each.task): each for each in self.history.bicycle.put_offs}

    def put_off(self, subject: Subject, task: str) -> str | None:
        """Until when it is put off and why, while that lasts; a distance is one on the build's odometer."""
        build_id = self.history.bicycle.build.id
        met = self._put_offs.get((subject.part_id or build_id, task))
        if met is None:
            return None
        day_to_come = met.until_on is not None and met.until_on > self.today
        ridden = self.history.ridden.odometer(build_id).metres(self.history.now) if met.until_metres is not None else 0
        km_to_come = met.until_metres is not None and met.until_metres > ridden
        until = [day_words(met.until_on, self.today)] if met.until_on is not None else []
        until += [f"{met.until_metres / 1000:g} km"] if met.until_metres is not None else []
        reason = f": {met.reason}" if met.reason else ""
        return f"until {' or '.join(until)}{reason}" if day_to_come or km_to_come else None

    @cached_property
    def pace(self) -> Pace | None:
        """The usual pace: of the rides, else what the rider says; None where it rests or nothing is known."""
        if self.resting:
            return None
        first = self.history.first_ride
        upto = cache(self.history.ridden.odometer(self.history.bicycle.build.id).metres)  # weeks share their ends
        morning = datetime.combine(self.today, time(), self.zone or UTC)  # weeks of whole days: today is not over yet
        met = pace_of(lambda since, until: upto(until) - upto(since), first.at, morning) if first else None
        if met is None and self.weekly_metres and not self._idle:
            return said_pace(self.weekly_metres)
        return met

    @property
    def _idle(self) -> bool:
        last = self._last_ride
        return last is not None and self.today - last > timedelta(days=IDLE_DAYS)

    @cached_property
    def _last_ride(self) -> date | None:
        odometer = self.history.ridden.odometer(self.history.bicycle.build.id)
        past = odometer.rides_between(BEGINNING, self.history.now)
        days = [past[-1].day] if past else []
        days += [min(each.to_at, self.history.now).astimezone(self.zone).date() for each in odometer.unlogged[-1:]]
        return max(days, default=None)

    @cached_property
    def why_no_pace(self) -> str:
        """Why kilometres give no date."""
        return self.why_resting if self.resting else no_pace(self._last_ride, self.today)

    @property
    def km_a_day(self) -> float | None:
        """What is usually ridden a day, kilometres; None where nothing tells."""
        return None if self.pace is None else self.pace.metres_a_day / 1000
