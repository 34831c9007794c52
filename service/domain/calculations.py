"""Every calculation that a join of the library can name with `by`."""

from collections.abc import Mapping

from service.domain import ceilings, drive_line, laced_wheel, room, safeguards, seat_post, slack, stack
from service.domain.calculation import Calculation

CALCULATIONS: Mapping[str, Calculation] = {
    each.name: each
    for each in (
        *(stack.steerer_stack, stack.threaded_stack),
        *(seat_post.post_depth, seat_post.dropper_insertion, seat_post.dropper_depth),
        *(slack.chain_length, slack.derailleur_capacity),
        *(drive_line.chainline, drive_line.shift_index, drive_line.front_derailleur_rings, drive_line.hub_gear_ratio),
        *(room.clearance_side, room.clearance_crown, room.front_derailleur_tyre, room.guard_room),
        *(room.toe_room, room.pedal_ground, room.overall_diameter),
        *(laced_wheel.spoke_length, ceilings.pressure_ceiling, ceilings.mass_limit, ceilings.rack_load),
        *(safeguards.two_brakes, safeguards.chain_guard, safeguards.reflectors),
    )
}
"""By name."""


def owned(fact: str, owner: str) -> str:
    """A fact as a calculation names it: the owner's own without its category."""
    role, dot, key = fact.rpartition(".")
    return key if dot and role == owner else fact
