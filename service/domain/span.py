"""A number that is known, or of which only is known between what it lies; compared, it answers yes, no or not known."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from math import inf

from service.domain.condition import Answer

CLOSE = 1e-9


@dataclass(frozen=True, slots=True)
class Span:
    """Between what a number lies, ends included; equal ends: it is known, infinite ends: nothing is."""

    low: float
    high: float

    @property
    def known(self) -> bool:
        """Is it one number?"""
        return self.low == self.high

    def __add__(self, other: "Span | float") -> "Span":
        more = exactly(other)
        return Span(self.low + more.low, self.high + more.high)

    def __sub__(self, other: "Span | float") -> "Span":
        less = exactly(other)
        return Span(self.low - less.high, self.high - less.low)

    def times(self, factor: float) -> "Span":
        """So many times as much; the factor is not nothing."""
        ends = (self.low * factor, self.high * factor)
        return Span(min(ends), max(ends))

    def size(self) -> "Span":
        """How far it is from nothing, on either side."""
        ends = sorted((abs(self.low), abs(self.high)))
        return Span(0.0 if self.low <= 0 <= self.high else ends[0], ends[1])

    def growing(self, rule: Callable[[float], float]) -> "Span":
        """What a rule makes of it that grows with it; the rule is never asked about an infinite end."""
        low, high = (end if abs(end) == inf else rule(end) for end in (self.low, self.high))
        return Span(low, high)

    def over(self, limit: "Span | float") -> Answer:
        """Is it more than the limit?"""
        most = exactly(limit)
        if self.low > most.high + CLOSE:
            return Answer.YES
        return Answer.NO if self.high <= most.low + CLOSE else Answer.UNKNOWN

    def under(self, limit: "Span | float") -> Answer:
        """Is it less than the limit?"""
        return exactly(limit).over(self)


UNKNOWN = Span(-inf, inf)
SOME = Span(0.0, inf)
"""A length, a count or a mass that nobody measured: not less than nothing."""


def exactly(number: Span | float) -> Span:
    """A known number as a span."""
    return number if isinstance(number, Span) else Span(float(number), float(number))


def largest(spans: Iterable[Span]) -> Span:
    """The largest of several numbers; at least one is given."""
    met = list(spans)
    return Span(max(each.low for each in met), max(each.high for each in met))


def smallest(spans: Iterable[Span]) -> Span:
    """The smallest of several numbers; at least one is given."""
    met = list(spans)
    return Span(min(each.low for each in met), min(each.high for each in met))


def said(span: Span, unit: str = "mm") -> str:
    """In words, to a tenth of the unit: "12.5 mm", "at least 12 mm", "12 to 14 mm", "not known"."""
    behind = f" {unit}" if unit else ""
    if span.known:
        return f"{_tenth(span.low)}{behind}"
    if span.low in (-inf, 0.0) and span.high == inf:
        return "not known"
    if span.high == inf:
        return f"at least {_tenth(span.low)}{behind}"
    if span.low in (-inf, 0.0):
        return f"at most {_tenth(span.high)}{behind}"
    return f"{_tenth(span.low)} to {_tenth(span.high)}{behind}"


def _tenth(number: float) -> str:
    return f"{round(number, 1) + 0.0:.1f}".removesuffix(".0")
