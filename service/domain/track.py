"""How far, how high and how long a recorded track goes: segments never joined, small rises and stops left out."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import NamedTuple

from service.domain.geodesy import distance_m

CLIMB_THRESHOLD_M = 2.0
"""A height must differ so much from the last one that counted: a recording trembles more than a road."""
MOVING_MS = 0.5
"""Slower than this on average between two points, in metres a second, is standing: common practice, no source."""


class TrackPoint(NamedTuple):
    """A point as it was recorded, degrees and metres; `segment` counts from 0.

    A tuple, as rides are: a track has tens of thousands.
    """

    segment: int
    latitude: float
    longitude: float
    height_m: float | None
    at: datetime | None


@dataclass(frozen=True, slots=True)
class Segment:
    """One segment: what was recorded without a gap."""

    points_count: int
    metres: float
    climb_m: float | None
    moving_s: float | None


@dataclass(frozen=True, slots=True)
class Track:
    """The whole. No climb without heights, no times without times."""

    metres: float
    climb_m: float | None
    moving_s: float | None
    elapsed_s: float | None
    started_at: datetime | None
    points_count: int
    segments: tuple[Segment, ...]


class TrackSum:
    """Adds up a track point by point, so that none need be kept."""

    def __init__(self, *, threshold_m: float = CLIMB_THRESHOLD_M, moving_ms: float = MOVING_MS) -> None:
        self._threshold_m = threshold_m
        self._moving_ms = moving_ms
        self._done: list[Segment] = []
        self._segment = -1
        self._first_at: datetime | None = None
        self._last_at: datetime | None = None
        self._begin()

    def _begin(self) -> None:
        self._before: TrackPoint | None = None
        self._count, self._metres, self._climb_m, self._moving_s = 0, 0.0, 0.0, 0.0
        self._counted_m: float | None = None
        self._timed = False

    def add(self, points: Iterable[TrackPoint]) -> None:
        """Takes further points, in their order; one loop, as a call for each would take as long as its sums."""
        threshold_m, moving_ms = self._threshold_m, self._moving_ms
        before, counted_m = self._before, self._counted_m
        for point in points:
            segment, latitude, longitude, height_m, at = point
            if segment != self._segment:
                self._end()
                self._segment, before, counted_m = segment, None, None
            self._count += 1
            if height_m is not None:
                # hysteresis: the reference moves only where the height has left it by the threshold
                if counted_m is None or height_m <= counted_m - threshold_m:
                    self._counted_m = counted_m = height_m
                elif height_m >= counted_m + threshold_m:
                    self._climb_m += height_m - counted_m
                    self._counted_m = counted_m = height_m
            if at is not None:
                self._last_at, self._timed = at, True
                if self._first_at is None:
                    self._first_at = at
            if before is not None:
                _, from_latitude, from_longitude, _, from_at = before
                metres = distance_m(from_latitude, from_longitude, latitude, longitude)
                self._metres += metres
                if from_at is not None and at is not None:
                    seconds = (at - from_at).total_seconds()
                    if metres >= moving_ms * seconds:
                        self._moving_s += seconds
            self._before = before = point

    def _end(self) -> None:
        if self._count:
            climb = None if self._counted_m is None else self._climb_m
            self._done.append(Segment(self._count, self._metres, climb, self._moving_s if self._timed else None))
        self._begin()

    def done(self) -> Track:
        """What it comes to."""
        self._end()
        climbs = [each.climb_m for each in self._done if each.climb_m is not None]
        times = [each.moving_s for each in self._done if each.moving_s is not None]
        first, last = self._first_at, self._last_at
        return Track(
            metres=sum(each.metres for each in self._done),
            climb_m=sum(climbs) if climbs else None,
            moving_s=sum(times) if times else None,
            elapsed_s=(last - first).total_seconds() if first is not None and last is not None else None,
            started_at=first,
            points_count=sum(each.points_count for each in self._done),
            segments=tuple(self._done),
        )


def track_of(points: Iterable[TrackPoint], *, threshold_m: float = CLIMB_THRESHOLD_M) -> Track:
    """The track of these points."""
    adding = TrackSum(threshold_m=threshold_m)
    adding.add(points)
    return adding.done()
