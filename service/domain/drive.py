"""What turns the rear wheel: rings, sprockets, hub gears and the wheel itself, as far as they are known."""

from dataclasses import dataclass

from service.domain.bicycle import Placed
from service.domain.inputs import Reader
from service.domain.tyre import circumference_mm

SEATS = ("inner", "middle", "outer")
CASSETTE_ROLES = ("cassette", "screw-on-freewheel")


@dataclass(frozen=True, slots=True)
class Drive:
    """Rings and sprockets from small to large; hub gears from low to high, none without such a hub.

    `every_ring` is false where the teeth of one are not known; `every_sprocket`, `every_hub_gear` where only the first
    and the last are.
    """

    rings: tuple[int, ...]
    every_ring: bool
    sprockets: tuple[int, ...]
    every_sprocket: bool
    hub_ratios: tuple[float, ...]
    every_hub_gear: bool
    derailleur: bool
    hub: Placed | None


def read_drive(reader: Reader) -> Drive:
    """The drive of a bicycle; what is not known of it is missed."""
    hub = next((each for each in reader.parts("hub") if each.slot == "internal-gear-hub"), None)
    sprockets, every_sprocket = _sprockets(reader, hub)
    ratios, every_gear = _hub_gears(reader, hub)
    derailleur = len(sprockets) > 1 or any(each.slot in CASSETTE_ROLES for each in reader.parts("cassette"))
    rings, every_ring = _rings(reader)
    return Drive(rings, every_ring, sprockets, every_sprocket, ratios, every_gear, derailleur, hub)


def _rings(reader: Reader) -> tuple[tuple[int, ...], bool]:
    rings = reader.parts("chainring")
    teeth = [reader.whole(ring, "ring_teeth") for ring in rings]
    wanted = reader.whole(reader.one("crankset"), "rings_count", asked=False) or 1
    if len(rings) < wanted:
        reader.misses("chainring", "ring_teeth")
    known = [each for each in teeth if each is not None]
    return tuple(sorted(set(known))), bool(known) and len(known) >= max(wanted, len(rings))


def _sprockets(reader: Reader, hub: Placed | None) -> tuple[tuple[int, ...], bool]:
    for each in reader.parts("cassette"):
        if each.slot in CASSETTE_ROLES:
            return _pile(reader, each)
    single = reader.one("single-sprocket")
    if hub is None and single is None:
        reader.misses("cassette", "largest_teeth")
        return (), True
    teeth = reader.whole(single or hub, "sprocket_teeth")
    return (teeth,) if teeth is not None else (), True


def _pile(reader: Reader, cassette: Placed) -> tuple[tuple[int, ...], bool]:
    """Every sprocket of a cassette or freewheel where they are entered, else its smallest and largest."""
    every = reader.numbers(cassette, "sprockets_teeth", asked=False)
    if every and all(each == int(each) for each in every):
        return tuple(sorted({int(each) for each in every})), True
    ends = {reader.whole(cassette, key) for key in ("smallest_teeth", "largest_teeth")} - {None}
    count = reader.whole(cassette, "sprockets_count", asked=False)
    known = tuple(sorted(each for each in ends if each is not None))
    complete = count is not None and len(known) == count
    if not complete:
        reader.numbers(cassette, "sprockets_teeth")
    return known, complete


def _hub_gears(reader: Reader, hub: Placed | None) -> tuple[tuple[float, ...], bool]:
    if hub is None:
        return (), True
    every = reader.numbers(hub, "gears_ratio", asked=False)
    if every:
        return tuple(sorted(set(every))), True
    ends = {reader.number(hub, key, least=0.01) for key in ("low_ratio", "high_ratio")} - {None}
    count = reader.whole(hub, "gears_count", asked=False)
    known = tuple(sorted(each for each in ends if each is not None))
    complete = count is not None and len(known) == count
    if not complete:
        reader.numbers(hub, "gears_ratio")
    return known, complete


def rear_circumference_mm(reader: Reader) -> float | None:
    """Once round the rear wheel, mm, from its tyre's size; the width on its rim where it is measured."""
    tyre = next((each for each in reader.parts("tyre") if "rear" in reader.around.ends(each).names), None)
    if tyre is None:
        reader.misses("tyre", "bsd_mm", "rear")
        return None
    bead = reader.number(tyre, "bsd_mm", least=100)
    width = reader.number(tyre, "width_on_rim_mm", least=5, asked=False)
    width = width if width is not None else reader.number(tyre, "width_marked_mm", least=5)
    return circumference_mm(bead, width) if bead is not None and width is not None else None
