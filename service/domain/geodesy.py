"""How far it is between two places on the earth: metres on the ellipsoid WGS 84."""

from math import hypot, pi, sin, sqrt

from geographiclib.geodesic import Geodesic

EQUATOR_M = 6_378_137.0
"""The larger half axis of WGS 84; GPX 1.1 gives places on this ellipsoid."""
FLATTENING = 1 / 298.257223563
SQUARED_ECCENTRICITY = FLATTENING * (2 - FLATTENING)
NEAR_DEG = 0.008
"""Steps under it, some 900 m, go by the curvature at their middle: right to a hundredth of a millimetre."""
NEAR_POLE = 0.9998
"""The sine of some 89 degrees: nearer the pole the meridians run together too fast for the short way."""
RADIANS = pi / 180


def distance_m(latitude: float, longitude: float, to_latitude: float, to_longitude: float) -> float:
    """The shortest way between two places in degrees, metres.

    Long steps by the method of C. F. F. Karney (https://doi.org/10.1007/s00190-012-0578-z), short ones by the radii of
    curvature, which do not cancel to nothing where two places almost coincide.
    """
    up, along = to_latitude - latitude, to_longitude - longitude
    if not -180 <= along <= 180:
        along = (along + 180) % 360 - 180  # the short way round: from 179.9 to -179.9 is 0.2
    middle = (latitude + to_latitude) / 2
    rise = sin(middle * RADIANS)
    level = sqrt(1 - rise * rise)
    if not (-NEAR_DEG < up < NEAR_DEG and -NEAR_DEG < along * level < NEAR_DEG and -NEAR_POLE < rise < NEAR_POLE):
        metres: float = Geodesic.WGS84.Inverse(latitude, longitude, to_latitude, to_longitude, Geodesic.DISTANCE)["s12"]
        return metres
    flat = 1 - SQUARED_ECCENTRICITY * rise * rise
    across = EQUATOR_M / sqrt(flat) * RADIANS
    return hypot(up * across * (1 - SQUARED_ECCENTRICITY) / flat, along * across * level)
