"""Doubts to be planted in the tiny library, each with the line it must be reported on."""

from tests.library.planted import CALLIPER, FORK, FRAME, WHOLE, Planted

WARNINGS: dict[str, Planted] = {
    "a torque above what the bolt takes": (CALLIPER, 'thread = "M6"', 'thread = "M4"', "high_nm = 8", "4.4 N·m"),
    "a step of a task that is of another job": (
        CALLIPER,
        'jobs = ["assemble", "replace", "service"]\n',
        "",
        'steps = ["tighten"]',
        'neither job "service" nor "check"',
    ),
    "a stand-in that lacks what a join reads": (
        FORK,
        'end = "front"',
        'end = "front"\nstands_in_for = ["brake-lever"]',
        "stands_in_for = ",
        "not seen by cable-disc-caliper.lever-pull (pull_family)",
    ),
    "a safety step with nothing to say": (
        FRAME,
        "fits = true\nminutes = 5",
        "fits = true\nminutes = 5\nsafety = true",
        'key = "hold"',
        "caution or a record",
    ),
    "a milestone that nobody gives": (
        FRAME,
        'gives = ["frame-inspected"]\n',
        "",
        'needs = ["frame-inspected"]',
        "nobody gives the milestone 'frame-inspected'",
    ),
    "a milestone that nobody needs": (
        WHOLE,
        'needs = ["brake-set"]\n',
        "",
        'key = "brake-set"',
        "nobody needs the milestone 'brake-set'",
    ),
    "a home step between two shop steps": (
        CALLIPER,
        'one_of = "pad setting"\nwhen = { moving_pads = "one" }',
        'where = "shop"\none_of = "pad setting"\nwhen = { moving_pads = "one" }',
        'key = "hang"',
        "between two shop steps",
    ),
    "a category without second-hand looks": (
        FORK,
        'exempt = { used = "there is nothing to see" }\n',
        "",
        'category = "fork"',
        "nothing to look at on a second-hand one",
    ),
    "a dimension that no task reads": (
        CALLIPER,
        '"wear:lining_mm"',
        '"check:lining"',
        'key = "lining_mm"',
        "no step of a task records wear:lining_mm",
    ),
}
