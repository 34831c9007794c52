"""The small parts that come with parts and are rarely in their box: which of them, for which parts, and why perhaps."""

from collections.abc import Iterable
from dataclasses import dataclass
from uuid import UUID

from service.domain.bicycle import Placed
from service.domain.condition import Answer, judge
from service.domain.places import Surroundings
from service.domain.steps import FactAsked
from service.domain.wording import asked


@dataclass(frozen=True, slots=True)
class SmallPartNeeded:
    """Something small to be bought with parts; not `decided` where a fact says whether: `settles` are those facts."""

    what: str
    amount: float
    unit: str
    part_ids: tuple[UUID, ...]
    decided: bool = True
    settles: tuple[FactAsked, ...] = ()


def small_parts_of(
    around: Surroundings, placed: Iterable[Placed], *, on_tour: bool = False
) -> tuple[SmallPartNeeded, ...]:
    """What has to be bought with these parts, summed by name and unit; nothing for a part that came fitted.

    `on_tour`: what is carried on a tour with these parts on the bicycle, wherever they came from.
    """
    met: dict[tuple[str, str, bool], SmallPartNeeded] = {}
    for each in placed:
        category = around.library.categories.get(each.slot)
        if category is None or (each.part.origin == "came fitted" and not on_tour):
            continue
        for small in category.small_parts:
            if (small.carried is None) if on_tour else (small.carried == "only"):
                continue
            judged = judge(small.when, around.here(each))
            if judged.answer is Answer.NO:
                continue
            decided = judged.answer is Answer.YES
            key = (small.what, small.unit, decided)
            old = met.get(key, SmallPartNeeded(small.what, 0.0, small.unit, (), decided))
            met[key] = SmallPartNeeded(
                small.what,
                old.amount + small.amount,
                small.unit,
                tuple(dict.fromkeys((*old.part_ids, each.part.id))),
                decided,
                tuple(dict.fromkeys((*old.settles, *(asked(fact, around) for fact in judged.settles)))),
            )
    return tuple(met[key] for key in sorted(met, key=lambda key: (not key[2], key[0], key[1])))
