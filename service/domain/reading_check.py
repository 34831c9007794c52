"""Whether a reading can be right: what no gauge shows is refused, what is unlikely is asked about once more."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from math import hypot

from service.domain.bicycle import WearMeasurement
from service.domain.limit import Reading, reading_of, sign
from service.domain.procedure import Wear
from service.domain.wear_words import unit_of
from service.errors import Asks, Refusal

FAR_SD = 4.0
"""So many standard deviations of new and of the tool make a reading unlikely: common practice, no source."""
FAR_PAST = 5.0
"""So many times the way from new to the hardest limit is a wrong unit rather than wear: common practice, no source."""
MOST_GRADE = 3
COUNTED = ("count", "used", "strands")
"""How the key of what is counted ends."""
IMPROVING = "Was it the wrong side, the other pad, or a new part that was not logged?"


@dataclass(frozen=True, slots=True)
class Known:
    """What a reading is held against: the part's own numbers by spec key, and its readings of the same place.

    `earlier` are older than the reading and oldest first; what was read before `renewed` was another filling's, or
    stood before it was set again. `exact_at`: where an exact reading stands in what was sent.
    """

    specs: Mapping[str, float]
    earlier: Sequence[WearMeasurement] = ()
    renewed: datetime | None = None
    exact_at: str = "/reading"


def check_reading(wear: Wear, read: WearMeasurement, known: Known, *, sure: bool) -> None:
    """Raises Refusal for what the scale does not have, Asks for what is unlikely and not yet said to be `sure`."""
    _check_scale(wear, read, known)
    if sure or wear.scale != "amount":
        return
    say = _unlikely(wear, read, known) or _improves(wear, read, known)
    if say:
        raise Asks(
            f'{wear.title}: {say} Correct the figure, or send it with "sure": true.',
            confirm="sure",
            pointer=known.exact_at if read.low == read.high else "/low",
        )


def _check_scale(wear: Wear, read: WearMeasurement, known: Known) -> None:
    for name, value in (("low", read.low), ("high", read.high)):
        if value is not None:
            check_scale(wear, value, known.exact_at if read.low == read.high else f"/{name}")


def check_scale(wear: Wear, value: float, pointer: str) -> None:
    """Raises Refusal for a number that the scale of a dimension does not have; `pointer` is where it stands."""
    right = _scale_words(wear)
    if right and not _on_scale(wear, value):
        raise Refusal(f"{wear.title} should be {right}, not {value:g}.", errors=[(pointer, f"should be {right}")])


def _scale_words(wear: Wear) -> str:
    if wear.scale == "pass":
        return "0 (passes) or 1 (fails)"
    if wear.scale == "grade":
        return "a whole number from 0 (smooth) to 3 (grinding)"
    return "a whole number, 0 or more" if _is_counted(wear) else ""


def _on_scale(wear: Wear, value: float) -> bool:
    if not float(value).is_integer() or value < 0:
        return False
    return wear.scale == "amount" or value <= (1 if wear.scale == "pass" else MOST_GRADE)


def _is_counted(wear: Wear) -> bool:
    return wear.key.rpartition("_")[2] in COUNTED


def _unlikely(wear: Wear, read: WearMeasurement, known: Known) -> str:
    """Why a reading is on the wrong side of new, or so far past every limit that its unit is in doubt; or nothing."""
    new = _own(wear.new["spec"], known) if isinstance(wear.new, Mapping) else wear.new
    found, unit = reading_of(wear, read), unit_of(wear)
    if wear.direction == "shrinks" and read.low < 0:
        return f"{read.low:g}{unit} is less than nothing; 0 or more would be right."
    if new is None:
        return ""
    spread = hypot(wear.new_spread or 0.0, found.sd or _error(wear))
    best = sign(wear) * new - FAR_SD * spread
    worst = _worst(wear, new, known)
    if spread and found.most < best:
        return f"{_said(read)}{unit} is {_better(wear)} than new, {_range(wear, best, worst)} would be right."
    if worst is not None and found.least > worst:
        return f"{_said(read)}{unit} is far past every limit, {_range(wear, best, worst)} would be right."
    return ""


def _error(wear: Wear) -> float:
    return max(wear.reading_error.values(), default=0.0)


def _own(spec: str, known: Known) -> float | None:
    return known.specs.get(spec)


def _worst(wear: Wear, new: float, known: Known) -> float | None:
    """As far as a reading is likely to go, counted so that wear grows; None where no limit is known."""
    values = [each.value for each in wear.limits]
    values += [known.specs.get(each.spec) if each.spec else None for each in wear.limits]
    values += [each.of_new * new if each.of_new is not None else None for each in wear.limits]
    turned = [sign(wear) * each for each in values if each is not None]
    if not turned:
        return None
    far = sign(wear) * new + FAR_PAST * (max(turned) - sign(wear) * new)
    return min(far, 0.0) if wear.direction == "shrinks" else far


def _better(wear: Wear) -> str:
    return "more" if wear.direction == "shrinks" else "less"


def _said(read: WearMeasurement) -> str:
    return f"{read.low:g}" if read.high in (None, read.low) else f"{read.low:g} to {read.high:g}"


def _range(wear: Wear, best: float, worst: float | None) -> str:
    ends = sorted(sign(wear) * each for each in (best, worst) if each is not None)
    unit = unit_of(wear)
    if len(ends) == 1:
        return f"at {'most' if wear.direction == 'shrinks' else 'least'} {_rounded(ends[0])}{unit}"
    return f"{_rounded(max(ends[0], 0.0))} to {_rounded(ends[1])}{unit}"


def _rounded(value: float) -> str:
    return f"{value:.3g}"


def _improves(wear: Wear, read: WearMeasurement, known: Known) -> str:
    """Why a reading is better than the last one by more than both can err; or nothing."""
    before = [each for each in known.earlier if known.renewed is None or each.at > known.renewed]
    if not before or not _is_worn(wear):
        return ""
    last = before[-1]
    one, other = reading_of(wear, last), reading_of(wear, read)
    error = FAR_SD * hypot(_sd(wear, one), _sd(wear, other))
    if other.most >= one.least - error:
        return ""
    return f"{_said(read)}{unit_of(wear)} is better than {_said(last)}{unit_of(wear)} of {last.day}. {IMPROVING}"


def _is_worn(wear: Wear) -> bool:
    """Only what wears with distance or days keeps to one way; play and truth are set again."""
    return bool(wear.rates) or _is_counted(wear)


def _sd(wear: Wear, reading: Reading) -> float:
    return reading.sd or _error(wear)
