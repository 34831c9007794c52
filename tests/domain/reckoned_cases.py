"""Cases of calculated joins, first half: steerer, post, chain, derailleurs. The source stands above each group."""

from collections.abc import Mapping
from typing import Any, NamedTuple

Change = str | tuple[str, Any]
WEIGHED = {"mass_weighed_g": 12_000}


class Case(NamedTuple):
    """What is changed in the parts that meet, and the answer; what is asked for, where it is not measured."""

    join: str
    answer: str
    changes: tuple[Change, ...] = ()
    asks: tuple[str, ...] = ()
    build: Mapping[str, Any] = {}


def case(join: str, answer: str, *changes: Change, asks: tuple[str, ...] = (), **build: Any) -> Case:
    """One case."""
    return Case(join, answer, changes, asks, build)


def length(mm: float | None) -> Change:
    return ("fork.steerer_length_mm", mm)


STACK, THREADED, POST = "headset.stack", "headset.threaded-stack", "seatpost.depth"
INSIDE, DEEP = "dropper-post.insertion", "dropper-post.depth"
CHAIN, CAPACITY, LINE = "chain.length", "rear-derailleur.capacity", "crankset.chainline"
INDEX, RINGS, HUB_GEAR = "shifter.shift-index", "front-derailleur.rings", "internal-gear-hub.primary-ratio"
CARBON = ("fork.steerer_material", "carbon")
DERAILLEUR, CASSETTE = "rear-derailleur@rear", "cassette@rear"
ON_CARE = "needs care: "

CASES: list[Case] = [
    # Spacers 0 to 40 on metal, 30 on carbon, −2 bare; 3 mm under the top (ISO 4210-2: at most 5; rest common practice)
    case(STACK, "meets"),
    case(STACK, "meets", length(252)),
    case(STACK, ON_CARE + "to-cut", length(252.1)),
    case(STACK, "meets", length(257), ("fork.spacer_limit_mm", 45)),
    case(STACK, ON_CARE + "to-cut", length(245), CARBON),
    case(STACK, ON_CARE + "top-spacer", length(242), CARBON),
    case(STACK, "meets", length(212)),
    case(STACK, ON_CARE + "bare", length(211.9)),
    case(STACK, ON_CARE + "bare", length(210)),
    case(STACK, "conflicts", length(209.9)),
    case(STACK, "not measured yet", ("headset.stack_lower_mm", None), asks=("stack_lower_mm",)),
    case(STACK, "conflicts", ("headset.stack_lower_mm", None), length(199)),
    case(STACK, "not measured yet", ("fork.steerer_material", None), asks=("steerer_material",)),
    case(STACK, ON_CARE + "to-cut", ("fork.steerer_material", None), length(260)),
    # Ends 1 to 4 below the locknut's top, thread 5 longer than the stack: common practice, no source
    case(THREADED, "meets"),
    case(THREADED, "meets", length(201)),
    case(THREADED, ON_CARE + "spacers-or-cut", length(201.1)),
    case(THREADED, "meets", length(198)),
    case(THREADED, "conflicts", length(197.9)),
    case(THREADED, "meets", ("fork.steerer_thread_mm", 37)),
    case(THREADED, "conflicts", ("fork.steerer_thread_mm", 36.9), length(None)),
    case(THREADED, "not measured yet", ("fork.steerer_thread_mm", None), asks=("steerer_thread_mm",)),
    # Twice the diameter (16 CFR 1512.15), 65 not round (JIS D 9301), 50 below the joint (common practice)
    case(POST, "meets"),
    case(POST, "meets", ("seatpost.exposed_mm", 240)),
    case(POST, "conflicts", ("seatpost.exposed_mm", 241)),
    case(POST, "conflicts", ("seatpost.exposed_mm", 216), ("frame.joint_below_top_mm", 85)),
    case(POST, "meets", ("seatpost.exposed_mm", 287), ("seatpost.min_insert_mm", 40),
         ("frame.joint_below_top_mm", 5), ("seatpost.diameter_mm", 31.4)),
    case(POST, "conflicts", ("seatpost.exposed_mm", 288), ("seatpost.min_insert_mm", 40),
         ("frame.joint_below_top_mm", 5), ("seatpost.diameter_mm", 31.4)),
    case(POST, ON_CARE + "not-round", ("seatpost.shape", "other"), ("seatpost.diameter_mm", None)),
    case(POST, "conflicts", ("seatpost.shape", "other"), ("seatpost.exposed_mm", 286),
         ("seatpost.min_insert_mm", 40), ("frame.joint_below_top_mm", 5)),
    case(POST, ON_CARE + "too-long", ("seatpost.exposed_mm", 99)),
    case(POST, "meets", ("seatpost.exposed_mm", 99), ("seatpost.length_wanted_mm", 300)),
    case(POST, "not measured yet", ("seatpost.exposed_mm", None)),
    case(POST, "conflicts", ("seatpost.exposed_mm", None), ("frame.post_depth_mm", 109)),
    case(POST, "not measured yet", ("seatpost.min_insert_mm", None), asks=("min_insert_mm",)),
    case(POST, "conflicts", ("seatpost.min_insert_mm", None), ("seatpost.exposed_mm", 300)),
    case(POST, "not measured yet", ("seatpost.shape", None), asks=("shape",)),
    case(INSIDE, "meets"),
    case(INSIDE, "conflicts", ("dropper-post.exposed_mm", 341)),
    case(INSIDE, "not measured yet", ("frame.joint_below_top_mm", None), asks=("joint_below_top_mm",)),
    case(INSIDE, "conflicts", ("frame.joint_below_top_mm", None), ("dropper-post.exposed_mm", 341)),
    case(INSIDE, "conflicts", ("frame.post_depth_mm", 109), ("dropper-post.exposed_mm", None)),
    # What does not show goes into the tube (arithmetic); within 10 of its line: common practice, no source
    case(DEEP, "meets"),
    case(DEEP, "conflicts", ("frame.post_depth_mm", 229)),
    case(DEEP, "conflicts", ("dropper-post.insert_max_mm", 229)),
    case(DEEP, "conflicts", ("dropper-post.bulge_mm", 31.7)),
    case(DEEP, "meets", ("dropper-post.exposed_mm", 330)),
    case(DEEP, ON_CARE + "tight-at-the-line", ("dropper-post.exposed_mm", 331)),
    case(DEEP, "not measured yet", ("dropper-post.min_insert_mm", None), asks=("min_insert_mm",)),
    case(DEEP, "conflicts", ("dropper-post.min_insert_mm", None), ("frame.post_depth_mm", 200)),
    # Taut run + 2: 107.5, so 108 (roller-chain geometry; the inch more is common practice)
    case(CHAIN, "meets"),
    case(CHAIN, "conflicts", ("chain.links_count", 107)),
    case(CHAIN, ON_CARE + "to-shorten", ("chain.links_count", 110)),
    case(CHAIN, ON_CARE + "slack-small", (f"{DERAILLEUR}.capacity_teeth", 32)),
    case(CHAIN, ON_CARE + "slack-small", (f"{DERAILLEUR}.capacity_teeth", None)),
    case(CHAIN, "meets", (f"{DERAILLEUR}.capacity_teeth", None), (f"{DERAILLEUR}.cage_pivot_mm", 95)),
    case(CHAIN, "not measured yet", (f"{DERAILLEUR}.capacity_teeth", None), (f"{DERAILLEUR}.cage_pivot_mm", None),
         asks=("capacity_teeth",)),
    case(CHAIN, "not measured yet", ("frame.chainstay_mm", None), asks=("chainstay_mm",)),
    case(CHAIN, "conflicts", ("frame.chainstay_mm", None), ("chain.links_count", 40)),
    case(CHAIN, "not measured yet", ("chainring@outer.ring_teeth", None), asks=("ring_teeth",)),
    case(CHAIN, "conflicts", ("chainring@outer.ring_teeth", None), ("chain.links_count", 98)),
    # Total capacity (https://jitetan.com/term/total_capacity.html); 4 short: common practice; 0.45 a mm: from memory
    case(CAPACITY, "meets"),
    case(CAPACITY, "meets", (f"{DERAILLEUR}.capacity_teeth", 33)),
    case(CAPACITY, ON_CARE + "never-small-small", (f"{DERAILLEUR}.capacity_teeth", 32)),
    case(CAPACITY, ON_CARE + "never-small-small", (f"{DERAILLEUR}.capacity_teeth", 29)),
    case(CAPACITY, "conflicts", (f"{DERAILLEUR}.capacity_teeth", 28)),
    case(CAPACITY, ON_CARE + "never-small-small", (f"{DERAILLEUR}.front_difference_max_teeth", 15)),
    case(CAPACITY, "conflicts", (f"{DERAILLEUR}.front_difference_max_teeth", 11)),
    case(CAPACITY, "not measured yet", (f"{DERAILLEUR}.front_difference_max_teeth", None),
         asks=("front_difference_max_teeth",)),
    case(CAPACITY, "conflicts", (f"{DERAILLEUR}.front_difference_max_teeth", None),
         (f"{DERAILLEUR}.capacity_teeth", 28)),
    case(CAPACITY, "meets", "-chainring@inner", (f"{DERAILLEUR}.front_difference_max_teeth", None)),
    case(CAPACITY, ON_CARE + "unknown-guessed", (f"{DERAILLEUR}.capacity_teeth", None),
         (f"{DERAILLEUR}.cage_pivot_mm", 95)),
    case(CAPACITY, "not measured yet", (f"{DERAILLEUR}.capacity_teeth", None), asks=("capacity_teeth",)),
    case(CAPACITY, "not measured yet", (f"{DERAILLEUR}.capacity_teeth", None), (f"{DERAILLEUR}.cage_pivot_mm", None),
         asks=("capacity_teeth", "cage_pivot_mm")),
    case(CAPACITY, "not measured yet", ("chainring@inner.ring_teeth", None), asks=("ring_teeth",)),
    case(CAPACITY, "conflicts", ("chainring@inner.ring_teeth", None), (f"{DERAILLEUR}.capacity_teeth", 12)),
    # 3 and 6 apart: common practice, no source. Rear here: 65 − 4.5 − 17.5 = 43
    case(LINE, "meets", ("crankset.chainline_mm", 46)),
    case(LINE, ON_CARE + "off-line", ("crankset.chainline_mm", 46.1)),
    case(LINE, ON_CARE + "off-line", ("crankset.chainline_mm", 49)),
    case(LINE, "conflicts", ("crankset.chainline_mm", 49.1)),
    case(LINE, "conflicts", ("crankset.chainline_mm", 36.9)),
    case(LINE, "not measured yet", ("hub@rear.locknut_to_smallest_mm", None), asks=("locknut_to_smallest_mm",)),
    case(LINE, "conflicts", ("hub@rear.locknut_to_smallest_mm", None), ("crankset.chainline_mm", 54)),
    # Error at the end sprockets (arithmetic), 0.5 and 1.0: from memory. 3.95 − 2.3 × 1.7, × 4.5 = 0.18
    case(INDEX, "meets"),
    case(INDEX, ON_CARE + "small-error", ("shifter@right.pull_per_click_mm", 2.4)),
    case(INDEX, "conflicts", ("shifter@right.pull_per_click_mm", 2.5)),
    case(INDEX, "conflicts", ("shifter@right.pull_per_click_mm", 2.5), ("shifter@right.index_family", None)),
    case(INDEX, ON_CARE + "families-differ", ("shifter@right.index_family", "b")),
    case(INDEX, "conflicts", ("shifter@right.index_family", "b"), ("shifter@right.pull_per_click_mm", None)),
    case(INDEX, ON_CARE + "family-not-known", (f"{DERAILLEUR}.index_family", None)),
    case(INDEX, ON_CARE + "family-not-known", (f"{DERAILLEUR}.index_family", None),
         (f"{DERAILLEUR}.shift_ratio", None)),
    case(INDEX, "meets", ("shifter@right.index_family", " A "), (f"{CASSETTE}.sprocket_pitch_mm", None)),
    case(INDEX, "not measured yet", ("shifter@right.index_family", "b"), ("shifter@right.actuation", None),
         asks=("actuation",)),
    # Range and difference by its papers; 2 teeth and 2 to 4 mm beside: common practice, no source
    case(RINGS, "meets"),
    case(RINGS, "meets", ("chainring@outer.ring_teeth", 46)),
    case(RINGS, ON_CARE + "near", ("chainring@outer.ring_teeth", 45)),
    case(RINGS, ON_CARE + "near", ("chainring@outer.ring_teeth", 55), ("chainring@inner.ring_teeth", 39)),
    case(RINGS, "conflicts", ("chainring@outer.ring_teeth", 56), ("chainring@inner.ring_teeth", 40)),
    case(RINGS, "conflicts", ("chainring@inner.ring_teeth", 33)),
    case(RINGS, "conflicts", ("crankset.rings_count", 3)),
    case(RINGS, "meets", ("crankset.chainline_mm", 45.5)),
    case(RINGS, ON_CARE + "chainline", ("crankset.chainline_mm", 45.6)),
    case(RINGS, "conflicts", ("crankset.chainline_mm", 47.6)),
    case(RINGS, "not measured yet", ("front-derailleur@front.largest_ring_max_teeth", None),
         asks=("largest_ring_max_teeth",)),
    case(RINGS, "conflicts", ("front-derailleur@front.largest_ring_max_teeth", None),
         ("front-derailleur@front.capacity_teeth", 15)),
    # The hub's sheet; what is at its limit: from memory. 1.9 × 20 = 38
    case(HUB_GEAR, "meets", ("chainring@outer.ring_teeth", 39)),
    case(HUB_GEAR, ON_CARE + "at-the-limit", ("chainring@outer.ring_teeth", 38)),
    case(HUB_GEAR, "conflicts", ("chainring@outer.ring_teeth", 37)),
    case(HUB_GEAR, "not measured yet", ("internal-gear-hub@rear.min_primary_ratio", None),
         asks=("min_primary_ratio",)),
    case(HUB_GEAR, "conflicts", ("chainring@outer.ring_teeth", 30), ("chainring@inner.ring_teeth", None)),
]  # fmt: skip
