"""What is read of a wearing dimension, in words: readings with their units, limits with their basis, the forecast."""

from collections.abc import Mapping
from datetime import date

from service.domain.between import Between
from service.domain.bicycle import WearMeasurement
from service.domain.limit import Governing, Reading, sign
from service.domain.places import Surroundings
from service.domain.procedure import Wear
from service.domain.wear_life import Life
from service.domain.wording import MONTHS, asked, day_words

WORDS = {"stop": "do not ride past", "replace": "replace at", "look": "look closely at"}
UNITS = {"mm": " mm", "percent": " %", "ml": " ml", "years": " years", "days": " days", "deg": "°"}


def unit_of(wear: Wear) -> str:
    """The unit at the end of a dimension's key, as it stands behind a number."""
    return UNITS.get(wear.key.rpartition("_")[2], "")


def reading_words(wear: Wear, each: WearMeasurement) -> str:
    """ "1.6 mm", "between 0.5 and 0.75 %", "over 1 %"."""
    unit = unit_of(wear)
    if each.high is None:
        return f"over {each.low:g}{unit}"
    return f"{each.low:g}{unit}" if each.low == each.high else f"between {each.low:g} and {each.high:g}{unit}"


def limit_words(wear: Wear, limits: Mapping[str, Governing], around: Surroundings) -> str:
    """ "Replace at 1 mm, trade page; do not ride past 0.5 mm, handbook." """
    if not limits:
        return "No limit is known."
    unit = unit_of(wear)
    order = ("replace", "stop", "look")
    words = "; ".join(f"{WORDS[a]} {limits[a].reading:g}{unit}, {limits[a].basis}" for a in order if a in limits)
    facts = dict.fromkeys(asked(fact, around).title for limit in limits.values() for fact in limit.unsure)
    unsure = f" The strictest that may hold: {', '.join(facts)} not known." if facts else ""
    return f"{words[:1].upper()}{words[1:]}.{unsure}"


def error_words(wear: Wear, last: Reading, limits: Mapping[str, Governing]) -> str:
    """Why a reading that is short of its limit is due all the same: it is not that exact."""
    limit = limits.get("replace") or limits.get("stop")
    if limit is None or not last.sd or last.within(sign(wear) * limit.reading, 0):
        return ""
    tools = wear.reading_error
    better = min(tools, key=lambda tool: tools[tool])
    exact = "" if tools[better] >= last.sd else f" Read it again with a {better}."
    return f" A reading like this is good to {last.sd:g}{unit_of(wear)}, so it may be there already.{exact}"


def forecast_words(km: Between[float] | None, on: Between[date] | None, today: date) -> str:
    """ "Another 200 to 500 km, late May to the middle of July." """
    said = []
    if km is not None:
        said.append(f"Another {range_words(km)} km" if km.middle > 0 else "It may be there by now")
    if on is not None and (km is None or km.middle > 0):
        said.append(_days_words(on, today))
    words = ", ".join(said)
    return f" {words[:1].upper()}{words[1:]}." if words else ""


def range_words(km: Between[float]) -> str:
    """ "200 to 500", rounded as far as it is uncertain; "at least 1,400" where there is no late end."""
    early = _rounded(km.early)
    if km.late is None:
        return f"{early} or more" if km.early > 0 else "0 or more"
    late = _rounded(km.late)
    return early if early == late else f"{early} to {late}"


def _rounded(km: float) -> str:
    step = 10 if km < 200 else 50 if km < 1000 else 100
    return f"{max(round(km / step), 0) * step:,}".replace(",", " ")


def _days_words(on: Between[date], today: date) -> str:
    if on.early == on.late:
        return f"by {day_words(on.middle, today)}"
    late = "or later" if on.late is None else f"to {month_words(on.late, today)}"
    early = month_words(max(on.early, today), today)
    return f"likely {early}" if late == f"to {early}" else f"likely {early} {late}"


def month_words(day: date, today: date) -> str:
    """A day as roughly as it is known: "early May", "the middle of May", "late May"."""
    third = "early" if day.day <= 10 else "the middle of" if day.day <= 20 else "late"
    year = "" if day.year == today.year else f" {day.year}"
    return f"{third} {MONTHS[day.month - 1]}{year}"


def doubt_words(life: Life, today: date) -> str:
    """Which reading is doubted, and what was expected of it; a last one that improves has its question already."""
    doubted = [each for each in life.seen if each.doubt is not None]
    if not doubted or life.seen[-1].doubt == "improves" or doubted[-1] is not life.seen[-1]:
        return ""
    last = doubted[-1]
    expected = "" if last.expected is None else f"; about {_plain(life.wear, last.expected)} was expected"
    return (
        f" This reading of {day_words(last.measurement.day, today)} is doubted{expected}: read it again. "
        "The forecast goes by those before it."
    )


def _plain(wear: Wear, turned: float) -> str:
    return f"{sign(wear) * turned:.2g}{unit_of(wear)}"
