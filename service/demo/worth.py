"""What the parts of the demo cost and weigh: said for most of them, for some nobody knows."""

from collections.abc import Mapping
from typing import NamedTuple

from service.demo.scene import Wanted
from service.schemas.fields import Money
from service.schemas.parts import PartSent


class Worth(NamedTuple):
    """Cents paid, cents as new, and g by the maker; None where nobody knows."""

    paid: int | None = None
    as_new: int | None = None
    claimed_g: float | None = None


RIDDEN: Mapping[str, Worth] = {
    "frame": Worth(24000, 29000, 2310),
    "fork": Worth(6500, 7900, 990),
    "headset": Worth(2200, 2600, 148),
    "stem": Worth(1800, 2200, 158),
    "handlebar": Worth(1900, 2400, 272),
    "spacers": Worth(200, 200, 4),
    "grips": Worth(1200, 1400, 112),
    "seatpost": Worth(1900, 2300, 286),
    "seat-clamp": Worth(500, 700),
    "saddle": Worth(3900, 4500, 384),
    "bottom-bracket": Worth(1900, 2400, 266),
    "crankset": Worth(3900, 5200, 624),
    "chainring": Worth(1400, 1700, 74),
    "pedals": Worth(1900, 2400, 382),
    "chain": Worth(1500, 1800, 298),
    "cassette@rear": Worth(2200, 2700, 334),
    "rear-derailleur": Worth(2900, 3600, 322),
    "shifter": Worth(1600, 2100, 132),
    "hub@front": Worth(2400, None, 258),
    "hub@rear": Worth(3200, None, 476),
    "rim": Worth(2900, 3400, 612),
    "spokes": Worth(None, None, 116),
    "tyre": Worth(2600, 3200, 718),
    "tube": Worth(600, 700, 138),
    "rotor": Worth(1200, 1500, 114),
    "axle": Worth(700, None, 58),
    "brake-lever": Worth(900, 1200, 94),
    "cable-disc-caliper": Worth(2600, 3200, 188),
    "brake-pads": Worth(900, 1000, 24),
    "lights-and-bell": Worth(5900, 6500, 236),
}
"""The town bicycle and the tourer: nobody kept the bills of wires and spokes."""

MIXED: Mapping[str, Worth] = {
    "frame": Worth(as_new=52000),
    "fork": Worth(as_new=16500),
    "headset": Worth(as_new=3900, claimed_g=142),
    "bottom-bracket": Worth(as_new=2900, claimed_g=92),
    "cassette@rear": Worth(as_new=5900, claimed_g=360),
    "chain": Worth(as_new=2700),
    "rear-derailleur": Worth(as_new=6400, claimed_g=289),
    "front-derailleur": Worth(as_new=2900, claimed_g=112),
    "shifter@right": Worth(as_new=3900),
    "hub@front": Worth(as_new=4500),
    "hub@rear": Worth(as_new=6900),
    "rim": Worth(as_new=5500, claimed_g=555),
    "spokes": Worth(as_new=1000),
    "tyre": Worth(as_new=4400, claimed_g=580),
    "rotor": Worth(as_new=1800, claimed_g=118),
    "cable-disc-caliper": Worth(as_new=4900),
    "saddle": Worth(as_new=6900),
    "stem": Worth(as_new=2600),
}
"""The mixed-surface bicycle, beside what was paid: what else it weighs, the scale tells."""


def worth_of(parts: Wanted, table: Mapping[str, Worth]) -> Wanted:
    """The same parts with what is known of their worth: by their place, else by their category."""
    return {key: _worth(sent, table.get(key) or table.get(key.partition("@")[0])) for key, sent in parts.items()}


def _worth(sent: PartSent, worth: Worth | None) -> PartSent:
    if worth is None:
        return sent
    known = {
        "price": sent.price or _euros(worth.paid),
        "price_new": sent.price_new or _euros(worth.as_new),
        "mass_claimed_g": worth.claimed_g,
    }
    return sent.model_copy(update={key: each for key, each in known.items() if each is not None})


def _euros(minor: int | None) -> Money | None:
    return None if minor is None else Money(minor=minor, currency="EUR")
