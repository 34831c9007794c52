"""The kinds of field that clients send: lengths, ranges and units, said once."""

import re
from datetime import UTC, date, datetime, timedelta
from typing import Annotated, Any

from pydantic import AfterValidator, AwareDatetime, BaseModel, BeforeValidator, ConfigDict, Field, StringConstraints

EARTH_ROUND_KM = 40_075.0
"""The equator's length, km (WGS 84: 2 pi x 6378.137 km); no ride is longer."""
LARGEST_ROW_NUMBER = 2_147_483_647


class Sent(BaseModel):
    """What a client sends: nothing unknown, nothing infinite."""

    model_config = ConfigDict(extra="forbid", allow_inf_nan=False, str_strip_whitespace=True)


class Shown(BaseModel):
    """What a client is shown: every field is always there."""

    model_config = ConfigDict(from_attributes=True, defer_build=True)


class WrongField(ValueError):
    """Two fields contradict each other: `field` is the one to correct, the message says what is wrong with it."""

    def __init__(self, field: str, say: str) -> None:
        super().__init__(say)
        self.field = field


def field_meant(error: Any) -> tuple[str, ...]:
    """The field that a rule between fields points at, as one more step of the mistake's place; none where it is all."""
    cause = error.get("ctx", {}).get("error")
    return (cause.field,) if isinstance(cause, WrongField) else ()


def absent(description: str, **limits: Any) -> Any:
    """A field that may be left out, and is None then; null is not the same and is refused."""
    field = emptiable(description, json_schema_extra=_without_null, **limits)
    field.metadata.insert(0, BeforeValidator(_no_null))
    return field


def emptiable(description: str, **limits: Any) -> Any:
    """A field of a merge patch that may be left out, or null to empty it."""
    return Field(default_factory=lambda: None, description=description, **limits)


def _no_null(sent: Any) -> Any:
    if sent is None:
        raise ValueError("is null; leave it out where there is nothing to say")
    return sent


def _without_null(schema: dict[str, Any]) -> None:
    left = [each for each in schema.pop("anyOf", []) if each != {"type": "null"}]
    if len(left) == 1:
        schema.update({**left[0], **schema})
    elif left:
        schema["anyOf"] = left


def _to_utc(at: datetime) -> datetime:
    try:
        return at.astimezone(UTC)
    except (OverflowError, ValueError):
        raise ValueError("is outside the calendar; give an instant between the years 1900 and 2200") from None


def _in_calendar(at: datetime) -> datetime:
    if not 1900 <= at.year <= 2200:
        raise ValueError("is outside the calendar; give an instant between the years 1900 and 2200")
    return at


def _no_bare_number(at: Any) -> Any:
    """Digits alone would be taken for seconds since 1970."""
    if isinstance(at, int | float) or (isinstance(at, str) and not re.match(r"\d{4}-\d{2}-\d{2}[Tt]", at.strip())):
        raise ValueError("should be an instant with its offset, such as 2026-03-14T17:10:00+01:00")
    return at


def _no_bare_day(day: Any) -> Any:
    if isinstance(day, int | float) or (isinstance(day, str) and not re.fullmatch(r"\d{4}-\d{2}-\d{2}", day.strip())):
        raise ValueError("should be a day such as 2026-03-14")
    return day


def _day_in_calendar(day: date) -> date:
    if not 1900 <= day.year <= 2200:
        raise ValueError("is outside the calendar; give a day between the years 1900 and 2200")
    return day


def with_civil_day(sent: Any, at: str) -> Any:
    """Adds the civil day of an instant where it was sent with an offset of its own and without a day.

    "Z" says that the local offset is not known (RFC 9557, 2.2): then the workshop's zone decides, later.
    """
    if not isinstance(sent, dict) or sent.get("day") is not None or not isinstance(text := sent.get(at), str):
        return sent
    try:
        instant = datetime.fromisoformat(text)
    except ValueError:
        return sent  # said about the instant itself
    known = instant.tzinfo is not None and not text.upper().endswith("Z")
    return {**sent, "day": instant.date()} if known else sent


def check_day(day: date | None, at: datetime | None, name: str) -> None:
    """Raises WrongField for a civil day that nowhere on earth is the day of the instant."""
    if day is not None and at is not None and abs(day - at.astimezone(UTC).date()) > timedelta(days=1):
        raise WrongField("day", f"is not a day of {name}; leave it out, or correct one of them")


Instant = Annotated[
    AwareDatetime, BeforeValidator(_no_bare_number), AfterValidator(_to_utc), AfterValidator(_in_calendar)
]
Day = Annotated[date, BeforeValidator(_no_bare_day), AfterValidator(_day_in_calendar)]
Number = Annotated[float, Field(strict=True)]
Whole = Annotated[int, Field(strict=True)]
Switch = Annotated[bool, Field(strict=True)]
NO_NUL = r"^[^\x00]*$"
Text = Annotated[str, StringConstraints(pattern=NO_NUL)]
"""Free words; without the character NUL, which PostgreSQL cannot keep."""
Name = Annotated[Text, StringConstraints(min_length=1, max_length=120)]
Word = Annotated[Text, StringConstraints(min_length=1, max_length=120)]
Short = Annotated[Text, StringConstraints(max_length=400)]
Note = Annotated[Text, StringConstraints(max_length=4000)]
Key = Annotated[str, StringConstraints(min_length=1, max_length=200, pattern=r"^[A-Za-z0-9_.:@-]+$")]
OwnPlace = Annotated[str, StringConstraints(max_length=60, pattern=r"^[a-z0-9.-]*$")]
Slug = Annotated[str, StringConstraints(min_length=1, max_length=60, pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$")]
Minor = Annotated[Whole, Field(ge=0, le=LARGEST_ROW_NUMBER)]
Grams = Annotated[Number, Field(gt=0, le=500_000)]
WholeGrams = Annotated[Whole, Field(gt=0, le=500_000)]
KmBefore = Annotated[Number, Field(ge=0, le=1_000_000)]
RideKm = Annotated[Number, Field(gt=0, le=EARTH_ROUND_KM)]
OdometerKm = Annotated[Number, Field(ge=0, le=1_000_000)]
TorqueNm = Annotated[Number, Field(gt=0, le=500)]
FreeNumber = Annotated[Number, Field(ge=-1e6, le=1e6)]


class Money(Sent):
    """An amount in whole minor units of the workshop's currency."""

    minor: Minor = Field(description="Whole minor units, such as cents.")
    currency: str = Field(pattern="^[A-Z]{3}$", description="ISO 4217 code; the workshop's own.")


class MoneySum(Shown):
    """Amounts added up, as they are shown: no column keeps a sum, so it may be larger than any one amount."""

    minor: int = Field(description="Whole minor units, such as cents.")
    currency: str = Field(description="ISO 4217 code; the workshop's own.")


def read_day(text: str) -> date:
    """A day as 2026-03-14. Raises ValueError for anything else."""
    return date.fromisoformat(text)


def read_instant(text: str) -> datetime:
    """An instant with its offset. Raises ValueError for anything else."""
    at = datetime.fromisoformat(text)
    if at.tzinfo is None:
        raise ValueError("an instant carries an offset")
    return _in_calendar(_to_utc(at))
