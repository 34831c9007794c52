"""Whether front and rear of the drive go together: chainline, index shifting, the front derailleur and its rings."""

from service.domain.calculation import Case, Reckoned, Seen, calculation, reckon
from service.domain.condition import Answer
from service.domain.span import Span, largest, said, smallest

LINE_MEETS_MM, LINE_CARE_MM = 3.0, 6.0
"""How far front and rear chainline may lie apart with a derailleur (common practice)."""
INDEX_MEETS_MM, INDEX_CARE_MM = 0.5, 1.0
"""The error at the end sprockets that indexing bears, and that it bears with care (from memory)."""
RING_CARE_TEETH = 2.0
CAGE_MEETS_MM, CAGE_CARE_MM = 2.0, 4.0
"""How far the cage's chainline may lie from the crank's (common practice)."""


@calculation(
    reads=("chainline_mm", "hub.old_mm", "hub.locknut_to_smallest_mm", "cassette.stack_mm"), cares=("off-line",)
)
def chainline(seen: Seen) -> Reckoned:
    """Front against rear = width over the locknuts ÷ 2 − locknut to smallest sprocket − pile ÷ 2, mm.

    Up to 3 mm apart meets, up to 6 needs care (common practice). Hub gears and single sprockets have their own joins.
    """
    front = seen.number("chainline_mm")
    middle = seen.number("hub.locknut_to_smallest_mm") + seen.number("cassette.stack_mm").times(0.5)
    rear = seen.number("hub.old_mm").times(0.5) - middle
    apart = (front - rear).size()
    shown = f"Front {said(front)}, rear {said(rear)}: {said(apart)} apart"
    return reckon(
        [Case(apart.over(LINE_CARE_MM), f"{shown}.")],
        [
            Case(
                apart.over(LINE_MEETS_MM),
                f"{shown}: a longer or shorter spindle, or a spacer, brings them nearer; listen on the outer pair.",
                "off-line",
            )
        ],
        f"{shown}.",
    )


@calculation(
    reads=(
        *("index_family", "pull_per_click_mm", "rear-derailleur.index_family", "rear-derailleur.shift_ratio"),
        *("cassette.sprocket_pitch_mm", "cassette.sprockets_count"),
    ),
    cares=("family-not-known", "families-differ", "small-error"),
)
def shift_index(seen: Seen) -> Reckoned:
    """Equal marks meet; where pull × ratio is known, its error at the end sprockets decides.

    Error = |pitch − pull × ratio| × (sprockets − 1) ÷ 2, as it builds up from the middle (arithmetic).
    """
    same, error = _same_family(seen), _index_error(seen)
    at_the_end = f"Clicks and derailleur are {said(error)} off at the end sprockets"
    if error.known and error.over(INDEX_CARE_MM) is Answer.YES:
        return Reckoned("conflicts", f"{at_the_end}.")
    if error.known and error.over(INDEX_MEETS_MM) is Answer.YES:
        return Reckoned("needs care", f"{at_the_end}: try every sprocket under load.", "small-error")
    if same is Answer.NO and not error.known:
        return Reckoned("conflicts", "The marks of shifter and derailleur differ, and their pull is not measured.")
    if same is Answer.UNKNOWN:
        say = f"{at_the_end}, and no" if error.known else "No"
        return Reckoned("needs care", f"{say} mark tells whether they belong together: try them.", "family-not-known")
    if same is Answer.NO:
        return Reckoned("needs care", f"The marks differ, yet {at_the_end.lower()}: try them.", "families-differ")
    return Reckoned("meets", f"{at_the_end}." if error.known else "Their marks are equal.")


def _same_family(seen: Seen) -> Answer:
    mine, theirs = seen.word("index_family"), seen.word("rear-derailleur.index_family")
    if mine is None or theirs is None:
        return Answer.UNKNOWN
    return Answer.YES if mine.strip().lower() == theirs.strip().lower() else Answer.NO


def _index_error(seen: Seen) -> Span:
    """Known only where all of its facts are; the marks may be enough, so none of them is asked for."""
    pull, ratio = (seen.number(f, asked=False) for f in ("pull_per_click_mm", "rear-derailleur.shift_ratio"))
    pitch = seen.number("cassette.sprocket_pitch_mm", asked=False)
    count = seen.number("cassette.sprockets_count", asked=False)
    if not (pull.known and ratio.known and pitch.known and count.known):
        return Span(0.0, float("inf"))
    return (pitch - pull.times(ratio.low)).size().times((count.low - 1) / 2) if count.low > 1 else Span(0.0, 0.0)


@calculation(
    reads=(
        *("largest_ring_min_teeth", "largest_ring_max_teeth", "capacity_teeth", "rings_count", "chainline_mm"),
        *("chainring.ring_teeth", "crankset.rings_count", "crankset.chainline_mm"),
    ),
    cares=("near", "chainline"),
)
def front_derailleur_rings(seen: Seen) -> Reckoned:
    """As many rings as it shifts, the largest within its range, their difference within its capacity, both in line.

    Two teeth outside the range, or 2 to 4 mm out of line, need care (common practice).
    """
    teeth = seen.numbers("chainring.ring_teeth")
    big, apart = largest(teeth), largest(teeth) - smallest(teeth)
    low, high = seen.number("largest_ring_min_teeth"), seen.number("largest_ring_max_teeth")
    outside = largest([low - big, big - high])
    capacity = seen.number("capacity_teeth")
    made_for, there = seen.number("rings_count"), seen.number("crankset.rings_count")
    line = (seen.number("chainline_mm") - seen.number("crankset.chainline_mm")).size()
    unlike = f"It shifts {said(made_for, '')} rings, there are {said(there, '')}."
    shown = f"The largest ring has {said(big, 'teeth')}, the cage is for {said(low, '')} to {said(high, '')}"
    return reckon(
        [
            Case((made_for - there).size().over(0), unlike),
            Case(outside.over(RING_CARE_TEETH), f"{shown}."),
            Case(apart.over(capacity), f"The rings differ by {said(apart, 'teeth')}, it takes {said(capacity, '')}."),
            Case(line.over(CAGE_CARE_MM), f"Cage and rings lie {said(line)} apart sideways."),
        ],
        [
            Case(outside.over(0), f"{shown}: set the cage 1 to 3 mm over the ring and try each shift.", "near"),
            Case(
                line.over(CAGE_MEETS_MM),
                f"Cage and rings lie {said(line)} apart sideways: it may not reach one of them.",
                "chainline",
            ),
        ],
        f"{shown}; the rings differ by {said(apart, 'teeth')}.",
    )


@calculation(reads=("sprocket_teeth", "min_primary_ratio", "chainring.ring_teeth"), cares=("at-the-limit",))
def hub_gear_ratio(seen: Seen) -> Reckoned:
    """The smallest ring ÷ the hub's sprocket ≥ the least ratio of its sheet; with a tooth less it would not be.

    From memory; the hub's sheet governs.
    """
    ring = smallest(seen.numbers("chainring.ring_teeth"))
    sprocket, least = seen.number("sprocket_teeth"), seen.number("min_primary_ratio")
    needed = Span(sprocket.low * least.low, _product(sprocket.high, least.high))
    shown = f"Ring {said(ring, '')}, at least {said(needed, 'teeth')} are asked with this sprocket"
    return reckon(
        [Case(ring.under(needed), f"{shown}.")],
        [Case((ring - 1).under(needed), f"{shown}: no smaller ring, no larger sprocket.", "at-the-limit")],
        f"{shown}.",
    )


def _product(one: float, other: float) -> float:
    return one * other if one and other else 0.0
