"""An invented bicycle with every fact that a computation asks for, and ways to change one of them."""

from dataclasses import replace
from typing import Any
from uuid import UUID

from service.domain.bicycle import Bicycle, SpecFact
from service.domain.procedure import Library
from tests.domain.bicycles import spec
from tests.domain.mixed_bicycle import MixedBicycle

SPROCKETS = [11, 12, 13, 15, 17, 19, 22, 25, 28, 34]
FACTS: dict[str, dict[str, Any]] = {
    "frame": {
        "chainstay_mm": 430, "stack_mm": 580, "reach_mm": 380, "head_angle_deg": 72, "seat_angle_deg": 73,
        "seat_tube_length_mm": 500, "head_tube_length_mm": 150, "front_centre_mm": 610, "bb_drop_mm": 70,
        "gap_tyre_width_mm": 38, "gap_side_mm": 9, "gap_crown_mm": 12, "gap_fd_tyre_mm": 8,
    },
    "fork": {
        "gap_tyre_width_mm": 38, "gap_side_mm": 8, "gap_crown_mm": 10, "steerer_wanted_mm": None,
    },
    "headset": {"stack_upper_mm": 15, "stack_lower_mm": 12},
    "spacers": {"height_mm": 20},
    "stem": {"length_mm": 90, "angle_deg": -6, "clamp_height_mm": 40},
    "handlebar": {"rise_mm": 20},
    "saddle": {"height_mm": 45},
    "seatpost": {"exposed_mm": 150, "setback_mm": 20},
    "crankset": {"arm_length_mm": 170, "arms_width_mm": 150, "chainline_mm": 45},
    "pedals": {"half_width_mm": 95, "below_axle_mm": 12},
    "chainring@inner": {"ring_teeth": 34},
    "chainring@outer": {"ring_teeth": 50},
    "cassette@rear": {"sprockets_teeth": SPROCKETS, "smallest_teeth": 11, "largest_teeth": 34, "sprockets_count": 10},
    "rear-derailleur@rear": {"capacity_teeth": 39, "largest_max_teeth": 34, "front_difference_max_teeth": 16},
    "front-derailleur@front": {"capacity_teeth": 16, "largest_ring_max_teeth": 52},
    "chain": {"links_count": 114},
}  # fmt: skip
AT_EACH_END: dict[str, dict[str, Any]] = {
    "hub": {
        "holes_count": 36, "flange_left_mm": 39, "flange_right_mm": 39, "hole_circle_left_mm": 58,
        "hole_circle_right_mm": 58, "spoke_hole_mm": 2.6,
    },
    "rim": {"erd_mm": 555, "holes_count": 36, "max_pressure_kpa": 500, "bead": "hooked"},
    "rim-tape": {"pressure_max_kpa": 450},
    "tyre": {
        "bsd_mm": 622, "width_marked_mm": 40, "pressure_max_kpa": 400, "pressure_min_kpa": 200,
        "pressure_planned_kpa": 300,
    },
}  # fmt: skip


class ReckonedBicycle:
    """The mixed-surface bicycle with these facts; `give` changes facts of one of its parts by name."""

    def __init__(self, library: Library) -> None:
        self.made = MixedBicycle(library)
        for name, facts in FACTS.items():
            self.give(name, **facts)
        for end in ("front", "rear"):
            for name, facts in AT_EACH_END.items():
                self.give(f"{name}@{end}", **facts)
            for side in ("left", "right"):
                self.give(f"spokes@{end}.{side}", crosses_count=3)

    @property
    def parts(self) -> dict[str, UUID]:
        """The parts by name."""
        return self.made.parts

    def give(self, name: str, **facts: Any) -> None:
        """Enters facts at a part; None takes one away, a list is several numbers."""
        shop = self.made.shop
        part = shop.parts[self.parts[name]]
        specs = dict(part.specs)
        for key, fact in facts.items():
            specs.pop(key, None)
            if fact is not None:
                specs[key] = _facts(key, fact)
        shop.parts[part.id] = replace(part, specs=specs)

    def set(self, name: str, **columns: Any) -> None:
        """Changes what is no fact: a price, a mass, a state."""
        shop = self.made.shop
        part = shop.parts[self.parts[name]]
        shop.parts[part.id] = replace(part, **columns)

    def bicycle(self, **build: Any) -> Bicycle:
        """Everything as it stands now; `build` changes the build's own facts."""
        made = self.made.shop.bicycle()
        return replace(made, build=replace(made.build, **build))


def _facts(key: str, fact: Any) -> tuple[SpecFact, ...]:
    return tuple(spec(key, each) for each in fact) if isinstance(fact, list) else (spec(key, fact),)
