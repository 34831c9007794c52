"""How much of a seat post or dropper stands in the frame at the rider's height, and how much must."""

from service.domain.calculation import Case, Reckoned, Seen, calculation, reckon
from service.domain.condition import Answer
from service.domain.span import SOME, Span, exactly, largest, said, smallest

BELOW_JOINT_MM = 50.0
"""So far a post reaches below the underside of the top tube's joint (common practice)."""
NOT_ROUND_MM = 65.0
"""Least insertion of a post that is not round (JIS D 9301)."""
CLOSE_TO_LINE_MM = 10.0


@calculation(
    reads=(
        *("length_mm", "length_wanted_mm", "exposed_mm", "min_insert_mm", "diameter_mm", "shape"),
        *("frame.post_depth_mm", "frame.joint_below_top_mm"),
    ),
    cares=("not-round", "too-long"),
)
def post_depth(seen: Seen) -> Reckoned:
    """Inside = length − exposed: at least the post's line, twice its diameter, 50 mm below the top tube's joint.

    Not round: 65 mm in place of twice the diameter. The law asks twice the diameter (16 CFR 1512.15).
    """
    length = seen.number("length_mm")
    wanted = seen.number("length_wanted_mm", asked=False)
    exposed = seen.number("exposed_mm")
    inside = (length if wanted == SOME else smallest([length, wanted])) - exposed
    least, depth = _least(seen), seen.number("frame.post_depth_mm")
    return reckon(
        [*_too_little(inside, least), Case(depth.under(least), _shallow(depth, least))],
        [
            Case(
                inside.over(depth),
                f"{said(inside)} would stand in the frame, which takes {said(depth)}: cut {said(inside - depth)} off "
                "its lower end, never above its line.",
                "too-long",
            ),
            Case(
                seen.says("shape", "other"),
                f"{said(inside)} inside, {said(least)} are needed: its own mark governs, as it is not round.",
                "not-round",
            ),
        ],
        f"{said(inside)} inside, {said(least)} are needed.",
        unknown=_waits(exposed, length, least),
    )


@calculation(
    reads=(
        *("length_mm", "exposed_mm", "min_insert_mm", "diameter_mm", "shape"),
        *("frame.post_depth_mm", "frame.joint_below_top_mm"),
    ),
)
def dropper_insertion(seen: Seen) -> Reckoned:
    """The same least length inside the frame for a dropper, which is never cut."""
    exposed, length = seen.number("exposed_mm"), seen.number("length_mm")
    inside = length - exposed
    least, depth = _least(seen), seen.number("frame.post_depth_mm")
    conflicts = [*_too_little(inside, least), Case(depth.under(least), _shallow(depth, least))]
    waits = _waits(exposed, length, least)
    return reckon(conflicts, [], f"{said(inside)} inside, {said(least)} are needed.", unknown=waits)


def _too_little(inside: Span, least: Span) -> list[Case]:
    return [Case(inside.under(least), f"{said(inside)} stand in the frame at the rider's height, {said(least)} must.")]


def _waits(exposed: Span, length: Span, least: Span) -> str:
    """What can be said before the rider's height is settled: how high the saddle may go with this post."""
    if exposed.known:
        return ""
    waits = "It is known once the rider's height is settled."
    if not length.known or least.low <= 0:
        return waits
    return f"{waits} Of its {said(length)}, {said(least)} must go in: {said(length - least.low)} may show, no more."


def _shallow(depth: Span, least: Span) -> str:
    return f"The seat tube takes {said(depth)} of post, {said(least)} must go in."


def _least(seen: Seen) -> Span:
    round_or_not = seen.says("shape", "other")
    by_size = seen.number("diameter_mm").times(2) if round_or_not is not Answer.YES else exactly(NOT_ROUND_MM)
    if round_or_not is Answer.UNKNOWN:
        by_size = Span(min(by_size.low, NOT_ROUND_MM), max(by_size.high, NOT_ROUND_MM))
    joint = seen.number("frame.joint_below_top_mm") + BELOW_JOINT_MM
    return largest([seen.number("min_insert_mm"), by_size, joint])


@calculation(
    reads=(
        *("length_mm", "exposed_mm", "insert_max_mm", "min_insert_mm", "bulge_mm"),
        *("frame.post_depth_mm", "frame.seatpost_mm"),
    ),
    cares=("tight-at-the-line",),
)
def dropper_depth(seen: Seen) -> Reckoned:
    """Inside = length − exposed: no deeper than the tube takes and the post may go; its actuator passes the bore.

    Within 10 mm of its line it needs care (common practice).
    """
    exposed, length = seen.number("exposed_mm"), seen.number("length_mm")
    inside = length - exposed
    depth, most = seen.number("frame.post_depth_mm"), seen.number("insert_max_mm")
    bulge, bore = seen.number("bulge_mm"), seen.number("frame.seatpost_mm")
    to_spare = inside - seen.number("min_insert_mm")
    return reckon(
        [
            Case(inside.over(depth), f"{said(inside)} have to go in, the tube takes {said(depth)}."),
            Case(inside.over(most), f"{said(inside)} have to go in, {said(most)} of it can."),
            Case(bulge.over(bore), f"It is {said(bulge)} thick below its tube, the bore is {said(bore)}."),
        ],
        [
            Case(
                to_spare.under(CLOSE_TO_LINE_MM),
                f"{said(inside)} inside, only {said(to_spare)} more than its line asks: no higher than this.",
                "tight-at-the-line",
            )
        ],
        f"{said(inside)} inside, the tube takes {said(depth)}.",
        unknown=_waits(exposed, length, seen.number("min_insert_mm")),
    )
