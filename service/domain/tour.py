"""Before a tour: what falls due before leaving or on the way, and in which group each item belongs."""

from dataclasses import dataclass, replace
from datetime import date
from typing import Literal, get_args

from service.domain.ahead import Ahead, Stretch
from service.domain.bicycle import Placed
from service.domain.condition import Answer, judge
from service.domain.desk import Desk
from service.domain.due import dues_at, worn_at
from service.domain.ends import compose
from service.domain.joins import with_joins
from service.domain.odometer import ESTIMATED_METRES_PER_SECOND
from service.domain.places import familiar, surroundings
from service.domain.procedure import Library, Step, Task
from service.domain.standing import QUIET, Due
from service.domain.tour_words import why_of

Group = Literal["do before", "look before", "on the way", "cannot be said", "fine"]
GROUPS: tuple[Group, ...] = get_args(Group)
SAFETY_CHANCE, OTHER_CHANCE = 0.2, 0.5
"""From such a chance of being due by the end on, it is done before leaving: common practice, no source."""
LOOK_SHARE = 0.25
"""From this share of the chance that asks for replacing on, a look is owed and one is carried."""
HABIT_KM, HABIT_DAYS, HABIT_MINUTES = 500, 14, 10
"""What comes round so often and takes so little is done on the way: common practice, no source."""
SECONDS_AN_HOUR = 3600
PER_THOUSAND = 1000


@dataclass(frozen=True, slots=True)
class Tour:
    """A tour as it is meant: metres on so many days from `leaving` on, and how most of it is ridden."""

    metres: float
    days: int
    leaving: date
    conditions: str = "dry"
    loaded: bool = True
    descents: bool = False


@dataclass(frozen=True, slots=True)
class TourItem:
    """One item with its group and its reasons; chances are of being due, 0 to 1, None where nothing is known.

    `counts_metres`: what the tour counts for by the item's own factors. `within`: the bundle in the same group that
    does it as well.
    """

    due: Due
    group: Group
    before: float | None
    by_end: float | None
    counts_metres: float | None
    why: str
    minutes: int
    within: str | None = None


def weigh_tour(desk: Desk, tour: Tour) -> tuple[TourItem, ...]:
    """Every item of the bicycle in exactly one group, most pressing first."""
    followed = {
        (worn.subject.part_id, worn.name, _place_of(worn.subject.placed, worn.place))
        for worn in worn_at(desk)
        if worn.followed_by is not None
    }
    steps = Steps(desk)
    items = [
        _item(due, desk, tour, steps, same=(due.part_id, due.task, due.place) in followed) for due in dues_at(desk)
    ]
    items.sort(key=lambda item: (GROUPS.index(item.group), item.due.rank))
    return _folded(items, desk.history.library)


def _place_of(placed: Placed | None, own: str) -> str:
    return compose(placed.place if placed is not None else "", own)


def stretches(ahead: Ahead, desk: Desk, tour: Tour) -> tuple[Stretch, Stretch]:
    """What an item will have gone through by the day of leaving, and by the end of the tour, by its own factors."""
    days = max((tour.leaving - desk.today).days, 0)
    pace = desk.pace
    metres = pace.metres(days) if pace is not None else 0.0
    var = pace.var(days) if pace is not None else 0.0
    until = Stretch(metres * ahead.mix, var * ahead.mix**2, days, _hours(metres))
    counts = tour.metres * weight_of(ahead, tour)
    end = Stretch(until.metres + counts, until.metres_var, days + tour.days, until.hours + _hours(tour.metres))
    return until, end


def weight_of(ahead: Ahead, tour: Tour) -> float:
    """What a kilometre of the tour counts for."""
    return ahead.weighing.thousandths(tour.conditions, tour.loaded, tour.descents) / PER_THOUSAND


def _hours(metres: float) -> float:
    return metres / ESTIMATED_METRES_PER_SECOND / SECONDS_AN_HOUR


def _item(due: Due, desk: Desk, tour: Tour, steps: "Steps", *, same: bool) -> TourItem:
    before = by_end = counts = None
    if due.ahead is not None:
        until, end = stretches(due.ahead, desk, tour)
        before, by_end = due.ahead.chance(until), due.ahead.chance(end)
        by_distance = due.ahead.metres_left is not None or (due.ahead.worn is not None and not due.ahead.by_days)
        counts = tour.metres * weight_of(due.ahead, tour) if by_distance else None
    if before is not None and by_end is not None:
        by_end = max(before, by_end)
    group: Group = "fine" if same and due.state in QUIET else _group(due, by_end, steps)
    item = TourItem(due, group, before, by_end, counts, "", steps.minutes(due))
    why = why_of(due, group, (before, by_end), counts_metres=counts, metres=tour.metres)
    return replace(item, why=why)


def _group(due: Due, by_end: float | None, steps: "Steps") -> Group:
    unread = due.by_wear and due.last is None
    if due.state == "do not ride":
        return "do before"
    if due.state in ("look once", "switched off"):
        return "cannot be said"
    if due.state in ("due", "overdue"):
        return "look before" if unread else "do before"
    if by_end is None:
        return _unforeseen(due)
    limit = SAFETY_CHANCE if due.weight == "safety" else OTHER_CHANCE
    if by_end < limit * LOOK_SHARE:
        return "fine"
    if steps.is_habit(due):
        return "on the way"
    return "look before" if unread or by_end < limit else "do before"


def _unforeseen(due: Due) -> Group:
    """Where no forecast is possible: a resting or wearing one cannot be told; a task without a clock asks nothing."""
    if due.by_wear or due.state == "resting":
        return "cannot be said"
    return "look before" if due.state == "plan it" else "fine"


def task_of(due: Due, library: Library) -> Task | None:
    """The task of the library that an item is of; None for wear."""
    owner, _, key = due.task.partition(".")
    category = library.categories.get(owner)
    return next((task for task in category.tasks if task.key == key), None) if category is not None else None


class Steps:
    """The steps of the tasks of one bicycle, those that hold for the parts that are on it."""

    def __init__(self, desk: Desk) -> None:
        self._library = desk.history.library
        around = familiar(with_joins(surroundings(desk.history.bicycle, self._library, "service")))
        self._here = {each.part.id: around.here(each) for each in around.placed if not each.planned}
        self._whole = around.here(None)

    def of(self, due: Due) -> tuple[Step, ...]:
        """The steps of an item's task that hold, or may hold, here."""
        category = self._library.categories.get(due.task.partition(".")[0])
        here = self._here.get(due.part_id, self._whole) if due.part_id is not None else self._whole
        named = [step for step in category.steps if step.key in due.steps] if category is not None else []
        return tuple(step for step in named if not step.when or judge(step.when, here).answer is not Answer.NO)

    def minutes(self, due: Due) -> int:
        """Hands-on minutes of an item's task; 0 where it has no steps."""
        return sum(step.minutes for step in self.of(due))

    def is_habit(self, due: Due) -> bool:
        """Is it something short that comes round often, done at home?"""
        task = task_of(due, self._library)
        if task is None or task.every is None or due.needs_shop or due.by_wear:
            return False
        km, days = task.every.km, task.every.days
        often = (km is not None and km <= HABIT_KM) or (days is not None and days <= HABIT_DAYS)
        return often and self.minutes(due) <= HABIT_MINUTES


def _folded(items: list[TourItem], library: Library) -> tuple[TourItem, ...]:
    """Items that a bundle of the same group does as well, marked with it."""
    bundles = [
        (item, task.restarts)
        for item in items
        if item.due.part_id is None and (task := task_of(item.due, library)) is not None and task.restarts
    ]

    def bundle(item: TourItem) -> str | None:
        return next(
            (
                each.due.task
                for each, restarts in bundles
                if each.group == item.group and item.due.task in restarts and item.due.state != "do not ride"
            ),
            None,
        )

    return tuple(replace(item, within=bundle(item)) for item in items)
