"""The rider's position on a build as it is shown: points, set-ups over time, what reaches a target."""

from datetime import datetime
from uuid import UUID

from pydantic import Field

from service.schemas.computed import Computed, NotKnownShown
from service.schemas.fields import Shown


class PointShown(Shown):
    """A point from the middle of the shell, the bicycle level."""

    forward_mm: float = Field(description="Towards the front wheel; behind the shell is less than 0.")
    up_mm: float = Field(description="Over the shell.")


class HandsShown(Shown):
    """Where the hands may be."""

    where: str = Field(description="grips, hoods, tops, drops.")
    point: PointShown = Field(description="The point.")


class StemShown(Shown):
    """A stem."""

    length_mm: float = Field(description="Middle to middle.")
    angle_deg: float = Field(description="From square to the steerer, up is plus.")


class ReachedShown(Shown):
    """A stem with spacers, and how far the bar then is from the target."""

    spacers_mm: float = Field(description="Under the stem.")
    stem: StemShown = Field(description="The stem.")
    forward_off_mm: float = Field(description="More than 0: beyond the target.")
    up_off_mm: float = Field(description="More than 0: above it.")
    off_mm: float = Field(description="Straight across.")


class TargetReachedShown(Shown):
    """What brings the bar to a target."""

    target: PointShown = Field(description="As it was asked.")
    with_this_stem: ReachedShown | None = Field(description="The stem there is; null where it is not known.")
    stems: list[ReachedShown] = Field(description="Stems that come nearest, the nearest first.")
    most_spacers_mm: float = Field(description="The most spacers that were allowed.")


class SaddleStartShown(Shown):
    """A published saddle height to start from."""

    rule: str = Field(description="The rule.")
    saddle_height_mm: float = Field(description="Shell to saddle top.")


class ChangeShown(Shown):
    """One figure of two set-ups, in the unit that ends its field."""

    field: str = Field(description="The field of the set-up.")
    title: str = Field(description="What it is.")
    before: float | None = Field(description="In the earlier one.")
    after: float | None = Field(description="In the later one.")
    by: float | None = Field(description="Later less earlier; null where one of them does not say.")


class SetUpSeenShown(Shown):
    """A set-up with what changed since the one before."""

    id: UUID = Field(description="The set-up.")
    at: datetime = Field(description="When.")
    note: str = Field(description="A remark.")
    changes: list[ChangeShown] = Field(description="Every figure, against the last that was written down before.")


class PositionShown(Computed):
    """Bar, hands and saddle from the parts, and what was written down."""

    bar: PointShown | None = Field(description="The middle of the bar's clamp.")
    hands: list[HandsShown] = Field(description="Where the hands may be.")
    saddle_clamp: PointShown | None = Field(description="The middle of the rails.")
    saddle_top: PointShown | None = Field(description="The saddle's top over it.")
    saddle_height_mm: float | None = Field(description="Straight from the shell to the saddle's top.")
    bar_below_saddle_mm: float | None = Field(description="The bar's clamp under the saddle's top; under 0: over it.")
    spacers_mm: float | None = Field(description="Spacers under the stem that were reckoned with.")
    most_spacers_mm: float | None = Field(description="The most: the fork's figure, else common practice.")
    steerer_mm: float | None = Field(description="Crown seat to top that these spacers and this stem want.")
    steerer_there_mm: float | None = Field(description="What the steerer has.")
    reached: TargetReachedShown | None = Field(description="What reaches the target; null where none was asked.")
    starts: list[SaddleStartShown] = Field(description="Saddle heights to start from; empty without an inseam.")
    to_decide: list[NotKnownShown] = Field(description="What must be settled by riding before anything is cut.")
    set_ups: list[SetUpSeenShown] = Field(description="Newest first.")
    difference: list[ChangeShown] = Field(description="Of the two set-ups asked about; empty where none were.")
