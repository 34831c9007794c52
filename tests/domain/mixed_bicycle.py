"""An invented mixed-surface bicycle with every fact known: steel, flat bar, cable discs, laced tubeless wheels."""

from typing import Any
from uuid import UUID

from service.domain.procedure import Library
from tests.domain.bicycles import Workshop

FACTS: dict[str, dict[str, Any]] = {
    "frame": {
        "material": "steel", "freshly_painted": True, "comes_with_parts": False, "has_stuck_part": False,
        "routing": "stops", "shell_guide": True, "bb_shell": "threaded_english", "head_upper_kind": "external_cup",
        "head_lower_kind": "external_cup", "hanger": "replaceable_m10", "brake_mount": "post", "mount_painted": True,
        "dropout": "vertical", "seatpost_mm": 27.2, "spacing_mm": 135, "native_rotor_mm": 160, "post_depth_mm": 250,
        "chain_tension_by": "derailleur", "fd_mount": "band",
    },
    "fork": {
        "material": "steel", "freshly_painted": True, "steerer_kind": "threadless", "steerer_material": "steel",
        "steerer_mm": 28.6, "steerer_length_mm": 280, "steerer_wanted_mm": 210, "travel_mm": 0, "crown_race_on": False,
        "brake_mount": "post", "mount_painted": True, "dropout": "slot", "spacing_mm": 100, "native_rotor_mm": 160,
    },
    "headset": {
        "steerer_kind": "threadless", "upper_kind": "external_cup", "lower_kind": "external_cup",
        "cups_pressed": False, "bearing": "cartridge", "steerer_stop": "star_nut",
    },
    "bottom-bracket": {"kind": "outboard", "shell": "threaded_english", "spindle": "tube_24"},
    "crankset": {
        "spindle": "tube_24", "arm_fixing": "pinch_bolts", "ring_mount": "bcd", "rings_count": 2,
        "pedal_thread": "9_16", "material": "aluminium",
    },
    "chainring": {"ring_mount": "bcd", "ring_teeth": 40},
    "cassette": {"driver": "spline9", "sprockets_count": 10},
    "chain": {"sprockets_for_count": 10, "joint": "joining_link", "links_count": 114, "joining_reusable": True},
    "rear-derailleur": {"actuation": "cable", "mount": "m10", "sprockets_count": 10, "clutch": False},
    "derailleur-hanger": {"thread": "m10"},
    "front-derailleur": {"mount": "band", "actuation": "cable", "rings_count": 2, "pull_from": "bottom"},
    "shifter": {"actuation": "cable", "mount": "bar", "friction": False},
    "brake-lever": {"kind": "cable", "pull_family": "long", "clamp_mm": 22.2},
    "cable-disc-caliper": {"mount": "post", "moving_pads": "one", "pull_family": "long"},
    "brake-cable": {"sold_for_brakes": True, "outer_build": "coiled"},
    "gear-cable": {"outer_build": "lengthwise"},
    "wheel": {"built_by": "home"},
    "hub": {"axle": "quick_release", "rotor_fixing": "six_bolt", "bearing": "cartridge", "spoke_head": "bent"},
    "rim": {"bead": "hooked", "tubeless_ready": True, "rim_brake_track": False, "offset_mm": 0},
    "rim-tape": {"kind": "tubeless"},
    "tyre": {"set_up": "tubeless", "bead": "folding", "tubeless_ready": True},
    "rotor": {"fixing": "six_bolt", "diameter_mm": 160},
    "axle": {"kind": "quick_release", "cam": "enclosed"},
    "pedals": {"thread": "9_16", "kind": "flat", "key": "flats_15", "bearing": "closed"},
    "seatpost": {
        "diameter_mm": 27.2, "length_mm": 350, "length_wanted_mm": 350, "material": "aluminium",
        "clamp": "two_bolt_top",
    },
    "seat-clamp": {"kind": "bolt"},
    "saddle": {"rail": "round_7"},
    "stem": {"steerer_clamp_mm": 28.6, "bar_clamp_mm": 31.8, "bolts_front_count": 4},
    "handlebar": {"clamp_mm": 31.8, "width_mm": 720, "width_wanted_mm": 720, "material": "aluminium", "grip_mm": 22.2},
    "grips": {"lock_on": True},
    "spacers": {},
    "spokes": {"head": "bent"},
    "tubeless-valve": {},
    "brake-pads": {"compound": "organic"},
}  # fmt: skip
ON_THE_BUILD = (
    "frame", "fork", "headset", "bottom-bracket", "crankset", "pedals", "chain", "seatpost", "seat-clamp", "saddle",
    "stem", "handlebar", "spacers", "grips",
)  # fmt: skip


class MixedBicycle:
    """The bicycle with all its parts by name: `parts["hub@rear"]`; fitted, or planned."""

    def __init__(self, library: Library, *, planned: bool = False) -> None:
        self.shop = Workshop(library)
        self.parts: dict[str, UUID] = {}
        self._put = self.shop.choose if planned else self.shop.fit
        for name in ON_THE_BUILD:
            self.add(name)
        self.add("derailleur-hanger", "rear", "frame")
        for place in ("inner", "outer"):
            self.add("chainring", place, "crankset")
        self.add("rear-derailleur", "rear")
        self.add("front-derailleur", "front")
        for end, side in (("front", "left"), ("rear", "right")):
            self._one_end(end, side)

    def _one_end(self, end: str, side: str) -> None:
        self.add("brake-lever", side, works_brake=end)
        self.add("shifter", side, works_gear=end)
        self.add("gear-cable", end)
        self.add("brake-cable", end)
        self.add("cable-disc-caliper", end)
        self.add("brake-pads", "", f"cable-disc-caliper@{end}", end)
        self.add("axle", end)
        wheel = self.add("wheel", end)
        self.add("hub", "", f"wheel@{end}", end, old_mm=135 if end == "rear" else 100, end_caps_swap=False)
        for name in ("rim", "rim-tape", "tyre", "tubeless-valve", "rotor"):
            self.add(name, "", f"wheel@{end}", end)
        for place in ("left", "right"):
            self.add("spokes", place, f"wheel@{end}", f"{end}.{place}")
        if end == "rear":
            self.add("cassette", "", "wheel@rear", end)
        assert wheel == self.parts[f"wheel@{end}"]

    def add(self, name: str, place: str = "", into: str = "", at: str = "", **facts: Any) -> UUID:
        """Makes a part with what is known of its kind and puts it in its place."""
        part = self.new(name, **facts)
        self._put(part, place, self.parts[into] if into else None)
        self.parts[f"{name}@{at or place}" if at or place else name] = part
        return part

    def new(self, name: str, **facts: Any) -> UUID:
        """A part of the same kind that lies in the bin."""
        return self.shop.part(name, **(FACTS.get(name, {}) | facts))
