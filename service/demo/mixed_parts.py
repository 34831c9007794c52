"""The parts of the mixed-surface bicycle: what was measured, read off, looked up or guessed of each."""

from collections.abc import Mapping
from datetime import date, timedelta

from service.demo.scene import ENGLISH, Wanted, figure, told
from service.demo.worth import MIXED, worth_of
from service.schemas.fields import Money
from service.schemas.parts import Origin, PartSent, SpecSent, TorqueFigureSent

Specs = dict[str, SpecSent]


def mixed_parts(today: date) -> Wanted:
    """About fifty parts by their places, half of them second-hand; the headset is on order."""
    parts = {
        **_frame_and_fork(),
        "headset": PartSent(
            category="headset",
            name="Headset, external cups",
            state="ordered",
            expected_on=today + timedelta(days=6),
            price=Money(minor=3400, currency="EUR"),
            specs=told("maker", steerer_kind="threadless", upper_kind="external_cup", lower_kind="external_cup")
            | told("printed", upper_bore_mm=34.0, lower_bore_mm=34.0, upper_grip_mm=28.6, lower_grip_mm=30.0)
            | told("maker", stack_upper_mm=13.5, stack_lower_mm=11.0, bearing="cartridge", cups_pressed=False)
            | told("maker", steerer_stop="star_nut"),
        ),
        **_bottom_end(),
        **_drive(),
        **_wheel("front"),
        **_wheel("rear"),
        **_brakes(),
        **_cockpit(),
    }
    return worth_of(parts, MIXED)


def _part(
    category: str,
    name: str,
    specs: Specs,
    *,
    origin: Origin = "new",
    minor: int | None = None,
    more: Mapping[str, object] | None = None,
) -> PartSent:
    """A part that is here; `minor` is what was paid in cents."""
    sent: dict[str, object] = {"category": category, "name": name, "origin": origin, "specs": specs, **(more or {})}
    if minor is not None:
        sent["price"] = Money(minor=minor, currency="EUR")
    return PartSent.model_validate(sent)


def _torques(**figures: TorqueFigureSent) -> dict[str, object]:
    return {"torque_figures": {key.replace("__", ".").replace("_", "-"): worth for key, worth in figures.items()}}


def _frame_and_fork() -> Wanted:
    frame = told("measured", wheel_bsd_mm=622, head_upper_bore_mm=33.9, head_lower_bore_mm=33.92)
    frame |= told("measured", head_upper_kind="external_cup", head_lower_kind="external_cup", seatpost_mm=27.2)
    frame |= told("measured", head_tube_length_mm=132, bb_shell="threaded_english", bb_shell_width_mm=68.1)
    frame |= told("measured", spacing_mm=134.6, dropout="vertical", axle_mm=10, dropout_thickness_mm=6.5)
    frame |= told("measured", hanger="replaceable_m10", brake_mount="post", seat_tube_od_top_mm=29.8)
    frame |= told("measured", material="steel", freshly_painted=True, comes_with_parts=False, mount_painted=True)
    frame |= told("measured", has_stuck_part=False, hanger_outline="two holes 19 apart")
    frame |= told("measured", fd_mount="band", fd_band_mm=28.6, fd_cable_from="bottom", routing="stops")
    frame |= told("measured", chain_tension_by="derailleur", shell_guide=True, post_depth_mm=210)
    frame |= told("measured", gap_tyre_width_mm=40, gap_side_mm=9, gap_crown_mm=13, joint_below_top_mm=45)
    frame |= told("maker", stack_mm=567, reach_mm=385, head_angle_deg=71.5, seat_angle_deg=73.5, chainstay_mm=440)
    frame |= told("maker", seat_tube_length_mm=520, bb_drop_mm=72, front_centre_mm=605)
    frame |= told("printed", frame_number="m 2217")
    frame |= told("guessed", native_rotor_mm=160, max_rotor_mm=180, fork_axle_crown_mm=398, max_double_ring_teeth=46)
    fork = told("measured", material="steel", freshly_painted=True, steerer_kind="threadless", steerer_mm=28.6)
    fork |= told("measured", steerer_material="steel", steerer_taper=False, steerer_length_mm=248, crown_race_on=False)
    fork |= told("measured", crown_race_mm=30.08, wheel_bsd_mm=622, spacing_mm=100, dropout="slot", axle_mm=9)
    fork |= told("measured", brake_mount="post", axle_crown_mm=402, rake_mm=47, retention_lips=True, travel_mm=0)
    fork |= told("measured", dropout_thickness_mm=5, gap_tyre_width_mm=40, gap_side_mm=11, gap_crown_mm=15)
    fork |= told("printed", native_rotor_mm=160, max_rotor_mm=180)  # whether its feet are painted nobody looked
    limit = figure(None, 7, "max. 7 N·m")
    return {
        "frame": _part("frame", "Steel frame, grey", frame, origin="second-hand", minor=14000, more={"tag": "F3"}),
        "fork": _part(
            "fork",
            "Steel fork, grey",
            fork,
            origin="second-hand",
            minor=4500,
            more=_torques(cable_disc_caliper__mount_bolt=limit),
        ),
    }


def _bottom_end() -> Wanted:
    cups = told("maker", kind="outboard", **ENGLISH, shell_widths_mm=[68.0, 73.0], spindle="tube_24")
    hanger = told("measured", outline="two holes 19 apart", thread="m10", bolt_pitch_mm=19)
    return {
        "bottom-bracket": _part(
            "bottom-bracket",
            "Outboard cups",
            cups | told("maker", tool="16 notches"),
            minor=2600,
            more=_torques(right_cup=figure(35, 50, "35–50 N·m", "grease"), left_cup=figure(35, 50, "35–50 N·m")),
        ),
        "derailleur-hanger@rear": _part("derailleur-hanger", "Hanger for the grey frame", hanger, minor=1400),
    }


def _drive() -> Wanted:
    cassette = told("printed", driver="spline9", sprockets_count=10, smallest_teeth=11, largest_teeth=36)
    cassette |= told("printed", sprockets_teeth=[11.0, 13.0, 15.0, 17.0, 19.0, 21.0, 24.0, 28.0, 32.0, 36.0])
    derailleur = told("measured", actuation="cable", mount="m10", cage_pivot_mm=76, clutch=False)
    derailleur |= told("printed", index_family="b", sprockets_count=9, largest_max_teeth=34, largest_min_teeth=28)
    derailleur |= told("printed", capacity_teeth=41, front_difference_max_teeth=22)
    front = told("measured", mount="band", band_mm=28.6, actuation="cable", pull_from="bottom", rings_count=2)
    front |= told("guessed", pull_family="road", capacity_teeth=14) | told("printed", index_family="c")
    front |= told("printed", largest_ring_min_teeth=44, largest_ring_max_teeth=50) | told("maker", chainline_mm=45)
    right = told("measured", actuation="cable", positions_count=10, mount="bar", clamp_mm=22.2, works_gear="rear")
    right |= told("printed", index_family="c") | told("measured", gear_cable_head="gear_small", friction=False)
    left = told("measured", actuation="cable", positions_count=2, mount="bar", clamp_mm=22.2, works_gear="front")
    left |= told("guessed", front_pull_family="road") | told("printed", index_family="c")
    left |= told("measured", gear_cable_head="gear_small", friction=False)
    wire = told("maker", inner_mm=1.2, outer_mm=4, outer_build="lengthwise", head="gear_small")
    return {
        "cassette@rear": _part(
            "cassette",
            "Cassette 11–36, 10 sprockets",
            cassette | told("maker", stack_kind="usual", roller_family="standard"),
            minor=4900,
            more=_torques(lockring=figure(None, 40, "40 Nm")),
        ),
        "chain": _part(
            "chain",
            "Chain, 10 sprockets",
            told("printed", sprockets_for_count=10, inner_mm=2.18, links_count=116)
            | told("maker", roller_family="standard", joint="joining_link", joining_reusable=False, outer_mm=5.9),
            minor=2300,
        ),
        "rear-derailleur@rear": _part(
            "rear-derailleur",
            "Rear derailleur, long cage",
            derailleur,
            origin="second-hand",
            minor=2200,
            more={"tag": "D7", "note": "Made for 34 at most; the cassette has 36. Cheap and here: let us see."},
        ),
        "front-derailleur@front": _part(
            "front-derailleur", "Front derailleur, band", front, origin="second-hand", minor=900
        ),
        "shifter@right": _part("shifter", "Right shifter, 10 clicks", right, origin="second-hand", minor=1500),
        "shifter@left": _part("shifter", "Left shifter, 2 clicks", left, origin="second-hand", minor=1200),
        "gear-cable@rear": _part("gear-cable", "Gear cable, rear", wire, minor=1100),
        "gear-cable@front": _part("gear-cable", "Gear cable, front", wire, minor=1100),
    }


def _wheel(end: str) -> Wanted:
    rear = end == "rear"
    hub = told("measured", side_use=end, axle="quick_release", holes_count=32, spoke_hole_mm=2.5, spoke_head="bent")
    hub |= told("measured", old_mm=135 if rear else 100, axle_mm=10 if rear else 9, rotor_fixing="six_bolt")
    hub |= told("measured", hole_circle_left_mm=58, hole_circle_right_mm=58 if not rear else 54)
    hub |= told("measured", flange_left_mm=22 if not rear else 33, flange_right_mm=35 if not rear else 20)
    hub |= told("measured", bearing="cup_and_cone" if rear else "cartridge", driver="spline9" if rear else "none")
    if not rear:
        hub |= told("maker", end_caps_swap=False)
    rim = told("maker", bsd_mm=622, inner_mm=23, outer_mm=28, depth_mm=20, holes_count=32, erd_mm=601, bead="hooked")
    rim |= told("maker", valve_hole_mm=6.5, tubeless_ready=True, rim_brake_track=False, nipple_hole_mm=4.4)
    rim |= told("printed", max_pressure_kpa=430, max_tension_n=1200, max_tyre_mm=55) | told("maker", offset_mm=0)
    tyre = told("printed", bsd_mm=622, width_marked_mm=45, pressure_min_kpa=200, pressure_max_kpa=400, bead="folding")
    tyre |= told("printed", tubeless_ready=True, set_up="tubeless", rotation=True) | told("maker", hookless_ok=False)
    tyre |= told("maker", rim_inner_min_mm=19, rim_inner_max_mm=30, tread="touring")
    tyre |= told("guessed", pressure_planned_kpa=270 if rear else 240)
    tape = told("printed", kind="tubeless", width_mm=26, pressure_max_kpa=500)
    valve = told("maker", valve_length_mm=44, valve_hole_mm=6.5, seat="cone", sealant_ml=60)
    axle = told("measured", kind="quick_release", skewer_mm=5, cam="enclosed", axle_mm=10 if rear else 9)
    axle |= told("measured", grip_length_mm=156 if rear else 120)
    rotor = told("printed", diameter_mm=160, fixing="six_bolt", min_thickness_mm=1.5, pad_limit="any")
    rotor |= told("measured", thickness_mm=1.8, bolt_length_mm=10, bolt_hole_depth_mm=11)
    title = end.capitalize()
    return {
        f"wheel@{end}": _part("wheel", f"{title} wheel, laced here", told("measured", built_by="home")),
        f"hub@{end}": _part("hub", f"{title} hub, 32 holes", hub, origin="second-hand", minor=2500),
        f"rim@{end}": _part("rim", "Rim 622, 32 holes", rim, minor=4800),
        **{
            f"spokes@{end}.{side}": _part(
                "spokes", f"Spokes, {end} {side}", _spokes(length), minor=900, more={"pieces": 16}
            )
            for side, length in (("left", 290 if not rear else 291), ("right", 291 if not rear else 290))
        },
        f"rim-tape@{end}": _part("rim-tape", "Tubeless tape 26", tape, minor=500),
        f"tubeless-valve@{end}": _part("tubeless-valve", "Tubeless valve 44", valve, minor=700),
        f"tyre@{end}": _part("tyre", "Tyre 45-622", tyre, origin="owned"),
        f"rotor@{end}": _part(
            "rotor",
            "Rotor 160, six bolts",
            rotor,
            origin="second-hand",
            minor=600,
            more=_torques(rotor_bolts=figure(4, 6, "4–6 N·m")),
        ),
        f"axle@{end}": _part("axle", f"{title} quick release", axle, origin="owned"),
    }


def _spokes(length_mm: float) -> Specs:
    spokes = told("printed", length_mm=length_mm, gauge_mm=2.0, butted=False, nipple_length_mm=12)
    return spokes | told("maker", head="bent", nipple_thread="for_2_0", nipple_material="brass", crosses_count=3)


def _brakes() -> Wanted:
    front = told("measured", mount="post", pad_shape="round 22") | told("guessed", pull_family="long")
    front |= told("printed", rotor_min_mm=160, rotor_max_mm=180)  # which pads move nobody tried yet
    rear = told("maker", mount="post", moving_pads="one", pull_family="long", rotor_thickness_mm=1.8)
    rear |= told("maker", rotor_min_mm=160, rotor_max_mm=180, pad_shape="round 22")
    pads = told("printed", shape="round 22", compound="organic", lining_new_mm=2.2, min_lining_mm=1.0)
    lever = told("measured", kind="cable", clamp_mm=22.2, cable_head="barrel", reach_mm=78, pull_mm=15.5)
    lever |= told("measured", pull_family="long")
    wire = told("maker", sold_for_brakes=True, outer_build="coiled", outer_mm=5, inner_mm=1.5, head="barrel")
    own = _torques(mount_bolt=figure(6, 8, "6–8 N·m"), cable_anchor=figure(6, 8, "6–8 N·m"))
    return {
        "cable-disc-caliper@front": _part(
            "cable-disc-caliper", "Cable calliper, front", front, origin="second-hand", minor=1800, more={"tag": "B2"}
        ),
        "cable-disc-caliper@rear": _part(
            "cable-disc-caliper", "Cable calliper, rear", rear, origin="second-hand", minor=2000, more=own
        ),
        "brake-pads@front": _part("brake-pads", "Pads, round 22", pads, minor=900),
        "brake-pads@rear": _part("brake-pads", "Pads, round 22", pads, minor=900),
        "brake-lever@left": _part(
            "brake-lever", "Left lever", lever | told("measured", works_brake="front"), origin="second-hand", minor=700
        ),
        "brake-lever@right": _part(
            "brake-lever", "Right lever", lever | told("measured", works_brake="rear"), origin="second-hand", minor=700
        ),
        "brake-cable@front": _part("brake-cable", "Brake cable, front", wire, minor=1000),
        "brake-cable@rear": _part("brake-cable", "Brake cable, rear", wire, minor=1000),
    }


def _cockpit() -> Wanted:
    stem = told("measured", steerer_clamp_mm=28.6, bar_clamp_mm=31.8, clamp_height_mm=40, length_mm=80, angle_deg=6)
    stem |= told("measured", bolts_front_count=4, bolt_thread="m5")
    bar = told("measured", clamp_mm=31.8, grip_mm=22.2, width_mm=720, rise_mm=15, backsweep_deg=9)
    bar |= told("maker", material="aluminium", straight_each_side_mm=240)
    post = told("measured", diameter_mm=27.2, length_mm=348, shape="round", clamp="two_bolt_top", clamp_bolts="two_m6")
    post |= told("printed", min_insert_mm=80) | told("measured", material="aluminium", setback_mm=15)
    post |= told("guessed", rail_accepts=["round_7"], exposed_mm=165)  # as on the tourer: to be ridden first
    clamp = told("printed", inside_mm=29.8, kind="bolt", bolts="one") | told("measured", height_mm=14)
    saddle = told("measured", rail="round_7", rail_clear_mm=68, width_mm=148, length_mm=272, height_mm=47)
    rings = told("measured", inside_mm=28.6, outside_mm=34, height_mm=30)
    bolts = _torques(handlebar__faceplate=figure(None, 5, "max 5 Nm"), steerer_clamp=figure(5, 6, "5–6 Nm"))
    return {
        "stem": _part("stem", "Stem 80 mm", stem, origin="second-hand", minor=1200, more=bolts),
        "handlebar": _part("handlebar", "Flat bar 720", bar, origin="owned"),
        "spacers": _part("spacers", "Spacers", rings, origin="owned"),
        "seatpost": _part("seatpost", "Seat post 27.2", post, origin="second-hand", minor=1000),
        "seat-clamp": _part(
            "seat-clamp",
            "Seat clamp 29.8",
            clamp,
            origin="second-hand",
            minor=300,
            more=_torques(clamp_bolt=figure(None, 6, "max 6 N·m")),
        ),
        "saddle": _part("saddle", "Saddle, 148 wide", saddle, origin="owned"),
        "grips": _part("grips", "Grips", told("measured", grip_mm=22.2, length_mm=130), minor=1600),
    }


def candidates() -> list[tuple[str, str, PartSent]]:
    """Parts that are on the plan as well and not chosen: category and place they compete for."""
    wider = told("printed", bsd_mm=622, width_marked_mm=50, tubeless_ready=True, set_up="tubeless", bead="folding")
    longer = told("measured", steerer_clamp_mm=28.6, bar_clamp_mm=31.8, clamp_height_mm=42, length_mm=100, angle_deg=6)
    wider |= told("maker", rim_inner_min_mm=21, rim_inner_max_mm=32)
    wide = told("measured", rail="round_7", rail_clear_mm=66, width_mm=160, length_mm=268)
    lighter = told("printed", bsd_mm=622, width_marked_mm=40, tubeless_ready=True, set_up="tubeless", bead="folding")
    narrow = {"state": "planned", "mass_claimed_g": 460, "note": "Only for the road to work."}
    wide_tyre = {"state": "planned", "mass_claimed_g": 690, "note": "Only if 45 mm feels harsh."}
    own = told("measured", actuation="cable", mount="m10", cage_pivot_mm=82, clutch=True)
    own |= told("maker", index_family="c", sprockets_count=10, largest_max_teeth=36, largest_min_teeth=30)
    own |= told("maker", capacity_teeth=43, front_difference_max_teeth=22)
    dearer = {"state": "planned", "mass_claimed_g": 312, "note": "Made for all of it; if the old one will not do."}
    return [
        ("tyre", "front", _part("tyre", "Tyre 50-622, wider", wider, minor=4600, more=wide_tyre)),
        ("tyre", "front", _part("tyre", "Tyre 40-622, narrow", lighter, minor=3900, more=narrow)),
        ("stem", "", _part("stem", "Stem 100 mm", longer, origin="owned", more={"mass_weighed_g": 152})),
        ("saddle", "", _part("saddle", "Saddle, 160 wide", wide, origin="owned", more={"tag": "S4"})),
        (
            "rear-derailleur",
            "rear",
            _part("rear-derailleur", "Rear derailleur for 36", own, minor=5900, more=dearer),
        ),
    ]
