"""Whether a steerer has the length for what stands on it: head tube, headset, spacers, stem or locknut."""

from service.domain.calculation import Case, Reckoned, Seen, calculation, reckon
from service.domain.condition import Answer
from service.domain.span import Span, exactly, said

TOP_GAP_MM = 3.0
"""So far below the top of stem or top spacer the steerer ends (2 to 5, common practice)."""
SPACERS_CARBON_MM, SPACERS_METAL_MM = 30.0, 40.0
"""The most under a stem where the fork's papers say nothing (common practice)."""
BARE_MM = -2.0
LOCKNUT_LEAST_MM, LOCKNUT_MOST_MM = -4.0, -1.0
"""Between which the steerer ends below the top of the locknut (common practice)."""
THREAD_TO_SPARE_MM = 5.0


@calculation(
    reads=(
        *("fork.steerer_length_mm", "fork.steerer_material", "fork.spacer_limit_mm", "frame.head_tube_length_mm"),
        *("stack_upper_mm", "stack_lower_mm", "stem.clamp_height_mm"),
    ),
    cares=("to-cut", "bare", "top-spacer"),
)
def steerer_stack(seen: Seen) -> Reckoned:
    """Spacers = steerer − head tube − upper and lower stack − stem's clamp + 3, mm: from nothing to the limit.

    Down to −2 it works bare; the limit is the fork's, else 30 on carbon and 40 on metal (common practice).
    """
    spacers = _above_head_tube(seen) - seen.number("stem.clamp_height_mm") + TOP_GAP_MM
    carbon = seen.says("fork.steerer_material", "carbon")
    limit = seen.number("fork.spacer_limit_mm", asked=False, unless=_limit(carbon))
    room = "; keep 5 mm of them for above the stem, as the steerer is carbon" if carbon is Answer.YES else ""
    return reckon(
        [Case(spacers.under(BARE_MM), f"The steerer is {said(exactly(0) - spacers)} too short for a full clamp.")],
        [
            Case(
                spacers.over(limit),
                f"{said(spacers)} of spacers would stand under the stem, {said(limit)} at most{room}: cut "
                f"{said(spacers - limit)} or more, only after riding at the chosen height.",
                "to-cut",
            ),
            Case(spacers.under(0), f"No spacer fits: {said(exactly(0) - spacers)} short of the usual gap.", "bare"),
            Case(
                carbon,
                f"{said(spacers)} of spacers: put one of 5 mm above the stem, so that it clamps on full carbon.",
                "top-spacer",
            ),
        ],
        f"{said(spacers)} of spacers fill the steerer, {said(limit)} at most.",
        unknown=_so_far(spacers),
    )


def _above_head_tube(seen: Seen) -> Span:
    stacks = seen.number("stack_upper_mm") + seen.number("stack_lower_mm")
    return seen.number("fork.steerer_length_mm") - seen.number("frame.head_tube_length_mm") - stacks


def _limit(carbon: Answer) -> Span:
    if carbon is Answer.UNKNOWN:
        return Span(SPACERS_CARBON_MM, SPACERS_METAL_MM)
    return exactly(SPACERS_CARBON_MM if carbon is Answer.YES else SPACERS_METAL_MM)


def _so_far(spacers: Span) -> str:
    words = said(spacers)
    return "" if words == "not known" else f"By what is known there are {words} of spacers."


@calculation(
    reads=(
        *("fork.steerer_length_mm", "fork.steerer_thread_mm", "frame.head_tube_length_mm"),
        *("stack_upper_mm", "stack_lower_mm"),
    ),
    cares=("spacers-or-cut",),
)
def threaded_stack(seen: Seen) -> Reckoned:
    """The steerer's end against the top of the locknut, −4 to −1 mm; the thread 5 mm longer than the upper stack.

    Common practice, no source.
    """
    end = _above_head_tube(seen)
    below = said(exactly(0) - end)
    needed = seen.number("stack_upper_mm") + THREAD_TO_SPARE_MM
    thread = seen.number("fork.steerer_thread_mm")
    return reckon(
        [
            Case(end.under(LOCKNUT_LEAST_MM), f"The steerer ends {below} below the top of the locknut."),
            Case(thread.under(needed), f"{said(thread)} are threaded, {said(needed)} are needed."),
        ],
        [
            Case(
                end.over(LOCKNUT_MOST_MM),
                f"The steerer stands {said(end - LOCKNUT_MOST_MM)} too high: keyed spacers of that height under the "
                "locknut, or a cut with a nut run on first.",
                "spacers-or-cut",
            )
        ],
        f"The steerer ends {below} below the top of the locknut.",
    )
