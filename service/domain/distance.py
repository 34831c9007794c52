"""Which kilometres belong to which part: where it was and when, through its hosts, and what was ridden then."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from uuid import UUID

from service.domain.bicycle import Bicycle, Fitting
from service.domain.ends import compose, end_in
from service.domain.odometer import PLAIN, Odometer, Weighing

BEGINNING = datetime.min.replace(tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class Stay:
    """A part on a build from one instant to another (half open, open ended where `to_at` is None), at a place."""

    build_id: UUID
    from_at: datetime
    to_at: datetime | None
    place: str
    fitting_id: UUID

    def upto(self, at: datetime) -> datetime:
        """Its end, or the instant given where that comes first."""
        return at if self.to_at is None or self.to_at > at else self.to_at

    def covers(self, at: datetime) -> bool:
        """Was the part there at this instant?"""
        return self.from_at <= at and (self.to_at is None or at < self.to_at)


class Whereabouts:
    """Where every part was, worked out once from all fittings; the fittings need no order."""

    def __init__(self, fittings: Iterable[Fitting]) -> None:
        self._by_part: dict[UUID, list[Fitting]] = {}
        for fitting in fittings:
            self._by_part.setdefault(fitting.part_id, []).append(fitting)
        for own in self._by_part.values():
            own.sort(key=lambda fitting: fitting.from_at)
        self._stays: dict[UUID, tuple[Stay, ...]] = {}
        self._asked: set[UUID] = set()

    def fittings(self, part_id: UUID) -> Sequence[Fitting]:
        """The part's own fittings, oldest first."""
        return self._by_part.get(part_id, ())

    def stays(self, part_id: UUID) -> tuple[Stay, ...]:
        """Where a part was, oldest first: its fittings cut by its hosts' presence, recursively."""
        known = self._stays.get(part_id)
        if known is not None:
            return known
        if part_id in self._asked:  # fitted into itself, which is refused when it is tried: it was nowhere
            return ()
        self._asked.add(part_id)
        met = [stay for fitting in self.fittings(part_id) for stay in self._of_fitting(fitting)]
        self._asked.discard(part_id)
        self._stays[part_id] = tuple(sorted(met, key=lambda stay: stay.from_at))
        return self._stays[part_id]

    def _of_fitting(self, fitting: Fitting) -> Iterable[Stay]:
        if fitting.build_id is not None:
            yield Stay(fitting.build_id, fitting.from_at, fitting.to_at, fitting.place, fitting.id)
        elif fitting.into_part_id is not None:
            for host in self.stays(fitting.into_part_id):
                from_at = max(fitting.from_at, host.from_at)
                to_at = _sooner(fitting.to_at, host.to_at)
                if to_at is None or from_at < to_at:
                    newer = fitting.id if fitting.from_at >= host.from_at else host.fitting_id
                    yield Stay(host.build_id, from_at, to_at, compose(host.place, fitting.place), newer)


def _sooner(one: datetime | None, other: datetime | None) -> datetime | None:
    if one is None or other is None:
        return other if one is None else one
    return min(one, other)


def presence(part_id: UUID, fittings: Iterable[Fitting]) -> tuple[tuple[UUID, datetime, datetime | None], ...]:
    """The builds a part was on, each from when to when (half open), through its hosts."""
    return tuple((stay.build_id, stay.from_at, stay.to_at) for stay in Whereabouts(fittings).stays(part_id))


@dataclass(frozen=True, slots=True)
class PartDistance:
    """The distance of a part in whole metres; not `known`: at least this, its former life was not recorded."""

    metres: int
    known: bool


class Ridden:
    """What the parts of one bicycle have ridden, each build's rides summed once; ask it for many parts."""

    def __init__(self, bicycle: Bicycle) -> None:
        self.bicycle = bicycle
        self.whereabouts = Whereabouts(bicycle.fittings)
        self._odometers: dict[UUID, Odometer] = {}

    def odometer(self, build_id: UUID) -> Odometer:
        """The odometer of this build, or of one that a part was on before."""
        known = self._odometers.get(build_id)
        if known is None:
            seen = self.bicycle
            own = seen.build.metres_before if build_id == seen.build.id else 0
            known = self._odometers[build_id] = Odometer(
                seen.rides.get(build_id, ()),
                seen.odometer_readings.get(build_id, ()),
                seen.metres_before.get(build_id, own),
            )
        return known

    def spans(
        self, part_id: UUID | None, from_at: datetime | None, to_at: datetime
    ) -> Iterable[tuple[Stay, datetime, datetime]]:
        """The stays of a part (the build's own where there is none) cut to the time between two instants."""
        stays = self._whole_build() if part_id is None else self.whereabouts.stays(part_id)
        for stay in stays:
            start = stay.from_at if from_at is None or stay.from_at >= from_at else from_at
            end = stay.upto(to_at)
            if start < end:
                yield stay, start, end

    def _whole_build(self) -> tuple[Stay, ...]:
        build_id = self.bicycle.build.id
        return (Stay(build_id, BEGINNING, None, "", build_id),)

    def metres(self, part_id: UUID | None, from_at: datetime | None, to_at: datetime) -> int:
        """Whole metres ridden with a part (with the build where there is none) between two instants."""
        return self.equivalent_metres(part_id, from_at, to_at, PLAIN)

    def equivalent_metres(
        self, part_id: UUID | None, from_at: datetime | None, to_at: datetime, weighing: Weighing
    ) -> int:
        """The same, each ride weighed by its conditions, the end the part was at then, and a motor on this build."""
        total = 0
        for stay, start, end in self.spans(part_id, from_at, to_at):
            odometer = self.odometer(stay.build_id)
            here = self._seen_from(stay, weighing)
            total += odometer.equivalent_metres(end, here) - odometer.equivalent_metres(start, here)
        return total

    def _seen_from(self, stay: Stay, weighing: Weighing) -> Weighing:
        if weighing.factors is None:
            return weighing
        motor = self.bicycle.build.motor and stay.build_id == self.bicycle.build.id
        end = end_in(stay.place) if weighing.factors.by_end else None
        return Weighing(weighing.name, end, motor, weighing.factors, weighing.reaching)

    def seconds(self, part_id: UUID | None, from_at: datetime | None, to_at: datetime) -> tuple[int, bool]:
        """Riding time of a part between two instants, seconds, and whether any of it is estimated."""
        total, estimated = 0, False
        for stay, start, end in self.spans(part_id, from_at, to_at):
            more, guessed = self.odometer(stay.build_id).seconds(start, end)
            total, estimated = total + more, estimated or guessed
        return total, estimated

    def wet_share(self, part_id: UUID | None, from_at: datetime | None, to_at: datetime) -> float:
        """The share, 0 to 1, of a part's distance that was ridden wet, gritty or salted."""
        wet = sum(
            self.odometer(stay.build_id).wet_metres(end) - self.odometer(stay.build_id).wet_metres(start)
            for stay, start, end in self.spans(part_id, from_at, to_at)
        )
        return wet / max(self.metres(part_id, from_at, to_at), 1)

    def days_away(self, part_id: UUID, from_at: datetime, to_at: datetime) -> int:
        """Whole days between two instants on which the part was on no build: what only use ages does not count them."""
        present = sum((end - start for _, start, end in self.spans(part_id, from_at, to_at)), timedelta())
        return max((to_at - from_at - present).days, 0)

    def of_part(self, part_id: UUID, upto: datetime) -> PartDistance:
        """A part's distance until an instant, its former life included where that is known."""
        part = self.bicycle.parts[part_id]
        before = 0 if part.metres_before is None and part.origin == "new" else part.metres_before
        return PartDistance((before or 0) + self.metres(part_id, None, upto), before is not None)
