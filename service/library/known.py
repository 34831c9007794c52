"""Which names there are beyond the files: the categories of the trade, facts of the build, occasions, fields."""

_CATEGORIES = """
frame fork rear-shock headset bottom-bracket crankset chainring cassette screw-on-freewheel single-sprocket
chain belt chain-guide rear-derailleur derailleur-hanger front-derailleur shifter brake-lever combined-lever
cable-disc-caliper hydraulic-disc-caliper linear-pull-brake cantilever-brake dual-pivot-brake hub-brake
brake-pads brake-adaptor rotor brake-cable gear-cable hydraulic-hose wheel factory-wheel hub rim spokes axle
rim-tape tyre tube tubeless-valve internal-gear-hub dynamo-hub pedals cleats saddle seatpost dropper-post
seat-clamp stem quill-stem handlebar drop-bar one-piece-bar spacers shim grips bar-tape mudguards rack
bottle-cage lights-and-bell kickstand whole-bicycle
"""
CATEGORY_IDS = frozenset(_CATEGORIES.split())
"""The permanent ids of all categories; one whose file is not written yet may be named, but none of its facts."""

BUILD_FACTS: dict[str, dict[str, str] | None] = {
    "use": dict.fromkeys(["road race", "road", "mixed", "off-road", "town", "touring"], ""),
    "motor": {"yes": "", "no": ""},
    "rider_mass_g": None,
    "load_g": None,
    "front_brake_hand": {"left": "", "right": ""},
    "mass_weighed_g": None,
}
"""What is known of the build itself: its choices, or None for a number."""

ORIGINS = ("new", "second-hand", "owned", "came fitted")
JOBS = ("assemble", "replace", "service", "strip", "check")
ENDS = ("front", "rear")
SIDES = ("left", "right")
CHECKLIST_WORDS = ("safety skipped", "finding accepted")
OCCASIONS = ("crash", "wet", "stored", "travelled", "refitted")
_EVENT_KINDS = "inspected adjusted tightened cleaned lubricated renewed trued overhauled repaired crashed travelled"
EVENT_KINDS = (*_EVENT_KINDS.split(), "put away", "woken")
_SET_UP_FIELDS = "front_kpa rear_kpa saddle_height_mm saddle_setback_mm bar_reach_mm bar_drop_mm"
SET_UP_FIELDS = tuple(_SET_UP_FIELDS.split())
UNITS = ("dab", "drop", "ml", "piece", "m", "cm", "sheet", "pair", "g")
NEEDS_SOURCE = ("maker", "standard", "handbook", "trade page", "encyclopaedia")
"""A figure on one of these bases names where it was read."""
