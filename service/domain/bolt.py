"""What a bolt of a size and class can take: proof loads of ISO 898-1 and the torque that reaches a share of them."""

import re

PROOF_N = {
    "M4": {"8.8": 5100, "10.9": 7290, "12.9": 8520},
    "M5": {"8.8": 8230, "10.9": 11800, "12.9": 13800},
    "M6": {"8.8": 11600, "10.9": 16700, "12.9": 19500},
    "M8": {"8.8": 21200, "10.9": 30400, "12.9": 35500},
    "M10": {"8.8": 33700, "10.9": 48100, "12.9": 56300},
    "M12": {"8.8": 48900, "10.9": 70000, "12.9": 81800},
    "M14": {"8.8": 66700, "10.9": 95500, "12.9": 112000},
}
"""Proof loads of coarse threads, newtons (ISO 898-1, as tabulated at
https://staging2.optimas.com/technical-resources/iso-metric-thread-proof-loads)."""

STRESS_AREA_MM2 = {"M4": 8.78, "M5": 14.2, "M6": 20.1, "M8": 36.6, "M10": 58.0, "M12": 84.3, "M14": 115.0}
"""Stress areas of coarse threads (ISO 898-1, as tabulated at http://www.ux.uis.no/~hirpa/6KdB/ME/StressArea.htm)."""

PITCH_MM = {"M4": 0.7, "M5": 0.8, "M6": 1.0, "M8": 1.25, "M10": 1.5, "M12": 1.75, "M14": 2.0}
PROOF_MPA = {"8.8": 580.0, "10.9": 830.0, "12.9": 970.0, "A2-70": 450.0, "A4-70": 450.0, "A4-80": 600.0}
"""Proof stress up to M16 (ISO 898-1); for stainless steel the 0.2 % proof stress (ISO 3506-1, as tabulated at
http://www.brassnutbolt.com/din/technical/information/tech_stainless_steel.html)."""

CLASSES = tuple(PROOF_MPA)
SHARE_OF_PROOF = 0.75
"""Preload of a joint that is opened again (Shigley, as at https://mechconcepts.tech/bolt-torque-calculation/)."""
OILED_K, DRY_K = 0.15, 0.20

_COARSE = re.compile(r"^\s*(M\d+)\s*(?:[x×]\s*(\d+(?:\.\d+)?))?\s*$")


def coarse_size(thread: str) -> str | None:
    """The size of a coarse metric thread ("M5", "M5 × 0.8" are "M5"); None for fine pitches and other threads."""
    read = _COARSE.match(thread)
    if read is None or read[1] not in PITCH_MM:
        return None
    pitch = float(read[2]) if read[2] else PITCH_MM[read[1]]
    return read[1] if abs(pitch - PITCH_MM[read[1]]) < 1e-9 else None


def proof_load_n(thread: str, bolt_class: str) -> float | None:
    """The load that a bolt must bear without setting, newtons; None for a thread or class that is not tabulated."""
    size = coarse_size(thread)
    if size is None or bolt_class not in PROOF_MPA:
        return None
    return PROOF_N[size].get(bolt_class) or STRESS_AREA_MM2[size] * PROOF_MPA[bolt_class]


def tightening_torque_nm(k: float, preload_n: float, diameter_mm: float) -> float:
    """T = K · F · d in N·m (Shigley, as at https://mechconcepts.tech/bolt-torque-calculation/)."""
    return k * preload_n * diameter_mm / 1000


def preload_n(k: float, torque_nm: float, diameter_mm: float) -> float:
    """The clamping force, newtons, that a torque gives: T = K · F · d turned round."""
    return torque_nm * 1000 / (k * diameter_mm)


def ceiling_nm(thread: str, bolt_class: str, k: float = DRY_K) -> float | None:
    """The torque that brings a steel bolt in steel to 75 % of its proof load, N·m; None for a thread not tabulated.

    Not for bolts into aluminium, plastic or carbon: there the tapped part or the clamped tube gives way first.
    """
    proof = proof_load_n(thread, bolt_class)
    size = coarse_size(thread)
    if proof is None or size is None:
        return None
    return tightening_torque_nm(k, SHARE_OF_PROOF * proof, float(size[1:]))
