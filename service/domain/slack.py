"""The chain's length over the largest ring and sprocket, and the slack that the rear derailleur takes up."""

from math import inf

from service.domain.calculation import Case, Reckoned, Seen, calculation, reckon
from service.domain.chain import PITCH_MM, links_exact, links_to_fit
from service.domain.condition import Answer
from service.domain.span import SOME, Span, exactly, largest, said, smallest
from service.errors import Refusal

BEYOND_TAUT_LINKS = 2.0
"""An inch more than the taut run past the derailleur (common practice)."""
FEWEST_LINKS = 60
"""Fewer fit no bicycle with a derailleur, so that saying so tells nobody anything."""
SHORT_BY_TEETH = 4.0
"""So much more slack than the cage takes up may be lived with (common practice)."""
TEETH_PER_MM, TEETH_OFF = 0.45, 3.0
"""A cage's capacity, guessed from the distance of its wheels (from memory)."""


@calculation(
    reads=(
        *("links_count", "chainring.ring_teeth", "cassette.smallest_teeth", "cassette.largest_teeth"),
        *("frame.chainstay_mm", "rear-derailleur.capacity_teeth", "rear-derailleur.cage_pivot_mm"),
    ),
    cares=("to-shorten", "slack-small"),
)
def chain_length(seen: Seen) -> Reckoned:
    """Links ≥ the taut run over largest ring and largest sprocket + 2, by the exact geometry of `chain.links_exact`.

    More than the next even number is cut off; slack beyond the cage's capacity is never ridden small on small.
    """
    links = seen.number("links_count")
    needed = _taut(seen) + BEYOND_TAUT_LINKS
    to_fit = needed.growing(links_to_fit)
    slack, takes_up = _differences(seen), _capacity(seen)
    never = "Never ride small ring on small sprocket: the cage cannot take up the slack."
    hangs = slack.over(takes_up)
    return reckon(
        [Case(links.under(needed), f"The chain has {said(links, 'links')}, {said(to_fit, '')} are needed.")],
        [
            Case(
                links.over(to_fit),
                f"{said(links, 'links')}, {said(to_fit, '')} are needed: cut {said(links - to_fit, '')} off and keep "
                f"them.{' ' + never if hangs is Answer.YES else ''}",
                "to-shorten",
            ),
            Case(hangs, never, "slack-small"),
        ],
        f"{said(links, 'links')}, as needed.",
        unknown=f"By what is known it needs {said(to_fit, 'links')}." if to_fit.low > FEWEST_LINKS else "",
    )


def _taut(seen: Seen) -> Span:
    ring = largest(seen.numbers("chainring.ring_teeth"))
    sprocket = largest(seen.numbers("cassette.largest_teeth"))
    stay = seen.number("frame.chainstay_mm")
    low = _links(ring.low, sprocket.low, stay.low)
    return Span(low, low if ring.known and sprocket.known and stay.known else inf)


def _links(ring: float, sprocket: float, stay_mm: float) -> float:
    """The taut run; where teeth are not known, or circles would overlap, no less than twice the axles' distance."""
    if min(ring, sprocket) < 3:
        return 2 * stay_mm / PITCH_MM
    try:
        return links_exact(round(ring), round(sprocket), stay_mm)
    except Refusal:
        return (ring + sprocket) / 2 + 2 * stay_mm / PITCH_MM


def _differences(seen: Seen) -> Span:
    """What ring and sprocket changes together let go, in teeth."""
    return _rings(seen) + _sprockets(seen)


def _rings(seen: Seen) -> Span:
    teeth = seen.numbers("chainring.ring_teeth")
    if len(teeth) == 1:
        return exactly(0)
    between = largest(teeth) - smallest(teeth)
    return Span(max(between.low, _apart([each for each in teeth if each.known])), between.high)


def _apart(teeth: list[Span]) -> float:
    return max((each.low for each in teeth), default=0.0) - min((each.low for each in teeth), default=0.0)


def _sprockets(seen: Seen) -> Span:
    largest_ones, smallest_ones = seen.numbers("cassette.largest_teeth"), seen.numbers("cassette.smallest_teeth")
    between = largest(largest_ones) - smallest(smallest_ones)
    return Span(max(0.0, between.low), between.high)


def _capacity(seen: Seen) -> Span:
    """The maker's figure, else the guess by the cage."""
    pivots = seen.number("rear-derailleur.cage_pivot_mm", asked=False)
    guess = pivots.times(TEETH_PER_MM) - TEETH_OFF if pivots.known else SOME
    return seen.number("rear-derailleur.capacity_teeth", asked=not pivots.known, unless=guess)


@calculation(
    reads=(
        *("capacity_teeth", "front_difference_max_teeth", "cage_pivot_mm"),
        *("chainring.ring_teeth", "cassette.smallest_teeth", "cassette.largest_teeth"),
    ),
    cares=("never-small-small", "unknown-guessed"),
)
def derailleur_capacity(seen: Seen) -> Reckoned:
    """(Largest ring − smallest) + (largest sprocket − smallest) ≤ capacity; the rings no further apart than its limit.

    Up to 4 teeth short need care. A capacity that nobody knows is guessed from the cage: that is care at best.
    """
    rings = _rings(seen)
    slack = rings + _sprockets(seen)
    capacity = seen.number("capacity_teeth", asked=False)
    if not capacity.known:
        return _guessed(seen, slack)
    apart = seen.number("front_difference_max_teeth") if rings.high > 0 else SOME
    excess = largest([slack - capacity, rings - apart]) if rings.high > 0 else slack - capacity
    shown = f"Rings and sprockets differ by {said(slack, 'teeth')}, the cage takes up {said(capacity, '')}"
    if slack.over(capacity) is not Answer.YES and excess.over(0) is Answer.YES:
        shown = f"The rings differ by {said(rings, 'teeth')}, the derailleur takes {said(apart, '')}"
    return reckon(
        [Case(excess.over(SHORT_BY_TEETH), f"{shown}.")],
        [
            Case(
                excess.over(0),
                f"{shown}: size the chain over large ring and large sprocket, and never ride small on small.",
                "never-small-small",
            )
        ],
        f"{shown}.",
    )


def _guessed(seen: Seen, slack: Span) -> Reckoned:
    pivots = seen.number("cage_pivot_mm")
    guess = pivots.times(TEETH_PER_MM) - TEETH_OFF if pivots.known else SOME
    seen.number("capacity_teeth")
    shown = f"Rings and sprockets differ by {said(slack, 'teeth')}; a cage of {said(pivots)} takes up about "
    shown += f"{said(guess, '')} (from memory)"
    if not pivots.known or slack.over(guess) is not Answer.NO:
        return Reckoned("not measured yet", f"{shown}: only the maker's figure decides." if pivots.known else "")
    return Reckoned("needs care", f"{shown}: look for the maker's figure, and try small on small.", "unknown-guessed")
