"""The stand-alone calculations as they are sent and shown: everything they need comes with the request."""

from datetime import datetime
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from service.schemas.fields import Key, Number, Sent, Shown, Switch, Text, TorqueNm, Whole, WrongField, absent

Teeth = Annotated[Whole, Field(ge=1, le=200)]
ChainTeeth = Annotated[Whole, Field(ge=6, le=200)]
Kpa = Annotated[Number, Field(gt=0, le=2000)]
TyreMm = Annotated[Number, Field(ge=10, le=150)]
BeadSeatMm = Annotated[Number, Field(ge=150, le=800)]
Unit = Literal["N·m", "lbf·in", "lbf·ft", "kgf·cm"]
StrengthClass = Literal["8.8", "10.9", "12.9", "A2-70", "A4-70", "A4-80"]


class GearSent(Sent):
    """A ring, a sprocket and a wheel; the wheel by one of three ways."""

    ring_teeth: Teeth = Field(description="Teeth of the chainring.")
    sprocket_teeth: Teeth = Field(description="Teeth of the sprocket.")
    bead_seat_mm: BeadSeatMm | None = absent("Bead seat diameter of the tyre, mm; together with `tyre_mm`.")
    tyre_mm: TyreMm | None = absent("Width of the tyre, mm; together with `bead_seat_mm`.")
    circumference_mm: Annotated[Number, Field(ge=300, le=4000)] | None = absent("Once round the wheel, mm, rolled out.")
    wheel_diameter_in: Annotated[Number, Field(ge=5, le=60)] | None = absent("Diameter of the wheel, inches.")
    crank_mm: Annotated[Number, Field(ge=50, le=250)] | None = absent("Length of the crank, mm, for the gain ratio.")
    cadence_rpm: Annotated[Number, Field(gt=0, le=300)] | None = absent("Turns of the crank a minute, for the speed.")

    @model_validator(mode="after")
    def _one_wheel(self) -> Self:
        if (self.bead_seat_mm is None) != (self.tyre_mm is None):
            missing = "tyre_mm" if self.tyre_mm is None else "bead_seat_mm"
            raise WrongField(missing, "bead_seat_mm and tyre_mm go together")
        given = [
            each for each in (self.bead_seat_mm, self.circumference_mm, self.wheel_diameter_in) if each is not None
        ]
        if len(given) != 1:
            raise WrongField(
                "circumference_mm",
                "give the wheel one way: bead_seat_mm with tyre_mm, or circumference_mm, or wheel_diameter_in",
            )
        return self


class GearShown(Shown):
    """A gear."""

    ratio: float = Field(description="Turns of the wheel for one of the crank.")
    development_m: float = Field(description="How far one turn of the crank goes, m.")
    gear_in: float = Field(description="Diameter of the wheel that would go as far if driven directly, inches.")
    gain_ratio: float | None = Field(description="Way of the bicycle to way of the pedal; null without a crank length.")
    speed_kmh: float | None = Field(description="Speed at the cadence, km/h; null without one.")
    circumference_mm: float = Field(description="The circumference it was reckoned with, mm.")


class ChainLengthSent(Sent):
    """A ring, a sprocket, and the distance between their axles."""

    ring_teeth: ChainTeeth = Field(description="Teeth of the chainring.")
    sprocket_teeth: ChainTeeth = Field(description="Teeth of the sprocket.")
    chainstay_mm: Annotated[Number, Field(ge=100, le=3000)] = Field(description="Bottom bracket to rear axle, mm.")


class ChainLengthShown(Shown):
    """Links of a taut run, half an inch each."""

    links_approximate: float = Field(description="By the usual approximation.")
    links_exact: float = Field(description="By the exact geometry.")
    links_to_fit: int = Field(description="The next even whole number that is not shorter.")


class SpokeLengthSent(Sent):
    """One side of a wheel."""

    hole_circle_mm: Annotated[Number, Field(gt=0, le=300)] = Field(
        description="Diameter of the flange's hole circle, mm."
    )
    flange_offset_mm: Annotated[Number, Field(ge=0, le=150)] = Field(description="Middle plane to flange, mm.")
    effective_rim_mm: Annotated[Number, Field(gt=0, le=800)] = Field(description="Effective rim diameter, mm.")
    spoke_hole_mm: Annotated[Number, Field(ge=0, le=6)] = Field(description="Diameter of the spoke hole, mm.")
    spokes_count: Annotated[Whole, Field(ge=8, le=144)] = Field(description="Spokes of the whole wheel.")
    crosses: Annotated[Whole, Field(ge=0, le=9)] = Field(description="Spokes that each spoke crosses; 0 is radial.")
    tight_side: Switch = Field(default=False, description="The side with the higher tension: rounded down.")


class SpokeLengthShown(Shown):
    """How long the spokes of this side must be."""

    length_mm: float = Field(description="Inside of the elbow to the tip, mm.")
    order_mm: int = Field(description="The whole millimetre to buy.")


class TorqueExtensionSent(Sent):
    """A wanted torque and a wrench with an extension on it."""

    wanted_nm: TorqueNm = Field(description="Torque at the bolt, N·m.")
    wrench_mm: Annotated[Number, Field(gt=0, le=2000)] = Field(description="Drive to the middle of the grip, mm.")
    extension_mm: Annotated[Number, Field(ge=0, le=2000)] = Field(description="Drive to bolt, mm.")
    angle_deg: Annotated[Number, Field(ge=0, le=180)] = Field(
        default=0, description="0 in line, 90 at a right angle, 180 back towards the handle."
    )


class TorqueExtensionShown(Shown):
    """What to set."""

    set_nm: float = Field(description="Setting of the wrench, N·m.")


class BoltTorqueSent(Sent):
    """A steel bolt in steel; not for aluminium, plastic or carbon, which give way first."""

    thread: Annotated[Text, Field(min_length=2, max_length=20)] = Field(description="Coarse metric thread, such as M5.")
    strength_class: StrengthClass = Field(description="As on the head.")
    nut_factor: Annotated[Number, Field(ge=0.05, le=0.5)] = Field(default=0.2, description="K: 0.20 dry, 0.15 oiled.")
    proof_share: Annotated[Number, Field(gt=0, le=1)] = Field(default=0.75, description="Share of the proof load.")


class BoltTorqueShown(Shown):
    """What the bolt takes."""

    stress_area_mm2: float = Field(description="Stress area, mm².")
    proof_load_n: float = Field(description="Proof load, N.")
    preload_n: float = Field(description="Clamping force, N.")
    torque_nm: float = Field(description="Torque that gives it, N·m.")


class TorqueUnitsSent(Sent):
    """A torque in one unit."""

    torque: Annotated[Number, Field(gt=0, le=100_000)] = Field(description="The torque.")
    unit: Unit = Field(description="Its unit.")


class TorqueUnitsShown(Shown):
    """The same torque in every unit, each under the unit's own sign."""

    newton_metres: float = Field(serialization_alias="N·m", description="N·m.")
    pound_inches: float = Field(serialization_alias="lbf·in", description="lbf·in.")
    pound_feet: float = Field(serialization_alias="lbf·ft", description="lbf·ft.")
    kilogram_centimetres: float = Field(serialization_alias="kgf·cm", description="kgf·cm.")


class TyreSent(Sent):
    """A tyre, and what is known of the rim."""

    bead_seat_mm: BeadSeatMm = Field(description="Bead seat diameter, mm: the second number of 37-622.")
    tyre_mm: TyreMm = Field(description="Width, mm: the first number.")
    rim_inner_mm: Annotated[Number, Field(ge=8, le=120)] | None = absent("Width between the rim's hooks, mm.")
    tyre_max_kpa: Kpa | None = absent("Highest pressure on the tyre, kPa (1 bar is 100).")
    rim_max_kpa: Kpa | None = absent("Highest pressure on the rim, kPa.")
    hookless: Switch = Field(default=False, description="Whether the rim has straight sides.")


class TyreShown(Shown):
    """Size, fit and pressure."""

    circumference_mm: float = Field(description="Once round, unloaded, mm; within half a percent.")
    diameter_mm: float = Field(description="Outside diameter, mm.")
    fits: bool | None = Field(description="Whether table and rim agree; null where the rim's width is not given.")
    answer: Literal["meets", "needs care", "conflicts", "not measured yet"] = Field(description="How the widths meet.")
    say: str = Field(description="What it means.")
    ceiling_kpa: float | None = Field(description="The highest pressure, kPa; null where nobody's is known.")
    governs: Literal["tyre", "rim", "hookless"] | None = Field(description="Whose limit that is.")
    not_known: list[str] = Field(description="Limits that are not known.")
    advised_kpa: float | None = Field(description="Advice from memory for a rim without a mark, kPa; null with one.")


class ClearanceSent(Sent):
    """A gap measured with one tyre, and another tyre on the same rim."""

    tyre_mm: TyreMm = Field(description="Width of the tyre in it, mm, on this rim.")
    gap_mm: Annotated[Number, Field(ge=0, le=150)] = Field(description="The gap with it, mm, at its tightest.")
    new_tyre_mm: TyreMm = Field(description="Width of the other tyre, mm, on this rim.")
    required_mm: Annotated[Number, Field(ge=0, le=100)] = Field(default=6, description="The gap to keep, mm.")
    gap: Literal["side", "crown"] = Field(
        default="side", description="side: at stay or fork leg; crown: at crown, bridge or seat tube."
    )


class ClearanceShown(Shown):
    """What the other tyre leaves."""

    new_gap_mm: float = Field(description="The gap with the other tyre, mm; less than 0: it does not go in.")
    largest_tyre_mm: float | None = Field(description="The widest tyre that keeps the gap, mm; null where none does.")


class ActivitySent(Sent):
    """A step that takes time."""

    key: Key = Field(description="Its name.")
    minutes: Annotated[Number, Field(ge=0, le=10_000_000)] = Field(description="How long it takes.")
    after: Annotated[list[Key], Field(max_length=500)] = Field(default_factory=list, description="What it waits for.")


class CriticalPathSent(Sent):
    """Steps and what each waits for."""

    steps: Annotated[list[ActivitySent], Field(min_length=1, max_length=2000)] = Field(description="The steps.")


class ActivityShown(Shown):
    """When a step can start, and how late it may."""

    key: str = Field(description="Its name.")
    earliest_start: float = Field(description="Minutes from the beginning.")
    earliest_finish: float = Field(description="Minutes from the beginning.")
    latest_start: float = Field(description="Minutes from the beginning, without moving the end.")
    latest_finish: float = Field(description="Minutes from the beginning, without moving the end.")
    slack: float = Field(description="How many minutes it may slip.")


class CriticalPathShown(Shown):
    """The times, and what may not slip."""

    steps: list[ActivityShown] = Field(description="As they were sent.")
    total: float = Field(description="Minutes from beginning to end.")
    critical: list[str] = Field(description="The steps without slack, in an order in which they can be done.")


class SegmentShown(Shown):
    """What was recorded without a gap."""

    points_count: int = Field(description="Its points.")
    km: float = Field(description="Its length on the ellipsoid, km.")
    climb_m: float | None = Field(description="Its climb; null without heights.")
    moving_s: float | None = Field(description="Its moving time; null without times.")


class TrackShown(Shown):
    """How far, how high and how long; nothing of the track is kept."""

    km: float = Field(description="Length on the ellipsoid, km; segments are never joined.")
    climb_m: float | None = Field(description="Rises, m, by the rule beside it; null without heights.")
    moving_s: float | None = Field(description="Time in motion, s, by the rule beside it; null without times.")
    segments: int = Field(description="How many segments have points.")
    points_count: int = Field(description="How many points they have.")
    by_segment: list[SegmentShown] = Field(description="Each segment.")
    started_at: datetime | None = Field(description="The first time; null without times.")
    elapsed_s: float | None = Field(description="From the first time to the last, s.")
    climb_threshold_m: float = Field(description="The threshold that the climb was counted with.")
    climb_rule: str = Field(description="How the climb is counted.")
    moving_rule: str = Field(description="How moving time is counted.")
