"""Numbers that can be: nothing takes less than no time, lasts a negative distance or is torqued beyond any bolt."""

from collections.abc import Iterator, Mapping
from dataclasses import fields
from typing import Any

from service.domain.lists import Factors
from service.domain.procedure import (
    Consumable,
    Fastening,
    Limit,
    Rate,
    SmallPart,
    Span,
    SpecField,
    Step,
    Wear,
)
from service.library.files import Key
from service.library.plain import names_in
from service.library.report import Report

Bound = tuple[float, float]

LEAST = 0.000_001
ABOVE_NOTHING: Bound = (LEAST, 1_000_000)
FROM_NOTHING: Bound = (0, 1_000_000)
WEEK_MINUTES = 7 * 1440

BOUNDS: Mapping[type, Mapping[str, Bound]] = {
    SpecField: {"give": FROM_NOTHING, "snap": FROM_NOTHING, "marked_within": FROM_NOTHING},
    Fastening: {"count": (1, 200), "low_nm": ABOVE_NOTHING, "high_nm": (LEAST, 500)},
    Consumable: {"amount": ABOVE_NOTHING},
    SmallPart: {"amount": ABOVE_NOTHING},
    Step: {"minutes": (0, WEEK_MINUTES), "waits_minutes": (0, 5 * WEEK_MINUTES)},
    Span: {
        "km": ABOVE_NOTHING,
        "days": (1, 36_525),
        "hours": ABOVE_NOTHING,
        "wet_days": (1, 36_525),
        "parts": (1, 1000),
        "share_of_forecast": (LEAST, 1),
        "least_km": FROM_NOTHING,
        "overdue_km": FROM_NOTHING,
        "overdue_days": (0, 36_525),
    },
    Rate: {"per_1000_km": ABOVE_NOTHING, "per_30_days": ABOVE_NOTHING, "spread": (LEAST, 10)},
    Limit: {"of_new": (LEAST, 1000), "of_first_reading": (LEAST, 1000)},
    Wear: {"new_spread": FROM_NOTHING, "running_in_km": FROM_NOTHING, "reading_error": ABOVE_NOTHING},
    Factors: {each.name: (0, 100) for each in fields(Factors) if each.type is float},
}
"""What each number may be at least and at most; common practice, generous."""


def check_bounds(report: Report) -> None:
    """Every number of every category, and of the factors."""
    for name, category in report.categories.items():
        for key, what in _outside(category, ()):
            report.wrong(name, key, what)
    for name, factors in report.table("factors").items():
        for key, what in _outside(factors, ("factors", name)):
            report.wrong_in("conditions", key, what)


def _outside(value: Any, key: Key) -> Iterator[tuple[Key, str]]:
    if isinstance(value, tuple):
        for number, each in enumerate(value):
            if not isinstance(each, str):
                yield from _outside(each, (*key, number))
        return
    bounds = BOUNDS.get(type(value), {})
    for name in names_in(value):
        found = getattr(value, name)
        if name in bounds:
            low, high = bounds[name]
            for each in found.values() if isinstance(found, Mapping) else (found,):
                if isinstance(each, int | float) and not low <= each <= high:
                    yield (*key, name), _said(low, high)
        elif found is not None and not isinstance(found, str):
            yield from _outside(found, (*key, name))


def _said(low: float, high: float) -> str:
    least = "above 0" if low == LEAST else f"at least {low:g}"
    return f"should be {least} and at most {high:,.10g}"
