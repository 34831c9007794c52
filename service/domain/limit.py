"""A wear reading against its limits: which limit governs, and how sure the reading is that it has been passed."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from math import erf, inf, sqrt
from typing import Literal

from service.domain.bicycle import WearMeasurement
from service.domain.condition import Answer, Fact, judge
from service.domain.places import Here
from service.domain.procedure import Limit, Wear, Weight

CHANCE_DUE: Mapping[Weight, float] = {"safety": 0.2, "damage": 0.5, "comfort": 0.7}
"""From which chance of being past a limit on it is due: p = 1 / (1 + cost of late ÷ of a look), at 4, 1 and 1/2."""
CHANCE_OVERDUE = 0.9
SAFE_SD = 2.0
"""A limit that nobody may ride past is kept away from by two standard deviations of the reading's error."""
PLAN_SHARE = 0.85
Stands = Literal["do not ride", "overdue", "due", "plan it", "fine"]


@dataclass(frozen=True, slots=True)
class Governing:
    """The limit that governs one action, in the dimension's unit; `unsure` facts would say whether a laxer one does."""

    action: str
    reading: float
    basis: str
    source: str | None = None
    unsure: tuple[Fact, ...] = ()


@dataclass(frozen=True, slots=True)
class Reading:
    """A reading with its error, counted so that wear grows: between `least` and `most`, `sd` where it is exact."""

    least: float
    most: float
    sd: float

    @property
    def exact(self) -> bool:
        """A figure, not a bracket between two marks."""
        return self.least == self.most

    def chance_past(self, limit: float) -> float:
        """How likely it is that the true wear has reached a limit, 0 to 1."""
        if self.exact:
            if self.sd <= 0:
                return 1.0 if self.least >= limit else 0.0
            return (1 + erf((self.least - limit) / self.sd / sqrt(2))) / 2
        if self.least >= limit:
            return 1.0
        if self.most <= limit:
            return 0.0
        if self.least == -inf or self.most == inf:
            return 0.5
        return (self.most - limit) / (self.most - self.least)

    def within(self, limit: float, standard_deviations: float) -> bool:
        """Has it reached a limit, or come so close to it?"""
        return self.least + standard_deviations * (self.sd if self.exact else 0.0) >= limit


def sign(wear: Wear) -> int:
    """What turns a reading so that wear grows."""
    return 1 if wear.direction == "grows" else -1


def reading_of(wear: Wear, measurement: WearMeasurement) -> Reading:
    """A measurement counted so that wear grows, with the error of its tool; grades and passes are judged as read."""
    low, high = measurement.low, inf if measurement.high is None else measurement.high
    ends = sorted((sign(wear) * low, sign(wear) * high))
    error = wear.reading_error.get(measurement.tool or "any", wear.reading_error.get("any", 0.0))
    return Reading(ends[0], ends[1], error if wear.scale == "amount" else 0.0)


def governing(wear: Wear, action: str, here: Here, readings: Sequence[WearMeasurement]) -> Governing | None:
    """The limit that governs an action: the first known in the file's order; of those with a condition, the strictest.

    Where a condition is not known its limit counts as well, and the answer says so.
    """
    rows = [(limit, _value(limit, wear, here, readings)) for limit in wear.limits if limit.action == action]
    for limit, value in rows:
        if value is None:
            continue
        if not limit.when:
            return Governing(action, value, limit.basis, limit.source)
        strictest = _strictest([each for each in rows if each[0].when], wear, here)
        if strictest is not None:
            return strictest
    return None


def _strictest(rows: Iterable[tuple[Limit, float | None]], wear: Wear, here: Here) -> Governing | None:
    held: list[Governing] = []
    for limit, value in rows:
        judged = judge(limit.when, here)
        if value is not None and judged.answer is not Answer.NO:
            held.append(Governing(limit.action, value, limit.basis, limit.source, judged.settles))
    return min(held, key=lambda each: (sign(wear) * each.reading, bool(each.unsure)), default=None)


def _value(limit: Limit, wear: Wear, here: Here, readings: Sequence[WearMeasurement]) -> float | None:
    if limit.value is not None:
        return limit.value
    if limit.spec is not None:
        return _number(here, limit.spec)
    if limit.of_new is not None:
        new = new_reading(wear, here)
        return None if new is None else limit.of_new * new
    first = next((each for each in readings if each.low == each.high), None)
    return limit.of_first_reading * first.low if limit.of_first_reading is not None and first else None


def new_reading(wear: Wear, here: Here) -> float | None:
    """What the dimension reads when new, in its unit; None where that is not known."""
    if isinstance(wear.new, Mapping):
        return _number(here, wear.new["spec"])
    return wear.new


def _number(here: Here, spec: str) -> float | None:
    numbers = [value for value in here.own(spec).values if isinstance(value, int | float)]
    return float(numbers[0]) if numbers else None


def stands(
    wear: Wear, reading: Reading, limits: Mapping[str, Governing], new: float | None, chance: float | None = None
) -> Stands:
    """How a reading stands against the limits that govern it.

    At a stop limit: do not ride. A safety reading within two standard deviations of the hardest limit is due, and any
    is from its weight's chance of being past the limit to replace on: that of the reading alone, or, where it is told,
    the `chance` that all readings and what was ridden since come to. A look limit asks for a look: due where it is all
    there is, else a sign to plan.
    """
    turned = {action: sign(wear) * limit.reading for action, limit in limits.items()}
    stop, replace, look = turned.get("stop"), turned.get("replace"), turned.get("look")
    if stop is not None and reading.within(stop, 0):
        return "do not ride"
    hardest = stop if stop is not None else replace
    close = wear.weight == "safety" and hardest is not None and reading.within(hardest, SAFE_SD)
    past = chance is not None or (replace is not None and reading.least > replace)
    if chance is None:
        chance = reading.chance_past(replace) if replace is not None else 0.0
    if past and chance >= CHANCE_OVERDUE and replace is not None:
        return "overdue"
    if close or chance >= CHANCE_DUE[wear.weight]:
        return "due"
    if look is not None and reading.chance_past(look) >= CHANCE_DUE[wear.weight]:
        return "due" if replace is None else "plan it"
    return "plan it" if share_used(wear, reading, limits, new) >= PLAN_SHARE else "fine"


def share_used(wear: Wear, reading: Reading, limits: Mapping[str, Governing], new: float | None) -> float:
    """The used part of the way from new to the limit to replace, 0 where either is not known or a grade is read."""
    limit = limits.get("replace") or limits.get("stop")
    if limit is None or new is None or wear.scale != "amount" or limit.reading == new or reading.least == -inf:
        return 0.0
    whole = sign(wear) * (limit.reading - new)
    return max((reading.least - sign(wear) * new) / whole, 0.0)
