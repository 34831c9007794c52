"""The wear of a part as it is shown: readings, level and rate now, limits, the forecast or why there is none."""

from datetime import date, datetime
from uuid import UUID

from pydantic import Field

from service.domain.limit import sign
from service.domain.standing import Due
from service.domain.wear import UNEVEN
from service.domain.wear_due import Worn
from service.domain.wear_life import Seen
from service.schemas.care import DaysBetween, KmBetween
from service.schemas.fields import Shown

KM = 1000


class ReadingShown(Shown):
    """A reading where it stands on the part's own distance."""

    id: UUID = Field(description="The measurement.")
    at: datetime = Field(description="When.")
    day: date = Field(description="The day.")
    km: float = Field(description="What the part had run by then, km.")
    low: float = Field(description="The reading, or the last mark that goes in.")
    high: float | None = Field(description="The reading, or the first mark that does not; null: beyond the last.")
    tool: str | None = Field(description="What it was measured with.")
    expected: float | None = Field(description="What was expected of it; null for the first of an unknown past.")
    doubt: str | None = Field(description="improves, unexpected; null where it is taken as it is.")


class LevelShown(Shown):
    """A level with its standard deviation."""

    middle: float = Field(description="The middle.")
    sd: float = Field(description="Its standard deviation.")


class RateShown(Shown):
    """How fast it wears."""

    unit: str = Field(description="For a thousand km (equivalent ones), or for thirty days.")
    middle: float = Field(description="The middle, in the dimension's unit.")
    sd: float = Field(description="Its standard deviation.")
    prior_share: float = Field(description="How much of it is still common practice, 1 to 0.")
    basis: str = Field(description="Where that common practice comes from.")
    source: str | None = Field(description="Its source, where there is one.")


class LimitShown(Shown):
    """A limit that governs."""

    action: str = Field(description="replace, stop, look.")
    reading: float = Field(description="At this reading.")
    basis: str = Field(description="Where it comes from.")
    source: str | None = Field(description="Its source, where there is one.")


class WearLifeShown(Shown):
    """One wearing dimension of a part at one place."""

    dimension: str = Field(description="The dimension; its unit is the end of its key.")
    title: str = Field(description="Its name.")
    place: str = Field(description="Where on the part.")
    state: str = Field(description="Where it stands, as in due.")
    why: str = Field(description="What was read and when, the limit, and what is to be expected.")
    readings: list[ReadingShown] = Field(description="Oldest first.")
    now: LevelShown | None = Field(description="What it is likely to read now; null where nothing tells.")
    rate: RateShown | None = Field(description="How fast it wears; null where no rate is known.")
    limits: list[LimitShown] = Field(description="The limits that govern.")
    km_left: KmBetween | None = Field(description="Km left, as it is ridden lately; null where distance tells nothing.")
    on: DaysBetween | None = Field(description="When it is reached; null where that cannot be told.")
    chance: float | None = Field(description="How likely it is past its limit by now, 0 to 1.")
    model: str = Field(description="What the forecast is made of.")
    refused: str | None = Field(description="Why there is no forecast, or no day; null where there is one.")


class WearList(Shown):
    """All wearing dimensions of a part."""

    items: list[WearLifeShown] = Field(description="In the order of its category.")
    next: str | None = Field(description="Always null: they come whole.")


def show_wear(worn: Worn, due: Due) -> WearLifeShown:
    """One dimension with where it stands."""
    life = worn.life
    return WearLifeShown(
        dimension=worn.wear.key,
        title=due.title,
        place=worn.place,
        state=due.state,
        why=due.why,
        readings=[_reading(each, worn) for each in life.seen],
        now=_now(worn),
        rate=_rate(worn),
        limits=[_limit(action, worn) for action in worn.limits],
        km_left=None if due.km_left is None else KmBetween.model_validate(due.km_left),
        on=None if due.on is None else DaysBetween.model_validate(due.on),
        chance=due.chance,
        model=_model(worn),
        refused=due.refused,
    )


def _reading(seen: Seen, worn: Worn) -> ReadingShown:
    each = seen.measurement
    return ReadingShown(
        id=each.id,
        at=each.at,
        day=each.day,
        km=seen.part_metres / KM,
        low=each.low,
        high=each.high,
        tool=each.tool,
        expected=None if seen.expected is None else sign(worn.wear) * seen.expected,
        doubt=seen.doubt,
    )


def _now(worn: Worn) -> LevelShown | None:
    now = worn.life.worn
    return None if now is None else LevelShown(middle=sign(worn.wear) * now.wear, sd=max(now.wear_var, 0.0) ** 0.5)


def _rate(worn: Worn) -> RateShown | None:
    life = worn.life
    if life.worn is None or life.rate is None or life.prior_share is None:
        return None
    return RateShown(
        unit="1000 km" if life.rate.per_1000_km is not None else "30 days",
        middle=life.worn.rate,
        sd=max(life.worn.rate_var, 0.0) ** 0.5,
        prior_share=life.prior_share,
        basis=life.rate.basis,
        source=life.rate.source,
    )


def _limit(action: str, worn: Worn) -> LimitShown:
    limit = worn.limits[action]
    return LimitShown(action=action, reading=limit.reading, basis=limit.basis, source=limit.source)


def _model(worn: Worn) -> str:
    life = worn.life
    if life.worn is None:
        return "No forecast."
    count = sum(each.doubt is None for each in life.seen)
    read = "no reading" if not count else "one reading" if count == 1 else f"{count} readings"
    start = "new" if life.known_past else "its first reading"
    return f"From {start}: common practice as the prior, {read}, wear uneven by {UNEVEN:.0%} of a life."
