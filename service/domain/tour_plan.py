"""What a tour asks for beside its items: when to be done by, what to buy and to carry, which shop visit to book."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import ceil
from uuid import UUID

from service.domain.desk import Desk
from service.domain.joins import with_joins
from service.domain.places import surroundings
from service.domain.procedure import Consumable, Library
from service.domain.small_parts import SmallPartNeeded, small_parts_of
from service.domain.standing import Due
from service.domain.tour import Steps, Tour, TourItem, weigh_tour
from service.domain.wording import day_words, part_title

LOOK_DAYS, DONE_DAYS, BOOK_DAYS = 42, 14, 28
"""Looked over, done, and a shop booked so many days before leaving: common practice, no source."""
RIDE_IN_METRES, LEAST_RIDE_IN_DAYS = 100_000, 3
"""What is new or was opened is ridden so far, loaded, before leaving: common practice, no source."""
SPARES_STEP = "tour-spares"


@dataclass(frozen=True, slots=True)
class PartToChange:
    """A part to have in hand: what it is called, its category's title, its place."""

    part_id: UUID
    name: str
    category: str
    place: str


@dataclass(frozen=True, slots=True)
class TourPlan:
    """The whole answer: items in their groups, the days to keep, what to buy, what to carry, what a shop does.

    `last_day`: the last day on which something can be fitted and still be ridden in. `notes` are what the answer rests
    on or lacks. `book_by` is None where no shop is needed.
    """

    tour: Tour
    items: tuple[TourItem, ...]
    look_by: date
    done_by: date
    last_day: date
    ride_in_days: int
    until_metres: float | None
    book_by: date | None
    shop: tuple[TourItem, ...]
    buy: tuple[PartToChange, ...]
    small_parts: tuple[SmallPartNeeded, ...]
    consumables: tuple[Consumable, ...]
    carry_small: tuple[SmallPartNeeded, ...]
    carry_consumables: tuple[Consumable, ...]
    carry_say: str
    notes: tuple[str, ...]

    def of(self, group: str) -> tuple[TourItem, ...]:
        """The items of one group, most pressing first."""
        return tuple(item for item in self.items if item.group == group)


def plan_tour(desk: Desk, tour: Tour) -> TourPlan:
    """What to do before a tour, what to look at, what to buy and to carry; `tour` has been checked."""
    items, steps = weigh_tour(desk, tour), Steps(desk)
    library, today, pace = desk.history.library, desk.today, desk.pace
    now = [item for item in items if item.group == "do before"]
    ride_in = DONE_DAYS if pace is None else max(ceil(RIDE_IN_METRES / pace.metres_a_day), LEAST_RIDE_IN_DAYS)
    shop = tuple(item for item in items if item.due.needs_shop and item.group in ("do before", "look before"))
    buy = _parts((item.due for item in now if item.due.by_wear), library)
    around = with_joins(surroundings(desk.history.bicycle, library))
    on = {each.part_id for each in buy}
    last = tour.leaving - timedelta(days=ride_in)
    return TourPlan(
        tour=tour,
        items=items,
        look_by=max(tour.leaving - timedelta(days=LOOK_DAYS), today),
        done_by=max(min(tour.leaving - timedelta(days=DONE_DAYS), last), today),
        last_day=last,
        ride_in_days=ride_in,
        until_metres=None if pace is None else pace.metres((tour.leaving - today).days),
        book_by=max(tour.leaving - timedelta(days=BOOK_DAYS), today) if shop else None,
        shop=shop,
        buy=buy,
        small_parts=small_parts_of(around, [each for each in desk.history.bicycle.placed if each.part.id in on]),
        consumables=_consumables(now, steps),
        carry_small=small_parts_of(around, [each for each in around.placed if not each.planned], on_tour=True),
        carry_consumables=_consumables([item for item in items if item.group == "on the way"], steps),
        carry_say=_carry_say(library),
        notes=tuple(_notes(desk, tour, last, has_work=bool(now))),
    )


def _parts(dues: Iterable[Due], library: Library) -> tuple[PartToChange, ...]:
    met: dict[UUID, PartToChange] = {}
    for due in dues:
        if due.part_id is not None and due.part_id not in met:
            title = part_title(due.task.partition(".")[0], library)
            end = due.place.partition(".")[0]
            met[due.part_id] = PartToChange(due.part_id, due.part_name or title, title, end)
    return tuple(met.values())


def _consumables(items: Sequence[TourItem], steps: Steps) -> tuple[Consumable, ...]:
    amounts: dict[tuple[str, str], float] = {}
    for used in (used for item in items for step in steps.of(item.due) for used in step.consumables):
        amounts[used.what, used.unit] = amounts.get((used.what, used.unit), 0.0) + used.amount
    return tuple(Consumable(what=what, amount=amount, unit=unit) for (what, unit), amount in sorted(amounts.items()))


def _carry_say(library: Library) -> str:
    whole = library.categories.get("whole-bicycle")
    return next((step.text for step in whole.steps if step.key == SPARES_STEP), "") if whole is not None else ""


def _notes(desk: Desk, tour: Tour, last: date, *, has_work: bool) -> Iterable[str]:
    if desk.resting:
        yield f"{desk.why_resting} Wake it before the tour: what rests is not weighed."
    elif desk.pace is None:
        yield f"{desk.why_no_pace} Counted from today plus the tour alone; what is ridden until then comes on top."
    if has_work and last < desk.today:
        yield (
            "There is no time left to ride 100 km on what is newly fitted: leave later, or ride it in on the first "
            "days near home, unloaded, and look at it each evening."
        )
    elif has_work:
        yield (
            f"What is new, or was opened, wants 100 km loaded and its first check before you leave: fit it by "
            f"{day_words(last, desk.today)} at the latest."
        )
