"""Conversions between the units that people read off parts and tools and the ones that are kept here.

Every factor follows from exact definitions: 1 lbf = 0.45359237 kg × 9.80665 m/s², 1 in = 25.4 mm, 1 ft = 12 in and
1 bar = 100 kPa
(NIST SP 811, Appendix B.8, https://www.nist.gov/pml/special-publication-811/nist-guide-si-appendix-b-conversion-factors).
"""

import re

POUND_FORCE_N = 0.45359237 * 9.80665
KILOGRAM_FORCE_N = 9.80665
INCH_M = 0.0254

NM_PER = {
    "N·m": 1.0,
    "lbf·in": POUND_FORCE_N * INCH_M,
    "lbf·ft": POUND_FORCE_N * 12 * INCH_M,
    "kgf·cm": KILOGRAM_FORCE_N * 0.01,
    "kgf·m": KILOGRAM_FORCE_N,
}

_SPELT = {
    "nm": "N·m",
    "lbfin": "lbf·in",
    "inlbf": "lbf·in",
    "inlb": "lbf·in",
    "inlbs": "lbf·in",
    "lbin": "lbf·in",
    "lbfft": "lbf·ft",
    "ftlbf": "lbf·ft",
    "ftlb": "lbf·ft",
    "ftlbs": "lbf·ft",
    "lbft": "lbf·ft",
    "kgfcm": "kgf·cm",
    "kgcm": "kgf·cm",
    "kgfm": "kgf·m",
}
_PRINTED = re.compile(
    r"^\s*(max\.?\s*)?(\d+(?:\.\d+)?)(?:\s*(?:-|–|to)\s*(\d+(?:\.\d+)?))?\s*([A-Za-z][A-Za-z.·\s-]*)$"
)


def km(metres: int) -> float:
    """Kilometres of whole metres."""
    return metres / 1000


def metres(km: float) -> int:
    """Whole metres of kilometres, to the nearest."""
    return round(km * 1000)


def newton_metres(torque: float, unit: str) -> float:
    """A torque in N·m; the unit is a key of NM_PER (KeyError else)."""
    return torque * NM_PER[unit]


def torque_in(torque_nm: float, unit: str) -> float:
    """A torque given in N·m, in another unit of NM_PER."""
    return torque_nm / NM_PER[unit]


def printed_torque(text: str) -> tuple[float | None, float] | None:
    """A torque as printed ("71–88 lbf·in", "max 5 Nm") as (low, high) in N·m; None where it cannot be read.

    There is no low where one figure or a maximum stands.
    """
    read = _PRINTED.match(text)
    if read is None:
        return None
    unit = _SPELT.get(re.sub(r"[^a-z]", "", read[4].lower()))
    if unit is None:
        return None
    first = newton_metres(float(read[2]), unit)
    if read[3] is None:
        return None, first
    return first, newton_metres(float(read[3]), unit)
