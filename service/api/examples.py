"""One example for every operation: the ids in its address and what is sent; a test sends each of them."""

from typing import Any

BUILD = "0199f2a1-7c00-7000-8000-000000000001"
CHAIN = "0199f2a1-7c00-7000-8000-000000000002"
STEM = "0199f2a1-7c00-7000-8000-000000000004"
FITTING = "0199f2a1-7c00-7000-8000-000000000005"
SWAPPED = "0199f2a1-7c00-7000-8000-000000000006"
SET_UP = "0199f2a1-7c00-7000-8000-000000000007"
CHECKLIST = "0199f2a1-7c00-7000-8000-000000000008"
RIDE = "0199f2a1-7c00-7000-8000-000000000009"
READING = "0199f2a1-7c00-7000-8000-00000000000a"
EVENT = "0199f2a1-7c00-7000-8000-00000000000b"
MEASUREMENT = "0199f2a1-7c00-7000-8000-00000000000c"
WRENCH = "0199f2a1-7c00-7000-8000-00000000000d"
ROW = "0199f2a1-7c00-7000-8000-00000000000e"
EXPENSE = "0199f2a1-7c00-7000-8000-00000000000f"
LEVER = "0199f2a1-7c00-7000-8000-000000000011"
LEVER_FITTED = "0199f2a1-7c00-7000-8000-000000000012"

RIDES_SHEET = """Date,Distance (km),Moving time,Climb (m)
2026-03-28,41.8,2:05:10,380
2026-03-29 09:15,18.2,0:52:00,90
"""

CHANNEL = "0199f2a1-7c00-7000-8000-000000000013"

PATHS: dict[str, tuple[str, str]] = {
    "build_id": ("The build.", BUILD),
    "part_id": ("The part.", CHAIN),
    "fitting_id": ("The fitting.", FITTING),
    "checklist_id": ("The checklist: a started job.", CHECKLIST),
    "join": ("The finding's join, as category.key@place.", "brake-lever.reach@left"),
    "step": ("The step, as category.key@place.", "chain.join"),
    "ride_id": ("The ride.", RIDE),
    "reading_id": ("The odometer reading.", READING),
    "event_id": ("The maintenance event.", EVENT),
    "measurement_id": ("The wear measurement.", MEASUREMENT),
    "channel_id": ("The channel.", CHANNEL),
    "person_id": ("The person.", ROW),
    "wrench_id": ("The torque wrench.", WRENCH),
    "device_id": ("The device: a browser or a token.", ROW),
    "request_id": ("The request, as the journal names it.", ROW),
    "category": ("The category's id.", "chain"),
    "field": ("The key of the fact.", "links_count"),
    "fastening": ("The fastening, as key or category.key.", "steerer-clamp"),
    "task": ("The task or wearing dimension, as category.key.", "chain.lubricate"),
    "tool": ("The tool, as id or id:size.", "hex:5"),
}
"""What each name in an address means, with an example; where an operation needs another, OTHER_PATHS has it."""

OTHER_PATHS: dict[str, dict[str, str]] = {
    "set_torque_figure": {"part_id": STEM},
    "remove_torque_figure": {"part_id": STEM},
    "plan_part": {"part_id": STEM},
    "unplan_part": {"part_id": STEM},
    "put_off_build_task": {"task": "whole-bicycle.yearly"},
    "cancel_build_put_off": {"task": "whole-bicycle.yearly"},
    "set_build_rule": {"task": "whole-bicycle.yearly"},
    "drop_build_rule": {"task": "whole-bicycle.yearly"},
}

TRACK = """<?xml version="1.0" encoding="UTF-8"?>
<gpx version="1.1" creator="a receiver" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>
<trkpt lat="47.5000" lon="8.7000"><ele>440.0</ele><time>2026-04-11T07:05:00Z</time></trkpt>
<trkpt lat="47.5010" lon="8.7010"><ele>446.5</ele><time>2026-04-11T07:05:30Z</time></trkpt>
</trkseg></trk></gpx>
"""

BODIES: dict[str, Any] = {
    "add_part": {
        "id": CHAIN,
        "category": "chain",
        "name": "Chain, 11 sprockets",
        "tag": "B7",
        "origin": "second-hand",
        "km_before": 1240.5,
        "mass_weighed_g": 247.0,
        "price": {"minor": 900, "currency": "EUR"},
        "specs": {"inner_mm": {"number": 2.18, "known_by": "printed"}, "links_count": {"number": 114}},
    },
    "change_part": {"note": "Cleaned and oiled.", "tag": None},
    "set_spec": {"number": 112, "known_by": "measured"},
    "set_torque_figure": {"high_nm": 5.0, "as_printed": "max. 5 N·m"},
    "add_build": {"id": BUILD, "name": "Grey all-road", "use": "mixed", "rider_mass_g": 78000},
    "change_build": {"state": "in service", "load_g": 9000},
    "fit_part": {"id": FITTING, "part": CHAIN, "at": "2026-03-14T17:10:00Z"},
    "change_fitting": {"end_day": "2026-04-20", "end_rides": "after", "why_removed": "Worn."},
    "swap_part": {
        "id": SWAPPED,
        "off": CHAIN,
        "same_again": True,
        "at": "2026-04-20T18:00:00Z",
        "why_removed": "0.75 goes in.",
    },
    "plan_part": {"id": ROW, "place": "", "note": "20 mm shorter."},
    "accept_finding": {"reason": "Long fingers; tried it on a stand.", "fingerprint": "3e5f8ff07895"},
    "add_set_up": {"id": SET_UP, "at": "2026-04-11T16:00:00Z", "saddle_height_mm": 725.0, "front_kpa": 280.0},
    "add_expense": {
        "id": EXPENSE,
        "kind": "carriage",
        "amount": {"minor": 690, "currency": "EUR"},
        "day": "2026-04-10",
        "note": "The wheels.",
    },
    "work_out_what_if": {
        "parts": [
            {
                "category": "stem",
                "name": "Shorter stem",
                "place": "",
                "price": {"minor": 2490, "currency": "EUR"},
                "mass_g": 128.0,
                "specs": {"length_mm": {"number": 60}, "bar_clamp_mm": {"number": 31.8, "known_by": "maker"}},
            }
        ]
    },
    "work_out_comparison": {"sides": [{"build": BUILD, "chosen": [{"part": STEM}]}, {"build": BUILD}]},
    "work_out_gear": {"ring_teeth": 42, "sprocket_teeth": 17, "bead_seat_mm": 622, "tyre_mm": 40, "crank_mm": 172.5},
    "work_out_chain_length": {"ring_teeth": 44, "sprocket_teeth": 16, "chainstay_mm": 419.1},
    "work_out_spoke_length": {
        "hole_circle_mm": 58,
        "flange_offset_mm": 39,
        "effective_rim_mm": 555,
        "spoke_hole_mm": 2.6,
        "spokes_count": 36,
        "crosses": 3,
    },
    "work_out_torque_extension": {"wanted_nm": 40.7, "wrench_mm": 305, "extension_mm": 152, "angle_deg": 0},
    "work_out_bolt_torque": {"thread": "M5", "strength_class": "8.8", "nut_factor": 0.2, "proof_share": 0.75},
    "work_out_torque_units": {"torque": 44, "unit": "lbf·in"},
    "work_out_tyre": {"bead_seat_mm": 622, "tyre_mm": 40, "rim_inner_mm": 21, "tyre_max_kpa": 400},
    "work_out_clearance": {"tyre_mm": 38, "gap_mm": 8, "new_tyre_mm": 42, "required_mm": 6},
    "work_out_critical_path": {
        "steps": [{"key": "wax", "minutes": 720}, {"key": "shell", "minutes": 20, "after": ["wax"]}]
    },
    "work_out_track": TRACK,
    "add_ride_from_track": TRACK,
    "add_rides_from_sheet": RIDES_SHEET,
    "start_checklist": {"id": CHECKLIST, "job": "replace", "about_part": CHAIN},
    "finish_checklist": {"finished": True},
    "tick_step": {
        "state": "done",
        "fingerprint": "00000005",
        "at": "2026-04-11T16:30:00Z",
        "note": "Second pin was stiff, now free.",
        "records": {"check:joint": "right"},
    },
    "log_ride": {
        "id": RIDE,
        "build": BUILD,
        "started_at": "2026-04-11T09:05:00+02:00",
        "km": 62.4,
        "moving_s": 9300,
        "climb_m": 640,
        "conditions": "wet",
    },
    "change_ride": {"km": 64.2, "note": "The way home was missing."},
    "read_odometer": {"id": READING, "build": BUILD, "day": "2026-04-12", "km": 1310.0},
    "change_odometer_reading": {"km": 1301.0},
    "log_maintenance_event": {
        "id": EVENT,
        "part": CHAIN,
        "kind": "cleaned",
        "found": "fine",
        "day": "2026-04-12",
        "tasks": ["chain.clean", "chain.lubricate"],
    },
    "change_maintenance_event": {"found": "worn", "tasks": ["chain.clean"]},
    "measure_wear": {
        "id": MEASUREMENT,
        "part": CHAIN,
        "dimension": "elongation_percent",
        "reading": 0.3,
        "tool": "rule",
        "day": "2026-04-12",
    },
    "change_wear_measurement": {"low": 0.35, "note": "Read again, chain clean."},
    "put_off_part_task": {"until_on": "2026-05-10", "reason": "Oil is ordered."},
    "add_calendar": {"title": "Phone"},
    "put_off_build_task": {"until_km": 2500.0, "reason": "After the tour."},
    "set_part_rule": {"km": 200.0, "reason": "Ridden on sand."},
    "set_build_rule": {"off": True, "reason": "A shop does it each spring."},
    "add_wrench": {"id": WRENCH, "title": "Small wrench", "low_nm": 2.0, "high_nm": 24.0, "tolerance_percent": 4.0},
    "add_channel": {"id": CHANNEL, "kind": "webhook", "address": "https://home.example/hook", "weekly_on": 5},
    "change_channel": {"weekly_on": 4, "off": False},
    "change_me": {"weekly_km": 60},
    "change_workshop": {"name": "Shed", "time_zone": "Europe/Berlin"},
}

QUERIES: dict[str, dict[str, Any]] = {
    "get_gearing": {"cadence_rpm": 90},
    "get_torque": {"wrench_mm": 300, "extension_mm": 60},
    "get_position": {"forward_mm": 430, "up_mm": 640, "inseam_mm": 820},
    "work_out_track": {"climb_threshold_m": 2},
    "add_ride_from_track": {"build": BUILD, "conditions": "dusty"},
    "add_rides_from_sheet": {"build": BUILD, "when": "Date", "distance": "Distance (km)"},
    "list_parts": {"category": "chain", "in_bin": False},
    "list_builds": {"limit": 20},
    "draw_category_checklist": {"job": "assemble"},
    "list_rides": {"build": BUILD, "from": "2026-04-01"},
    "list_odometer_readings": {"build": BUILD},
    "list_maintenance_events": {"part": CHAIN},
    "list_wear_measurements": {"part": CHAIN},
    "list_due": {"build": BUILD},
    "get_tour": {"km": 1200, "days": 21, "leaving": "2026-05-25", "descents": True},
    "list_trouble": {"stage": "riding", "build": BUILD},
    "read_journal": {"noun": "ride", "id": RIDE},
}
