"""The computations of a build as they are shown: gears, chain, spokes, tyre room, pressure, torque, and their facts."""

from typing import Literal
from uuid import UUID

from pydantic import Field

from service.schemas.fields import Shown

KnownBy = Literal["measured", "printed", "maker", "guessed", "chosen", ""]
Limit = Literal["enough", "not enough", "not known"]
Room = Literal["enough", "narrow", "too little", "not known"]
PressureAnswer = Literal["within", "close under the limit", "too low", "too high", "no pressure fits", "not known"]


class InputShown(Shown):
    """A fact that was reckoned with."""

    part: UUID | None = Field(description="The part it belongs to; null for one of the build's own.")
    category: str = Field(description="The part's category, or build.")
    place: str = Field(description="Where the part is.")
    field: str = Field(description="The spec's key; its unit ends it.")
    title: str = Field(description="The fact in words.")
    number: float | None = Field(description="In the unit that ends the key.")
    words: str | None = Field(description="A choice, or several numbers.")
    known_by: KnownBy = Field(description="How it is known.")


class NotKnownShown(Shown):
    """A fact that was wanted and is not entered."""

    part: UUID | None = Field(description="The part to enter it at; null where there is no such part yet.")
    category: str = Field(description="The part's category, or build.")
    place: str = Field(description="Where the part is, or would be.")
    field: str = Field(description="The spec's key.")
    title: str = Field(description="The fact in words.")
    how: str = Field(description="How to find it out.")


class Computed(Shown):
    """What every computation says beside its answer."""

    assumes: list[str] = Field(description="What it takes for granted, in sentences.")
    inputs: list[InputShown] = Field(description="What it was reckoned from.")
    not_known: list[NotKnownShown] = Field(description="What it lacks, with how to find it out.")


class GearLineShown(Shown):
    """One ring with one sprocket, and one gear of the hub where it has several."""

    ring_teeth: int = Field(description="Teeth of the ring.")
    sprocket_teeth: int = Field(description="Teeth of the sprocket.")
    hub_gear: int | None = Field(description="Which gear of the hub, from 1; null without a hub gear.")
    ratio: float = Field(description="Turns of the wheel for one of the crank.")
    development_m: float | None = Field(description="How far one turn of the crank goes, m.")
    gear_in: float | None = Field(description="Gear inches.")
    gain_ratio: float | None = Field(description="Way of the bicycle to way of the pedal.")
    speed_kmh: float | None = Field(description="Speed at the cadence asked for, km/h.")
    step_percent: float | None = Field(description="How much higher the next gear on this ring is; null on its last.")
    crossed: bool = Field(description="Whether the chain slants too far.")


class OverlapShown(Shown):
    """Two neighbouring rings."""

    larger_teeth: int = Field(description="Teeth of the larger ring.")
    smaller_teeth: int = Field(description="Teeth of the smaller ring.")
    gears_count: int = Field(description="Gears of the smaller ring that the larger one covers.")
    ring_step_percent: float = Field(description="How much higher a gear is on the larger ring.")


class DerailleurLimitShown(Shown):
    """What a derailleur must take and what it takes."""

    what: str = Field(description="Which limit of which derailleur.")
    wanted_teeth: int | None = Field(description="What these rings and sprockets want.")
    takes_teeth: int | None = Field(description="What the derailleur takes.")
    answer: Limit = Field(description="Whether that is enough.")


class GearsShown(Computed):
    """Every gear of a bicycle, from low to high."""

    gears: list[GearLineShown] = Field(description="From low to high.")
    range_percent: float | None = Field(description="The highest gear in percent of the lowest.")
    overlaps: list[OverlapShown] = Field(description="Neighbouring rings; empty where not every sprocket is known.")
    limits: list[DerailleurLimitShown] = Field(description="What the derailleurs take.")
    primary_ratio: float | None = Field(description="Least ring to largest sprocket before a hub gear.")
    least_primary_ratio: float | None = Field(description="The least that the hub's maker allows.")
    circumference_mm: float | None = Field(description="Once round the rear wheel.")
    crank_mm: float | None = Field(description="Length of the crank.")
    cadence_rpm: float | None = Field(description="Turns of the crank a minute, as asked.")
    complete: bool = Field(description="False where gears in between are left out because nobody entered them.")


class ChainShown(Computed):
    """How long a chain the bicycle wants; links are half an inch."""

    large_ring_teeth: int | None = Field(description="The largest ring.")
    large_sprocket_teeth: int | None = Field(description="The largest sprocket.")
    small_ring_teeth: int | None = Field(description="The smallest ring.")
    small_sprocket_teeth: int | None = Field(description="The smallest sprocket.")
    chainstay_mm: float | None = Field(description="Shell to rear axle.")
    derailleur: bool = Field(description="Whether a derailleur's cage takes one inch more.")
    links_approximate: float | None = Field(description="Taut over large and large, by the usual approximation.")
    links_exact: float | None = Field(description="The same by exact geometry.")
    links_needed_count: int | None = Field(description="The even number to fit, one inch for a derailleur included.")
    links_there_count: int | None = Field(description="What the chain has.")
    offcut_links_count: int | None = Field(description="What to take off; less than 0: so many are missing.")
    answer: Literal["long enough", "too short", "not known"] = Field(description="Whether the chain is long enough.")
    slack_teeth: float | None = Field(description="What hangs loose on small and small, as a capacity is counted.")
    capacity_teeth: int | None = Field(description="What the rear derailleur takes up.")
    slack_answer: Literal["taken up", "never ride small with small", "too much", "not known"] = Field(
        description="Whether the derailleur takes the slack up."
    )
    cannot: str | None = Field(description="Why there is no length, where the facts contradict each other.")


class SideSpokesShown(Shown):
    """The spokes of one side of a wheel."""

    side: str = Field(description="left or right.")
    crosses: int | None = Field(description="How many spokes each crosses.")
    spokes_count: int | None = Field(description="Spokes on this side.")
    length_mm: float | None = Field(description="Inside of the elbow to the tip.")
    order_mm: int | None = Field(description="The whole millimetre to buy.")
    there_mm: float | None = Field(description="Length of the spokes that are there.")
    difference_mm: float | None = Field(description="Theirs less what is wanted.")
    tension_percent: float | None = Field(description="In percent of the tighter side's.")
    tighter: bool | None = Field(description="Whether this is the tighter side.")


class SpokeOrderShown(Shown):
    """Spokes of one length to buy."""

    length_mm: int = Field(description="Their length.")
    quantity_count: int = Field(description="How many, spares included.")
    spares_count: int = Field(description="How many of them are spares.")


class WheelSpokesShown(Shown):
    """A laced wheel."""

    place: str = Field(description="front or rear.")
    wheel: str = Field(description="What the wheel is called.")
    sides: list[SideSpokesShown] = Field(description="Left, then right.")
    order: list[SpokeOrderShown] = Field(description="What to buy; nothing for spokes that are there and right.")
    dish_mm: float | None = Field(description="Middle between the flanges, left of the rim's plane; under 0: right.")
    cannot: str | None = Field(description="Why there is no length, where the facts contradict each other.")


class SpokesShown(Computed):
    """The spokes of every laced wheel."""

    wheels: list[WheelSpokesShown] = Field(description="Every wheel that is laced.")


class TyreGapShown(Shown):
    """One gap with the tyre that is there or planned."""

    where: str = Field(description="side, crown, bridge or seat tube, front derailleur.")
    measured_mm: float | None = Field(description="As it was measured.")
    measured_with_mm: float | None = Field(description="Width of the tyre it was measured with.")
    tyre_mm: float | None = Field(description="Width of the tyre now.")
    guard_mm: float = Field(description="What a mudguard takes of it, the room above the guard included.")
    gap_mm: float | None = Field(description="The gap with this tyre; less than 0: it does not go in.")
    wanted_mm: float = Field(description="The gap to keep.")
    least_mm: float = Field(description="The gap that must be there.")
    largest_tyre_mm: float | None = Field(description="The widest tyre that keeps the gap; null: none, or not known.")
    answer: Room = Field(description="How it stands.")


class EndRoomShown(Shown):
    """The gaps at one end."""

    place: str = Field(description="front or rear.")
    tyre: str | None = Field(description="The tyre that is there or planned.")
    tyre_mm: float | None = Field(description="Its width.")
    gaps: list[TyreGapShown] = Field(description="Every gap.")
    largest_tyre_mm: float | None = Field(description="The widest tyre that keeps every known gap and fits the rim.")
    rim_largest_tyre_mm: float | None = Field(description="The widest tyre that the rim's maker allows.")


class ToeShown(Shown):
    """Pedal to front tyre."""

    gap_mm: float | None = Field(description="At the worst angle.")
    wanted_mm: float = Field(description="The gap to keep.")
    answer: Room = Field(description="How it stands.")


class PedalGroundShown(Shown):
    """How far the bicycle leans before a pedal touches the ground."""

    lean_deg: float | None = Field(description="Degrees from upright.")
    wanted_deg: float = Field(description="What is asked.")
    answer: Room = Field(description="How it stands.")


class TyreRoomShown(Computed):
    """Room round the tyres and the pedals."""

    ends: list[EndRoomShown] = Field(description="Front, then rear.")
    toe: ToeShown = Field(description="Pedal to front tyre.")
    pedal_ground: PedalGroundShown = Field(description="Pedal to ground.")


class TyrePressureShown(Shown):
    """How hard one tyre may be pumped."""

    place: str = Field(description="front or rear.")
    tyre: str = Field(description="What the tyre is called.")
    tyre_mm: float | None = Field(description="Its width.")
    ceiling_kpa: float | None = Field(description="The highest pressure; null where nobody's limit is known.")
    governs: str | None = Field(description="Whose limit that is: tyre, rim, rim tape, hookless.")
    limits_missing: list[str] = Field(description="Whose limit is not known.")
    advised_kpa: float | None = Field(description="Advice from memory for a rim without a mark.")
    least_kpa: float | None = Field(description="The tyre's lowest pressure.")
    planned_kpa: float | None = Field(description="What is to be ridden.")
    answer: PressureAnswer = Field(description="How that stands.")


class PressuresShown(Computed):
    """The pressures of both tyres."""

    tyres: list[TyrePressureShown] = Field(description="Front, then rear.")


class TighteningShown(Shown):
    """One fastening; the part maker's figure governs."""

    fastening: str = Field(description="category.key.")
    title: str = Field(description="What is tightened.")
    place: str = Field(description="Where.")
    bolts_count: int = Field(description="How many.")
    thread: str | None = Field(description="Its thread.")
    left_hand: bool = Field(description="Whether it turns the other way.")
    low_nm: float | None = Field(description="Least; null where only a maximum is known, or it goes by feel.")
    high_nm: float | None = Field(description="Most; null where it goes by feel.")
    feel: str | None = Field(description="How it feels when it is right.")
    governs: str = Field(description="Whose figure it is.")
    by_maker: bool = Field(description="Whether a maker's figure is entered.")
    wrench: str | None = Field(description="One of yours that keeps within the range with its tolerance.")
    no_wrench: bool = Field(description="True where a torque is asked and none of yours covers it.")
    set_low_nm: float | None = Field(description="Least to set with the extension asked about.")
    set_high_nm: float | None = Field(description="Most to set with it.")
    bolt_most_nm: float | None = Field(description="What a dry steel bolt of this thread and the class asked takes.")
    over_bolt: bool = Field(description="Whether the most is over that.")
    dressing: str | None = Field(description="Grease, threadlock or dry.")
    note: str | None = Field(description="A remark.")
    care: str | None = Field(description="Makers that exclude one another, or a figure far from what is usual.")
    only_if: str | None = Field(description="What an unknown fact must turn out to be for this row to hold.")
    parts: list[UUID] = Field(description="The parts it joins.")


class TorqueSheetShown(Shown):
    """Every fastening of a bicycle."""

    fastenings: list[TighteningShown] = Field(description="Every fastening.")
    general_count: int = Field(description="How many go by the general range: no maker's figure is entered.")
    without_wrench_count: int = Field(description="How many none of your wrenches covers.")
    bolt_class: str = Field(description="The class of bolt that was reckoned with.")
    assumes: list[str] = Field(description="What it takes for granted, in sentences.")
    inputs: list[InputShown] = Field(description="The makers' figures it was drawn up from.")
    not_known: list[NotKnownShown] = Field(description="The fastenings without a maker's figure.")
