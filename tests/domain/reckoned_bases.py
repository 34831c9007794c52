"""Parts that meet in each calculated join, every fact of the calculation known; the figures are invented."""

from tests.domain.reckoned import Parts

STACK: Parts = {
    "frame": {"head_tube_length_mm": 150},
    "fork": {"steerer_length_mm": 250, "steerer_material": "steel"},
    "headset": {"steerer_kind": "threadless", "stack_upper_mm": 15, "stack_lower_mm": 10},
    "stem": {"clamp_height_mm": 40},
}
THREADED: Parts = {
    "frame": {"head_tube_length_mm": 150},
    "fork": {"steerer_length_mm": 200, "steerer_thread_mm": 40},
    "headset": {"steerer_kind": "threaded", "stack_upper_mm": 32, "stack_lower_mm": 20},
}
POST: Parts = {
    "frame": {"post_depth_mm": 250, "joint_below_top_mm": 60},
    "seatpost": {"length_mm": 350, "exposed_mm": 200, "min_insert_mm": 100, "diameter_mm": 27.2, "shape": "round"},
}
DROPPER: Parts = {
    "frame": {"post_depth_mm": 250, "joint_below_top_mm": 60, "seatpost_mm": 31.6},
    "dropper-post": {
        "length_mm": 450, "exposed_mm": 220, "min_insert_mm": 110, "insert_max_mm": 240, "bulge_mm": 30,
        "diameter_mm": 31.6, "shape": "round", "travel_mm": 150,
    },
}  # fmt: skip
CHAIN: Parts = {
    "frame": {"chainstay_mm": 420},
    "chain": {"links_count": 108},
    "crankset": {"rings_count": 2},
    "chainring@outer": {"ring_teeth": 50},
    "chainring@inner": {"ring_teeth": 34},
    "cassette@rear": {"smallest_teeth": 11, "largest_teeth": 28},
    "rear-derailleur@rear": {"capacity_teeth": 35, "front_difference_max_teeth": 16, "cage_pivot_mm": 75},
}
LINE: Parts = {
    "crankset": {"chainline_mm": 43.5},
    "hub@rear": {"old_mm": 130, "locknut_to_smallest_mm": 4.5},
    "cassette@rear": {"stack_mm": 35},
}
INDEX: Parts = {
    "shifter@right": {
        "works_gear": "rear", "actuation": "cable", "friction": False, "index_family": "a", "pull_per_click_mm": 2.3,
    },
    "rear-derailleur@rear": {"index_family": "a", "shift_ratio": 1.7},
    "cassette@rear": {"sprocket_pitch_mm": 3.95, "sprockets_count": 10},
}  # fmt: skip
RINGS: Parts = {
    "crankset": {"rings_count": 2, "chainline_mm": 43.5},
    "chainring@outer": {"ring_teeth": 50},
    "chainring@inner": {"ring_teeth": 34},
    "front-derailleur@front": {
        "largest_ring_min_teeth": 46, "largest_ring_max_teeth": 53, "capacity_teeth": 16, "rings_count": 2,
        "chainline_mm": 43.5,
    },
}  # fmt: skip
HUB_GEAR: Parts = {
    "crankset": {},
    "chainring@outer": {"ring_teeth": 40},
    "internal-gear-hub@rear": {"sprocket_teeth": 20, "min_primary_ratio": 1.9},
}
GAPS = {"gap_tyre_width_mm": 38, "gap_side_mm": 8, "gap_crown_mm": 10, "gap_fd_tyre_mm": 6, "wheel_bsd_mm": 622}
ROOM: Parts = {
    "frame": GAPS,
    "tyre@rear": {"bsd_mm": 622, "width_marked_mm": 40},
    "front-derailleur@front": {},
}
FRONT_ROOM: Parts = {
    "fork": {key: fact for key, fact in GAPS.items() if key != "gap_fd_tyre_mm"},
    "tyre@front": {"bsd_mm": 622, "width_marked_mm": 40},
    "mudguards@front": {"thickness_mm": 1},
}
TOE: Parts = {
    "frame": {"front_centre_mm": 640},
    "crankset": {"arm_length_mm": 170},
    "tyre@front": {"bsd_mm": 622, "width_marked_mm": 40},
    "pedals": {"kind": "flat"},
}
GROUND: Parts = {
    "frame": {"bb_drop_mm": 70},
    "crankset": {"arm_length_mm": 170, "arms_width_mm": 150},
    "pedals": {"half_width_mm": 90, "below_axle_mm": 15},
    "tyre@rear": {"bsd_mm": 622, "width_marked_mm": 40},
}
SPOKES: Parts = {
    "wheel@front": {"built_by": "home"},
    "hub@front": {
        "holes_count": 36, "hole_circle_left_mm": 58, "hole_circle_right_mm": 58, "flange_left_mm": 39,
        "flange_right_mm": 39, "spoke_hole_mm": 2.6,
    },
    "rim@front": {"erd_mm": 555, "offset_mm": 0},
    "spokes@front.left": {"length_mm": 266, "crosses_count": 3, "nipple_length_mm": 12},
}  # fmt: skip
PRESSURE: Parts = {
    "rim@front": {"bead": "hooked", "max_pressure_kpa": 500},
    "rim-tape@front": {"pressure_max_kpa": 600},
    "tyre@front": {
        "pressure_min_kpa": 250, "pressure_max_kpa": 450, "pressure_planned_kpa": 350, "width_marked_mm": 40,
    },
}  # fmt: skip
MASS: Parts = {
    "frame": {"max_system_mass_kg": 120, "max_rider_mass_kg": 100, "mass_g": 11_000},
    "wheel@front": {"max_system_mass_kg": 130},
    "wheel@rear": {"max_system_mass_kg": 130},
    "saddle": {"max_rider_mass_kg": 110},
    "handlebar": {"max_rider_mass_kg": 110},
    "seatpost": {"max_rider_mass_kg": 110},
}
RACKS: Parts = {
    "rack@rear": {"load_kg": 25, "fixing": "eyelets"},
    "rack@front": {"load_kg": 15, "fixing": "eyelets"},
}
BRAKES: Parts = {
    "brake-lever@left": {"works_brake": "front"},
    "brake-lever@right": {"works_brake": "rear"},
    "cable-disc-caliper@front": {},
    "cable-disc-caliper@rear": {},
    "hub@rear": {"brake_kind": "none"},
    "single-sprocket@rear": {"kind": "splined"},
}
GUARD: Parts = {"crankset": {"rings_count": 1}, "chain-guide": {"kind": "cover"}}
SEEN: Parts = {
    "lights-and-bell": {
        "front_reflector": "clear", "rear_reflector": "red", "side_reflectors": "tyre_walls",
        "local_rules_checked": True,
    },
    "pedals": {"reflectors": True},
}  # fmt: skip
BASES: dict[str, Parts] = {
    "headset.stack": STACK,
    "headset.threaded-stack": THREADED,
    "seatpost.depth": POST,
    "dropper-post.insertion": DROPPER,
    "dropper-post.depth": DROPPER,
    "chain.length": CHAIN,
    "rear-derailleur.capacity": CHAIN,
    "crankset.chainline": LINE,
    "shifter.shift-index": INDEX,
    "front-derailleur.rings": RINGS,
    "internal-gear-hub.primary-ratio": HUB_GEAR,
    "frame.clearance-side": ROOM,
    "frame.clearance-crown": ROOM,
    "front-derailleur.tyre-gap": ROOM,
    "fork.clearance-side": FRONT_ROOM,
    "fork.clearance-crown": FRONT_ROOM,
    "mudguards.crown-room": FRONT_ROOM,
    "tyre.overall-diameter": ROOM,
    "crankset.toe-room": TOE,
    "pedals.ground": GROUND,
    "spokes.length": SPOKES,
    "tyre.pressure-ceiling": PRESSURE,
    "whole-bicycle.mass-limit": MASS,
    "rack.load": RACKS,
    "whole-bicycle.two-brakes": BRAKES,
    "whole-bicycle.chain-guard": GUARD,
    "whole-bicycle.reflectors": SEEN,
}
"""The parts of each join."""
