"""Whether the spokes of one side are as long as hub, rim and lacing ask."""

from service.domain.calculation import Case, Reckoned, Seen, calculation, reckon
from service.domain.condition import Answer
from service.domain.ends import side_in
from service.domain.span import SOME, UNKNOWN, Span, exactly, said
from service.domain.wheel import Lacing, order_length_mm, spoke_length_mm
from service.errors import Refusal

MEETS_MM, CARE_MM, LONG_NIPPLE_CARE_MM, LONG_NIPPLE_MM = 1.0, 2.0, 3.0, 16.0
"""How far a spoke may be off, with care, and too short with nipples this long (common practice)."""
SIDES = ("left", "right")


@calculation(
    reads=(
        *("length_mm", "crosses_count", "nipple_length_mm", "rim.erd_mm", "rim.offset_mm", "hub.holes_count"),
        *("hub.flange_left_mm", "hub.flange_right_mm", "hub.hole_circle_left_mm", "hub.hole_circle_right_mm"),
        "hub.spoke_hole_mm",
    ),
    cares=("within-two", "long-nipple"),
)
def spoke_length(seen: Seen) -> Reckoned:
    """The length there is against `wheel.spoke_length_mm`: within 1 mm, 2 with care, 3 short with 16 mm nipples.

    An offset rim's holes stand off its middle toward the flange that is farther out.
    """
    (spokes,) = seen.parts()
    side = side_in(spokes.place) or SIDES[1]
    try:
        wanted = _wanted(seen, side)
    except Refusal as refusal:
        return Reckoned("conflicts", f"Hub, rim and spokes as entered make no wheel. {refusal.say}")
    there = seen.number("length_mm")
    off = there - wanted
    long_nipple = seen.number("nipple_length_mm", asked=False)
    with_long = Answer(2 - long_nipple.under(LONG_NIPPLE_MM))
    shorter = min(Answer(2 - off.under(-LONG_NIPPLE_CARE_MM)), off.under(-CARE_MM), with_long)
    bearable = max(Answer(2 - off.size().over(CARE_MM)), shorter)
    if bearable is Answer.UNKNOWN and not long_nipple.known:
        seen.number("nipple_length_mm")
    tight = _tight_side(seen) == side
    order = f"; {order_length_mm(wanted.low, tight_side=tight)} mm is the length to buy" if wanted.known else ""
    shown = f"The spokes are {said(there)}, the wheel wants {said(wanted)}{order}"
    return reckon(
        [Case(Answer(2 - bearable), f"{shown}.")],
        [
            Case(shorter, f"{shown}: too short, yet 16 mm nipples reach them. Every nipple fully up.", "long-nipple"),
            Case(off.size().over(MEETS_MM), f"{shown}: it can be built; look at the thread's ends.", "within-two"),
        ],
        f"{shown}.",
    )


def _wanted(seen: Seen, side: str) -> Span:
    """The length as far as it is known; with the crosses alone open, between radial and the most."""
    holes = seen.number("hub.holes_count")
    offset = _flange(seen, side)
    circle_and_rim = (seen.number(f"hub.hole_circle_{side}_mm"), offset, seen.number("rim.erd_mm"))
    facts = (*circle_and_rim, seen.number("hub.spoke_hole_mm"), holes)
    crosses = seen.number("crosses_count")
    if not all(each.known for each in facts):
        return SOME
    circle, flange, effective, hole, count = (each.low for each in facts)

    def length(times: float) -> float:
        return spoke_length_mm(
            Lacing(
                hole_circle_mm=circle,
                flange_offset_mm=flange,
                effective_rim_mm=effective,
                spoke_hole_mm=hole,
                spokes_count=round(count),
                crosses=round(times),
            )
        )

    if crosses.known:
        return exactly(length(crosses.low))
    return Span(length(0), length(round(count) // 8))


def _flange(seen: Seen, side: str) -> Span:
    """From the rim's holes to this flange, along the axle."""
    own = seen.number(f"hub.flange_{side}_mm")
    other = seen.number(f"hub.flange_{SIDES[side == SIDES[0]]}_mm")
    moved = seen.number("rim.offset_mm")
    if not (own.known and other.known and moved.known):
        return own if moved == exactly(0) else UNKNOWN
    if own.low == other.low:
        return own
    return own - moved if own.low > other.low else own + moved


def _tight_side(seen: Seen) -> str:
    """The side with the flange nearer the middle, whose spokes are the tighter."""
    left, right = (_flange(seen, side) for side in SIDES)
    return SIDES[0] if left.high < right.low else SIDES[1]
