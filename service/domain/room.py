"""Room round the tyres and the pedals: gaps carried over to the tyre that is there, toe, ground, size of the wheel."""

from math import atan2, degrees, inf

from service.domain.bicycle import Placed
from service.domain.calculation import Case, Reckoned, Seen, calculation, reckon
from service.domain.clearance import Gap, new_gap_mm, section_height_mm
from service.domain.condition import Answer
from service.domain.span import Span, exactly, largest, said, smallest

GAP_MM, RACING_GAP_MM = 6.0, 4.0
"""Room at every point round a tyre (ISO 4210 family, from memory), and for a racing build (EN 14781)."""
LEAST_GAP_MM = 1.6
"""Less stops the wheel (16 CFR 1512.11)."""
ROUGH_CROWN_MM = 4.0
"""The least over a tyre on mixed surfaces and off-road (common practice)."""
CAGE_MEETS_MM, CAGE_CARE_MM = 4.0, 2.0
GUARD_MEETS_MM, GUARD_CARE_MM, OVER_GUARD_MM = 6.0, 3.0, 1.0
"""Under a mudguard, with care, and above it (common practice)."""
TOE_MM, TOE_HELD_MM, TOE_CARE_MM = 100.0, 89.0, 60.0
"""Pedal to front tyre, with the foot held, and the least (JIS D 9301; 16 CFR 1512.17; 60 from memory)."""
LEAN_DEG, LEAN_CARE_DEG = 25.0, 20.0
"""How far a bicycle leans before a pedal touches (16 CFR 1512.17)."""
OTHER_SIZE_MM = 10.0

GAP_TYRE, MARKED, ON_RIM = "gap_tyre_width_mm", "tyre.width_marked_mm", "tyre.width_on_rim_mm"


@calculation(reads=(GAP_TYRE, "gap_side_mm", MARKED, ON_RIM, "build.use"), cares=("narrow",))
def clearance_side(seen: Seen) -> Reckoned:
    """The gap beside the tyre that is there: 6 mm, 4 for racing, never under 1.6."""
    tyre = _width(seen)
    gap = _carried(seen.number("gap_side_mm"), seen.number(GAP_TYRE), tyre, "side")
    return _judged(seen, gap, LEAST_GAP_MM, f"beside a tyre of {said(tyre)}")


@calculation(reads=(GAP_TYRE, "gap_crown_mm", MARKED, ON_RIM, "build.use"), cares=("narrow",))
def clearance_crown(seen: Seen) -> Reckoned:
    """The gap over the tyre that is there: as beside it, and never under 4 mm on mixed surfaces and off-road."""
    tyre = _width(seen)
    gap = _carried(seen.number("gap_crown_mm"), seen.number(GAP_TYRE), tyre, "crown")
    rough = seen.says("build.use", "mixed", "off-road") is Answer.YES
    return _judged(seen, gap, ROUGH_CROWN_MM if rough else LEAST_GAP_MM, f"over a tyre of {said(tyre)}")


def _judged(seen: Seen, gap: Span, least: float, where: str) -> Reckoned:
    racing = seen.says("build.use", "road race", asked=False) is Answer.YES
    wanted = RACING_GAP_MM if racing else GAP_MM
    shown = f"{said(gap)} {where}, {wanted:g} mm are asked"
    return reckon(
        [Case(gap.under(least), f"{shown}, {least:g} mm at the very least.")],
        [Case(gap.under(wanted), f"{shown}: dry roads only, and a wheel that is kept true.", "narrow")],
        f"{shown}.",
    )


def _width(seen: Seen) -> Span:
    """As measured on this rim, else as marked."""
    measured = seen.number(ON_RIM, asked=False)
    return measured if measured.known else seen.number(MARKED)


def _carried(gap: Span, before: Span, tyre: Span, where: Gap) -> Span:
    """`clearance.new_gap_mm` of numbers that may not be known."""
    least = new_gap_mm(before.low, gap.low, tyre.high, where)
    return Span(least, new_gap_mm(before.high, gap.high, tyre.low, where))


def _height(width: Span) -> Span:
    """`clearance.section_height_mm` of a width that may not be known."""
    return width.growing(section_height_mm)


@calculation(reads=("frame.gap_fd_tyre_mm", f"frame.{GAP_TYRE}", MARKED, ON_RIM), cares=("close",))
def front_derailleur_tyre(seen: Seen) -> Reckoned:
    """Cage to tyre, carried over sideways and upwards, the less of the two: 4 mm, 2 with care (common practice)."""
    gap, before, tyre = seen.number("frame.gap_fd_tyre_mm"), seen.number(f"frame.{GAP_TYRE}"), _width(seen)
    left = smallest([_carried(gap, before, tyre, "side"), _carried(gap, before, tyre, "crown")])
    shown = f"{said(left)} between cage and tyre"
    return reckon(
        [Case(left.under(CAGE_CARE_MM), f"{shown}.")],
        [Case(left.under(CAGE_MEETS_MM), f"{shown}, 4 are good: it gathers mud; look after a wet ride.", "close")],
        f"{shown}.",
    )


@calculation(reads=("thickness_mm", "host.gap_crown_mm", f"host.{GAP_TYRE}", MARKED, ON_RIM), cares=("close",))
def guard_room(seen: Seen) -> Reckoned:
    """What is left under a mudguard below crown or bridge, 1 mm above it: 6 mm, 3 with care (common practice)."""
    gap = _carried(seen.number("host.gap_crown_mm"), seen.number(f"host.{GAP_TYRE}"), _width(seen), "crown")
    left = gap - seen.number("thickness_mm") - OVER_GUARD_MM
    shown = f"{said(left)} stay between tyre and guard, 6 are asked"
    return reckon(
        [Case(left.under(GUARD_CARE_MM), f"{shown}.")],
        [Case(left.under(GUARD_MEETS_MM), f"{shown}: clean roads only, looked at often.", "close")],
        f"{shown}.",
    )


@calculation(
    reads=(
        *("arm_length_mm", "frame.front_centre_mm", "tyre.bsd_mm", MARKED, ON_RIM),
        *("pedals.kind", "mudguards.thickness_mm", "mudguards.gap_tyre_mm"),
    ),
    cares=("overlap",),
)
def toe_room(seen: Seen) -> Reckoned:
    """Crank axle to front axle − arm − radius over tyre or guard, mm: 100, 89 where the foot is held; never under 60.

    The least distance of the two circles (geometry): wheel and crank at their worst angle.
    """
    outside = _radius(seen) + _guard(seen)
    room = seen.number("frame.front_centre_mm") - seen.number("arm_length_mm") - outside
    held = seen.says("pedals.kind", "clip_in") if seen.parts("pedals") else Answer.NO
    wanted = {Answer.YES: exactly(TOE_HELD_MM), Answer.NO: exactly(TOE_MM)}.get(held, Span(TOE_HELD_MM, TOE_MM))
    shown = f"{said(room)} from pedal to front wheel"
    return reckon(
        [Case(room.under(TOE_CARE_MM), f"{shown}.")],
        [
            Case(
                room.under(wanted),
                f"{shown}, {said(wanted)} are asked: the foot can touch in a slow, tight turn. Tell the rider.",
                "overlap",
            )
        ],
        f"{shown}, {said(wanted)} are asked.",
    )


def _radius(seen: Seen, of: Placed | None = None) -> Span:
    width = seen.number(ON_RIM, of, asked=False)
    width = width if width.known else seen.number(MARKED, of)
    return seen.number("tyre.bsd_mm", of).times(0.5) + _height(width)


def _guard(seen: Seen) -> Span:
    """How far a front mudguard stands outside the tyre."""
    guards = seen.parts("mudguards", end="front")
    if not guards:
        return exactly(0)
    names = ("mudguards.gap_tyre_mm", "mudguards.thickness_mm")
    return largest([seen.number(names[0], each) + seen.number(names[1], each) for each in guards])


@calculation(
    reads=(
        *("half_width_mm", "below_axle_mm", "crankset.arm_length_mm", "crankset.arms_width_mm"),
        *("frame.bb_drop_mm", "tyre.bsd_mm", MARKED, ON_RIM),
    ),
    cares=("low",),
)
def pedal_ground(seen: Seen) -> Reckoned:
    """Lean before a pedal touches: atan(height of its lower edge ÷ half the width over both), its crank lowest.

    Height = tyre radius − drop of the shell − arm − pedal below its axle: 25°, 20 with care (16 CFR 1512.17; geometry).
    """
    radius = smallest([_radius(seen, each) for each in seen.parts("tyre", end="rear") or seen.parts("tyre")])
    drop = seen.number("frame.bb_drop_mm", unless=Span(-inf, inf))
    height = radius - drop - seen.number("crankset.arm_length_mm") - seen.number("below_axle_mm")
    half = seen.number("crankset.arms_width_mm").times(0.5) + seen.number("half_width_mm")
    lean = _lean(height, half)
    shown = f"The lower pedal touches at a lean of {said(lean, 'degrees')}, 25 are asked"
    return reckon(
        [Case(lean.under(LEAN_CARE_DEG), f"{shown}.")],
        [Case(lean.under(LEAN_DEG), f"{shown}: do not pedal through turns.", "low")],
        f"{shown}.",
    )


def _lean(height: Span, half: Span) -> Span:
    low_half = half.low if height.low < 0 else half.high
    high_half = half.high if height.high < 0 else half.low
    return Span(_angle(height.low, low_half), _angle(height.high, high_half))


def _angle(height: float, half: float) -> float:
    if half == inf:
        return -90.0 if height == -inf else 90.0 if height == inf else 0.0
    return degrees(atan2(height, half))


@calculation(
    reads=("bsd_mm", "width_marked_mm", "width_on_rim_mm", "host.wheel_bsd_mm", f"host.{GAP_TYRE}"),
    cares=("over-ten",),
)
def overall_diameter(seen: Seen) -> Reckoned:
    """The wheel over its tyre against the one that frame or fork was measured with: within 10 mm (ISO 5775-1 sizes)."""
    measured = seen.number("width_on_rim_mm", asked=False)
    width = measured if measured.known else seen.number("width_marked_mm")
    now = seen.number("bsd_mm") + _height(width).times(2)
    before = seen.number("host.wheel_bsd_mm") + _height(seen.number(f"host.{GAP_TYRE}")).times(2)
    shown = f"{said(now)} over the tyre, {said(before)} over the one it replaces"
    say = f"{shown}: height of the bottom bracket, toe room and the computer's roll-out change with it."
    return reckon([], [Case((now - before).size().over(OTHER_SIZE_MM), say, "over-ten")], f"{shown}.")
