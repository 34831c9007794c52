"""The parts of the two bicycles that have been ridden: the town bicycle and the tourer, with fewer facts each."""

from service.demo.scene import ENGLISH, Fact, Wanted, figure, told
from service.demo.worth import RIDDEN, worth_of
from service.schemas.parts import PartSent, SpecSent

Specs = dict[str, SpecSent]
TO_32: list[float] = [11, 13, 15, 18, 21, 24, 28, 32]
TO_34: list[float] = [11, 13, 15, 17, 19, 21, 23, 26, 30, 34]


def town_parts() -> Wanted:
    """The town bicycle, new two years ago: one ring, eight sprockets, cable discs."""
    geometry = told("maker", stack_mm=560, reach_mm=400, head_angle_deg=71, seat_angle_deg=73, bb_drop_mm=65)
    geometry |= told("maker", seat_tube_length_mm=540, chainstay_mm=445, front_centre_mm=622, fork_axle_crown_mm=390)
    geometry |= told("maker", max_single_ring_teeth=46, max_system_mass_kg=130)
    parts = {
        **_frame("Town frame", geometry),
        **_cockpit(),
        "spacers": _new("spacers", "Spacers", inside_mm=28.6, outside_mm=34, height_mm=5),
        "lights-and-bell": _lights("Lights, bell, reflectors", "spokes"),
        "bottom-bracket": _new(
            "bottom-bracket",
            "Cartridge 68 × 113",
            kind="cartridge",
            **ENGLISH,
            shell_widths_mm=[68.0],
            spindle="square_jis",
            spindle_length_mm=113,
        ),
        "crankset": _new(
            "crankset",
            "Crankset, one ring",
            spindle="square_jis",
            arm_fixing="square_taper",
            ring_mount="bcd",
            bcd_mm=110,
            bolt_count=5,
            rings_count=1,
            arm_length_mm=170,
            arms_width_mm=172,
            chainline_mm=45,
            pedal_thread="9_16",
            material="aluminium",
        ),
        "chainring@outer": _ring("outer", 42, 2.38),
        "pedals": _new(
            "pedals",
            "Flat pedals",
            thread="9_16",
            kind="flat",
            bearing="closed",
            key="flats_15",
            half_width_mm=102,
            below_axle_mm=13,
            reflectors=True,
        ),
        **_drive(8, 32, links=110),
        **_wheel("front"),
        **_wheel("rear"),
        "cassette@rear": _cassette(TO_32, stack_mm=33.6),
    }
    return worth_of(parts, RIDDEN)


def tourer_parts() -> Wanted:
    """The tourer whose parts moved on: two rings on an outboard crankset, ten sprockets."""
    geometry = told("maker", stack_mm=585, reach_mm=378, head_angle_deg=71, chainstay_mm=450, front_centre_mm=610)
    parts = {
        **_frame("Green frame", geometry),
        **_cockpit(),
        "lights-and-bell": _lights("Lights and bell", "tyre_walls"),
        "bottom-bracket": _new(
            "bottom-bracket",
            "Outboard cups, worn",
            kind="outboard",
            **ENGLISH,
            shell_widths_mm=[68.0, 73.0],
            spindle="tube_24",
        ),
        "crankset": PartSent(
            category="crankset",
            name="Crankset, pinch bolts, two rings",
            tag="C1",
            origin="owned",
            km_before=0,
            specs=told("measured", spindle="tube_24", arm_fixing="pinch_bolts", arm_length_mm=170, rings_count=2)
            | told("measured", ring_mount="bcd", bcd_mm=110, bolt_count=5, pedal_thread="9_16", material="aluminium")
            | told("maker", fits_shell_mm=[68.0, 73.0], chainline_mm=46)
            | told("measured", arms_width_mm=168),
            torque_figures={"arm-bolt": figure(12, 14, "12–14 N·m"), "pedals.left-axle": figure(35, 45, "35–45 N·m")},
        ),
        "chainring@outer": _ring("outer", 46, 2.18),
        "chainring@inner": _ring("inner", 34, 2.18),
        "pedals": PartSent(
            category="pedals",
            name="Wide flat pedals",
            origin="owned",
            km_before=0,
            specs=told("maker", thread="9_16", kind="flat", bearing="closed", key="hex_6")
            | told("measured", half_width_mm=108, below_axle_mm=11, reflectors=False),
        ),
        **_drive(10, 34, links=114),
        **_wheel("front"),
        **_wheel("rear"),
        "cassette@rear": _cassette(TO_34),
    }
    return worth_of(parts, RIDDEN)


def _new(category: str, name: str, **facts: Fact) -> PartSent:
    """A part that was new, its facts by its leaflet."""
    return PartSent(category=category, name=name, specs=told("maker", **facts))


def _lights(name: str, side: str) -> PartSent:
    return _new(
        "lights-and-bell",
        name,
        power="battery",
        clamp_low_mm=22,
        clamp_high_mm=32,
        front_reflector="clear",
        rear_reflector="red",
        side_reflectors=side,
        bell=True,
        local_rules_checked=True,
    )


def _frame(name: str, geometry: Specs) -> Wanted:
    frame = told("measured", material="steel", wheel_bsd_mm=622, seatpost_mm=27.2, bb_shell="threaded_english")
    frame |= told("measured", bb_shell_width_mm=68, spacing_mm=135, dropout="vertical", axle_mm=10, routing="stops")
    frame |= told("measured", hanger="fixed_m10", brake_mount="post", seat_tube_od_top_mm=29.8, head_tube_length_mm=140)
    frame |= told("measured", head_upper_kind="external_cup", head_lower_kind="external_cup", freshly_painted=False)
    frame |= told("measured", chain_tension_by="derailleur", comes_with_parts=False, dropout_thickness_mm=6.5)
    frame |= told("measured", gap_tyre_width_mm=40, gap_side_mm=9, gap_crown_mm=15, post_depth_mm=240)
    frame |= told("measured", joint_below_top_mm=42, head_upper_bore_mm=33.9, head_lower_bore_mm=33.9)
    frame |= told("maker", native_rotor_mm=160, max_rotor_mm=180, fd_mount="band", fd_band_mm=28.6)
    fork = told("measured", material="steel", steerer_kind="threadless", steerer_material="steel", steerer_mm=28.6)
    fork |= told("measured", steerer_length_mm=207, crown_race_mm=30, wheel_bsd_mm=622, spacing_mm=100, axle_mm=9)
    fork |= told("measured", dropout="slot", brake_mount="post", freshly_painted=False, travel_mm=0, rake_mm=45)
    fork |= told("measured", dropout_thickness_mm=5, retention_lips=True, axle_crown_mm=390, crown_race_on=True)
    fork |= told("measured", gap_tyre_width_mm=40, gap_side_mm=10, gap_crown_mm=14, steerer_wanted_mm=207)
    fork |= told("maker", native_rotor_mm=160, max_rotor_mm=180, max_system_mass_kg=130)
    headset = told("maker", steerer_kind="threadless", upper_kind="external_cup", lower_kind="external_cup")
    headset |= told("maker", upper_grip_mm=28.6, lower_grip_mm=30, bearing="cartridge", cups_pressed=True)
    headset |= told("maker", upper_bore_mm=34, lower_bore_mm=34, stack_upper_mm=13.5, stack_lower_mm=11)
    return {
        "frame": PartSent(category="frame", name=name, specs=frame | geometry),
        "fork": PartSent(category="fork", name=name.replace("frame", "fork"), specs=fork),
        "headset": PartSent(category="headset", name="Headset", specs=headset | told("maker", steerer_stop="star_nut")),
    }


def _cockpit() -> Wanted:
    lever = told("maker", kind="cable", clamp_mm=22.2, cable_head="barrel", pull_family="long", reach_mm=76)
    wire = told("maker", sold_for_brakes=True, outer_build="coiled", outer_mm=5, inner_mm=1.5, head="barrel")
    calliper = told("maker", mount="post", moving_pads="one", pull_family="long", pad_shape="square 24")
    calliper |= told("maker", rotor_thickness_mm=1.8, rotor_min_mm=160, rotor_max_mm=180)
    pads = told("printed", shape="square 24", compound="organic", lining_new_mm=2.2)
    found = {
        "stem": _new(
            "stem",
            "Stem 90 mm",
            steerer_clamp_mm=28.6,
            bar_clamp_mm=31.8,
            clamp_height_mm=40,
            length_mm=90,
            angle_deg=6,
        ),
        "handlebar": _new(
            "handlebar",
            "Bar 640",
            clamp_mm=31.8,
            grip_mm=22.2,
            width_mm=640,
            width_wanted_mm=640,
            rise_mm=20,
            backsweep_deg=15,
            straight_each_side_mm=210,
            material="aluminium",
            max_rider_mass_kg=120,
        ),
        "grips": _new("grips", "Grips", grip_mm=22.2, length_mm=130, lock_on=True),
        "seatpost": _new(
            "seatpost",
            "Seat post 27.2",
            diameter_mm=27.2,
            length_mm=350,
            length_wanted_mm=350,
            exposed_mm=152,
            min_insert_mm=80,
            setback_mm=20,
            shape="round",
            max_rider_mass_kg=110,
            material="aluminium",
            clamp_bolts="one_m8",
            rail_accepts=["round_7"],
        ),
        "seat-clamp": _new("seat-clamp", "Seat clamp", inside_mm=29.8, kind="bolt", bolts="one"),
        "saddle": _new(
            "saddle", "Saddle", rail="round_7", width_mm=155, length_mm=268, height_mm=48, max_rider_mass_kg=120
        ),
    }
    for end, side in (("front", "left"), ("rear", "right")):
        found[f"brake-lever@{side}"] = PartSent(
            category="brake-lever",
            name=f"{side.capitalize()} lever",
            specs=lever | told("measured", works_brake=end),
        )
        found[f"brake-cable@{end}"] = PartSent(category="brake-cable", name=f"Brake cable, {end}", specs=wire)
        found[f"cable-disc-caliper@{end}"] = PartSent(
            category="cable-disc-caliper", name=f"Cable calliper, {end}", specs=calliper
        )
        found[f"brake-pads@{end}"] = PartSent(category="brake-pads", name=f"Pads, {end}", specs=pads)
    return found


def _ring(seat: str, teeth: int, chain_mm: float) -> PartSent:
    return _new(
        "chainring",
        f"Ring {teeth}",
        ring_teeth=teeth,
        ring_mount="bcd",
        bcd_mm=110,
        bolt_count=5,
        chain_inner_mm=chain_mm,
        seat=seat,
        bolt_material="alloy",
    )


def chain(count: int, name: str = "Chain", links: int = 110) -> PartSent:
    """A chain for so many sprockets."""
    return _new(
        "chain",
        f"{name}, {count} sprockets",
        sprockets_for_count=count,
        links_count=links,
        inner_mm=2.38 if count < 9 else 2.18,
        roller_family="standard",
        joint="joining_link",
        joining_reusable=count < 9,
    )


def _cassette(teeth: list[float], **more: Fact) -> PartSent:
    count, largest = len(teeth), teeth[-1]
    return _new(
        "cassette",
        f"Cassette {teeth[0]:g}–{largest:g}, {count} sprockets",
        driver="spline9",
        sprockets_count=count,
        smallest_teeth=teeth[0],
        largest_teeth=largest,
        sprockets_teeth=teeth,
        stack_kind="usual",
        roller_family="standard",
        **more,
    )


def _drive(count: int, largest: int, *, links: int) -> Wanted:
    wire = told("maker", inner_mm=1.2, outer_mm=4, outer_build="lengthwise", head="gear_small")
    return {
        "chain": chain(count, links=links),
        "rear-derailleur@rear": _new(
            "rear-derailleur",
            "Rear derailleur",
            actuation="cable",
            index_family="c",
            sprockets_count=count,
            largest_max_teeth=largest + 2,
            largest_min_teeth=25,
            mount="m10",
            capacity_teeth=39,
        ),
        "shifter@right": _new(
            "shifter",
            f"Shifter, {count} clicks",
            works_gear="rear",
            actuation="cable",
            positions_count=count,
            index_family="c",
            friction=False,
            mount="bar",
            clamp_mm=22.2,
            gear_cable_head="gear_small",
        ),
        "gear-cable@rear": PartSent(category="gear-cable", name="Gear cable", specs=wire),
    }


def _wheel(end: str) -> Wanted:
    """A wheel with a tube in it."""
    rear = end == "rear"
    hub: Specs = told("maker", side_use=end, old_mm=135 if rear else 100, axle="quick_release", holes_count=32)
    hub |= told("maker", axle_mm=10 if rear else 9, bearing="cup_and_cone", driver="spline9" if rear else "none")
    hub |= told("maker", rotor_fixing="six_bolt", spoke_head="bent", spoke_hole_mm=2.5)
    if rear:
        hub |= told("measured", locknut_to_smallest_mm=5)
    rim = told("maker", bsd_mm=622, inner_mm=21, outer_mm=26, depth_mm=20, holes_count=32, bead="hooked")
    rim |= told("maker", valve_hole_mm=6.5, rim_brake_track=False, nipple_hole_mm=4.4, max_tyre_mm=50)
    rim |= told("printed", max_pressure_kpa=500) | told("measured", offset_mm=0)
    tyre = told("printed", bsd_mm=622, width_marked_mm=40, pressure_min_kpa=250, pressure_max_kpa=500)
    tyre |= told("printed", set_up="tube", bead="wire", tread="road", rim_inner_min_mm=17, rim_inner_max_mm=25)
    tyre |= told("measured", pressure_planned_kpa=400 if rear else 350, reflective_wall=True)
    tube = told("printed", bsd_mm=[622.0], width_min_mm=37, width_max_mm=50, valve="slim_6", valve_length_mm=40)
    tube |= told("measured", removable_core=True, material="butyl")
    spokes = told("maker", gauge_mm=2.0, head="bent", nipple_thread="for_2_0", crosses_count=3)
    rotor = told("printed", diameter_mm=160, fixing="six_bolt", thickness_mm=1.8, min_thickness_mm=1.5)
    rotor |= told("printed", pad_limit="any") | told("measured", bolt_length_mm=10, bolt_hole_depth_mm=12)
    wheel = told("maker", built_by="factory", max_system_mass_kg=130)
    wheel |= told("measured", chain_stay_gap_mm=4) if rear else {}
    title = end.capitalize()
    found = {
        f"wheel@{end}": PartSent(category="wheel", name=f"{title} wheel", specs=wheel),
        f"hub@{end}": PartSent(category="hub", name=f"{title} hub", specs=hub),
        f"rim@{end}": PartSent(category="rim", name=f"{title} rim", specs=rim),
        f"rim-tape@{end}": _new("rim-tape", "Rim strip", kind="tube_strip", width_mm=18),
        f"tyre@{end}": PartSent(category="tyre", name="Tyre 40-622", specs=tyre),
        f"tube@{end}": PartSent(category="tube", name="Tube, slim valve 40", specs=tube),
        f"rotor@{end}": PartSent(category="rotor", name="Rotor 160", specs=rotor),
        f"axle@{end}": _new(
            "axle",
            f"{title} quick release",
            kind="quick_release",
            cam="enclosed",
            skewer_mm=5,
            axle_mm=10 if rear else 9,
            grip_length_mm=158 if rear else 122,
        ),
    }
    for side in ("left", "right"):
        found[f"spokes@{end}.{side}"] = PartSent(
            category="spokes", name=f"Spokes, {end} {side}", pieces=16, specs=spokes
        )
    return found
