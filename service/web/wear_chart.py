"""The chart of one wearing dimension: its readings over kilometres or days, where they lead, and the limit."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import timedelta
from itertools import pairwise
from math import inf, sqrt

from markupsafe import Markup

from service.domain.ahead import DAYS_A_UNIT
from service.domain.limit import sign
from service.domain.wear import EARLY
from service.domain.wear_due import Worn
from service.domain.wear_life import Seen
from service.domain.wear_words import unit_of
from service.web.charts import NOTHING, RIGHT, WIDE, dot, line, picture, text
from service.web.words import number

HIGH, LEFT, TOP = 170, 40, 12
STEPS = 12
"""So many straight pieces make the edges of the range."""


@dataclass(frozen=True, slots=True)
class _Scale:
    """From kilometres (or days) and readings to the picture."""

    most: float
    low: float
    high: float

    def across(self, far: float) -> float:
        return LEFT + far / self.most * (WIDE - LEFT - RIGHT)

    def down(self, reading: float) -> float:
        held = min(max(reading, self.low), self.high)
        return TOP + (self.high - held) / (self.high - self.low) * HIGH


def wear_chart(worn: Worn, name: str) -> Markup:
    """Dots are readings (hollow: doubted; bars: between two marks), the band is where eight of ten would go."""
    life = worn.life
    if not life.seen or life.limit is None or life.wear.scale != "amount":
        return NOTHING
    ahead = list(_ahead(worn))
    ends = [(_at(each, worn), *_readings(each)) for each in life.seen]
    scale = _scale(worn, ends, ahead)
    if scale is None:
        return NOTHING
    unit = "days" if life.rate is not None and life.rate.per_1000_km is None else "km"
    body = [*_axes(scale, unit, unit_of(worn.wear)), *_band(scale, ahead), *_limits(scale, worn)]
    body += [mark for each in life.seen for mark in _reading(scale, each, _at(each, worn))]
    return picture(f"wear-{name}", f"{worn.wear.title}: readings", _told(worn, unit), TOP + HIGH + 34, body)


def _at(seen: Seen, worn: Worn) -> float:
    """Where a reading stands: km of the part, or days since the first one."""
    life = worn.life
    if life.rate is not None and life.rate.per_1000_km is None:
        return (seen.distance - min(each.distance for each in life.seen)) * DAYS_A_UNIT
    return seen.part_metres / 1000


def _readings(seen: Seen) -> tuple[float, float]:
    each = seen.measurement
    return each.low, each.low if each.high is None else each.high


def _ahead(worn: Worn) -> Iterator[tuple[float, float, float, float]]:
    """Points of the range from now on: how far, its two edges and its middle, as they would be read."""
    life = worn.life
    if life.ahead is None or life.ahead.worn is None:
        return
    per_unit = DAYS_A_UNIT if life.ahead.by_days else life.ahead.km_a_unit
    to_limit = life.ahead.worn.crossing(life.ahead.limit, 0) or 0.0
    until = min(max(to_limit * 1.6, life.ahead.typical * 0.1), life.ahead.typical * 3)
    began = _now_at(worn)
    turn = sign(worn.wear)
    for step in range(STEPS + 1):
        distance = until * step / STEPS
        then = life.ahead.worn.after(distance, life.ahead.uneven)
        spread = EARLY * sqrt(max(then.wear_var, 0.0))
        yield began + distance * per_unit, turn * (then.wear - spread), turn * (then.wear + spread), turn * then.wear


def _now_at(worn: Worn) -> float:
    last = worn.life.seen[-1]
    if worn.life.ahead is not None and worn.life.ahead.by_days:
        return _at(last, worn) + (worn.life.now - last.measurement.at) / timedelta(days=1)
    return worn.life.run_metres / 1000


def _scale(
    worn: Worn, ends: Iterable[tuple[float, float, float]], ahead: Iterable[tuple[float, float, float, float]]
) -> _Scale | None:
    farthest = max([far for far, _, _ in ends] + [each[0] for each in ahead] + [1.0])
    met = [reading for _, *pair in ends for reading in pair]
    met += [limit.reading for limit in worn.limits.values()]
    new = worn.life.prior.new if worn.life.prior is not None else -inf
    if new != -inf:
        met.append(sign(worn.wear) * new)
    low, high = min(met), max(met)
    room = (high - low) * 0.12
    return _Scale(farthest, low - room, high + room) if high > low else None


def _axes(scale: _Scale, unit: str, of: str) -> Iterator[Markup]:
    foot = TOP + HIGH
    yield line(LEFT, foot, WIDE - RIGHT, foot, "axis")
    yield line(LEFT, TOP, LEFT, foot, "axis")
    for share in (0.0, 0.5, 1.0):
        far = scale.most * share
        anchor = "" if share == 0 else "end" if share == 1 else "mid"
        yield text(scale.across(far), foot + 14, number(far, 0), anchor)
    yield text(WIDE - RIGHT, foot + 28, unit, "end")
    yield text(0, TOP + 4, of.strip() or "count")


def _limits(scale: _Scale, worn: Worn) -> Iterator[Markup]:
    for action, limit in worn.limits.items():
        y = scale.down(limit.reading)
        yield line(LEFT, y, WIDE - RIGHT, y, "limit")
        yield text(LEFT - 3, y + 4, number(limit.reading, 2), "end")
        yield text(WIDE - RIGHT, y - 4, action, "end")


def _band(scale: _Scale, ahead: list[tuple[float, float, float, float]]) -> Iterator[Markup]:
    if len(ahead) < 2:
        return
    edge = [(scale.across(far), scale.down(one)) for far, one, _, _ in ahead]
    edge += [(scale.across(far), scale.down(other)) for far, _, other, _ in reversed(ahead)]
    points = " ".join(f"{x:.1f},{y:.1f}" for x, y in edge)
    yield Markup('<polygon points="{}" class="band"/>').format(points)
    for one, other in pairwise(ahead):
        yield line(scale.across(one[0]), scale.down(one[3]), scale.across(other[0]), scale.down(other[3]), "course")


def _reading(scale: _Scale, seen: Seen, far: float) -> Iterator[Markup]:
    kind = "open" if seen.doubt else "mark"
    x = scale.across(far)
    if seen.reading.exact:
        yield dot(x, scale.down(seen.measurement.low), 4.5, kind)
        return
    low, high = seen.measurement.low, seen.measurement.high
    top = scale.high if high is None else high
    yield line(x, scale.down(low), x, scale.down(top), "between")
    yield line(x - 5, scale.down(low), x + 5, scale.down(low), "between")
    if high is not None:
        yield line(x - 5, scale.down(high), x + 5, scale.down(high), "between")


def _told(worn: Worn, unit: str) -> str:
    life = worn.life
    doubted = sum(each.doubt is not None for each in life.seen)
    read = f"{len(life.seen)} {'reading' if len(life.seen) == 1 else 'readings'} over its {unit}"
    doubt = f", {doubted} of them doubted and hollow" if doubted else ""
    band = "; the band is where eight of ten alike would go from now" if life.ahead is not None else "; no forecast"
    return f"{read}{doubt}, limits as dashed lines{band}. The table has every figure."
