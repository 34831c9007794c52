"""How many links a chain needs: the usual approximation, and the exact geometry of a taut run over two sprockets."""

from math import asin, ceil, cos, pi, sin

from service.errors import Refusal

PITCH_MM = 12.7
"""Half an inch, every bicycle chain's pitch."""


def links_approximate(ring_teeth: int, sprocket_teeth: int, chainstay_mm: float) -> float:
    """Pitches of a taut run: 2C + (N + n)/2 + ((N − n)/2π)²/C, C in pitches.

    Machine design textbooks give it, such as Budynas and Nisbett, Shigley's Mechanical Engineering Design, ch. 17.
    """
    centre = chainstay_mm / PITCH_MM
    return 2 * centre + (ring_teeth + sprocket_teeth) / 2 + ((ring_teeth - sprocket_teeth) / (2 * pi)) ** 2 / centre


def links_exact(ring_teeth: int, sprocket_teeth: int, chainstay_mm: float) -> float:
    """Pitches of a taut run by the geometry of two pitch circles, r = 1/(2 sin(π/n)) in pitches.

    Raises Refusal where the two circles do not stand clear of one another.
    """
    centre = chainstay_mm / PITCH_MM
    large, small = max(ring_teeth, sprocket_teeth), min(ring_teeth, sprocket_teeth)
    outer, inner = _pitch_radius(large), _pitch_radius(small)
    if centre <= outer + inner:
        least = (outer + inner) * PITCH_MM
        raise Refusal(
            f"Ring and sprocket would overlap: their pitch circles need more than {least:.0f} mm between the axles.",
            errors=[("/chainstay_mm", f"over {least:.0f}, the distance from bottom bracket to rear axle in mm")],
        )
    lean = asin((outer - inner) / centre)
    return 2 * centre * cos(lean) + small * (pi - 2 * lean) / (2 * pi) + large * (pi + 2 * lean) / (2 * pi)


def _pitch_radius(teeth: int) -> float:
    return 1 / (2 * sin(pi / teeth))


def links_to_fit(links: float) -> int:
    """The next even whole number that is not shorter: a chain closes only on an inner and an outer link."""
    return 2 * ceil(links / 2 - 1e-9)


def links_past_derailleur(ring_teeth: int, sprocket_teeth: int, chainstay_mm: float) -> int:
    """Links over the largest ring and sprocket past the derailleur: the taut run and one inch more, made even.

    Two links of half an inch (common practice: round both, past the derailleur, and one inch). Raises as `links_exact`.
    """
    return links_to_fit(links_exact(ring_teeth, sprocket_teeth, chainstay_mm) + 2)


def slack_teeth(links: float, ring_teeth: int, sprocket_teeth: int, chainstay_mm: float) -> float:
    """What a derailleur must take up on this ring and sprocket, in teeth, as its capacity is counted.

    Two teeth for each link that hangs loose, less the two links that it keeps when the chain is tightest: exactly the
    differences of teeth where a chain has no link too many. Raises as `links_exact`.
    """
    return 2 * (links - 2 - links_exact(ring_teeth, sprocket_teeth, chainstay_mm))
