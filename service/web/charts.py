"""Charts as pictures made by the server: SVG in the page, its colours from the style sheet, a table always beside it.

Every chart has a title and a description for who does not see it; what it shows is never told by colour alone.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from math import ceil, log

from markupsafe import Markup

from service.domain.bar_and_saddle import Position
from service.domain.gears import Gears
from service.web.words import number

WIDE = 360
LEFT, RIGHT = 34, 12
ROW = 46
TICKS = (1, 1.5, 2, 3, 4, 5, 6, 8, 10, 12)
NOTHING = Markup("")


@dataclass(frozen=True, slots=True)
class Bar:
    """One bar: its words, how long it is, how much of that is filled, and a limit to mark on it."""

    words: str
    length: float
    filled: float
    said: str
    limit: float | None = None


def picture(name: str, title: str, told: str, height: float, body: Iterable[Markup]) -> Markup:
    """The figure; `name` keeps the ids of its title and description apart from those of others on the page."""
    inside = Markup("").join(body)
    return Markup(
        '<figure class="chart"><svg viewBox="0 0 {} {}" role="img" aria-labelledby="{}-title {}-told">'
        '<title id="{}-title">{}</title><desc id="{}-told">{}</desc>{}</svg></figure>'
    ).format(WIDE, round(height), name, name, name, title, name, told, inside)


def text(x: float, y: float, words: str, kind: str = "") -> Markup:
    return Markup('<text x="{:.1f}" y="{:.1f}"{}>{}</text>').format(x, y, _kind(kind), words)


def line(x: float, y: float, to_x: float, to_y: float, kind: str) -> Markup:
    return Markup('<line x1="{:.1f}" y1="{:.1f}" x2="{:.1f}" y2="{:.1f}"{}/>').format(x, y, to_x, to_y, _kind(kind))


def dot(x: float, y: float, radius: float, kind: str) -> Markup:
    return Markup('<circle cx="{:.1f}" cy="{:.1f}" r="{:.1f}"{}/>').format(x, y, radius, _kind(kind))


def box(x: float, y: float, wide: float, high: float, kind: str) -> Markup:
    return Markup('<rect x="{:.1f}" y="{:.1f}" width="{:.1f}" height="{:.1f}"{}/>').format(
        x, y, max(wide, 0.0), high, _kind(kind)
    )


def _kind(kind: str) -> Markup:
    return Markup(' class="{}"').format(kind) if kind else NOTHING


def gear_chart(gears: Gears) -> Markup:
    """A row for each ring, a dot for each gear, by how far a turn of the crank goes; a hollow one is crossed."""
    lines = [(each, each.development_m or each.ratio) for each in gears.gears]
    if len(lines) < 2 or lines[0][1] >= lines[-1][1]:
        return NOTHING
    unit = "m a turn of the crank" if gears.circumference_mm else "turns of the wheel"
    low, high = log(lines[0][1]), log(lines[-1][1])
    rings = sorted({each.ring_teeth for each, _ in lines}, reverse=True)

    def across(far: float) -> float:
        return LEFT + (log(far) - low) / (high - low) * (WIDE - LEFT - RIGHT - 10) + 5

    foot = ROW * len(rings) + 6.0
    body = [line(across(tick), 4, across(tick), foot, "axis") for tick in TICKS if low <= log(tick) <= high]
    body += [text(across(tick), foot + 13, number(tick), "mid") for tick in TICKS if low <= log(tick) <= high]
    body.append(text(WIDE - RIGHT, foot + 27, unit, "end"))
    for row, ring in enumerate(rings):
        y = ROW * row + ROW / 2
        body.append(text(0, y + 4, str(ring), "strong"))
        for place, (each, far) in enumerate(pair for pair in lines if pair[0].ring_teeth == ring):
            body.append(dot(across(far), y, 4.5, "open" if each.crossed else "mark"))
            words = str(each.hub_gear or each.sprocket_teeth)
            body.append(text(across(far), y - 9 if place % 2 else y + 17, words, "mid"))
    told = (
        f"{len(lines)} gears on rings of {' and '.join(str(ring) for ring in rings)}, from {number(lines[0][1], 2)} "
        f"to {number(lines[-1][1], 2)} {unit}. A hollow dot is a crossed chain. The table has every figure."
    )
    return picture("gears", "Gears by ring", told, foot + 32, body)


def bar_chart(name: str, title: str, bars: Sequence[Bar], told: str) -> Markup:
    """A bar for each, filled as far as it is certain; a dashed line where a limit is."""
    longest = max((max(each.length, each.limit or 0.0) for each in bars), default=0.0)
    if longest <= 0:
        return NOTHING
    return picture(name, title, told, 36 * len(bars) + 4, _bars(bars, (WIDE - 8) / longest))


def _bars(bars: Sequence[Bar], scale: float) -> Iterator[Markup]:
    for row, bar in enumerate(bars):
        y = 36 * row
        yield text(0, y + 12, bar.words)
        yield text(WIDE - 2, y + 12, bar.said, "end")
        yield box(1, y + 17, bar.length * scale, 11, "open")
        yield box(1, y + 17, bar.filled * scale, 11, "mark")
        if bar.limit is not None:
            yield line(bar.limit * scale, y + 14, bar.limit * scale, y + 31, "limit")


def position_chart(position: Position) -> Markup:
    """Shell, saddle, bar and hands from the side, in one scale; the front wheel would be on the right."""
    points = [("shell", 0.0, 0.0)]
    if position.saddle_top is not None:
        points.append(("saddle", position.saddle_top.forward_mm, position.saddle_top.up_mm))
    if position.bar is not None:
        points.append(("bar", position.bar.forward_mm, position.bar.up_mm))
    points += [(each.where, each.point.forward_mm, each.point.up_mm) for each in position.hands if each.where != "tops"]
    if len(points) < 2:
        return NOTHING
    lefts, ups = [forward for _, forward, _ in points], [up for _, _, up in points]
    wide, high = max(lefts) - min(lefts) or 1.0, max(ups) - min(ups) or 1.0
    scale = min((WIDE - 90) / wide, 300 / high)

    def at(forward: float, up: float) -> tuple[float, float]:
        return 40 + (forward - min(lefts)) * scale, 20 + (max(ups) - up) * scale

    body = [line(*at(0, 0), *at(forward, up), "axis") for name, forward, up in points if name in ("saddle", "bar")]
    for name, forward, up in points:
        x, y = at(forward, up)
        body.append(dot(x, y, 5, "open" if name == "shell" else "mark"))
        body.append(text(x, y + 18 if name in ("shell", "bar", "drops") else y - 9, name, "mid"))
    told = "; ".join(f"{name} {_where(forward, up)}" for name, forward, up in points[1:])
    told = f"Seen from the right, from the middle of the shell: {told}."
    return picture("position", "Position from the side", told, ceil(high * scale) + 44, body)


def _where(forward: float, up: float) -> str:
    return f"{number(abs(forward), 0)} mm {'before' if forward >= 0 else 'behind'} and {number(up, 0)} mm over it"
