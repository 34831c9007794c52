"""What the demo is entered with: short ways to say a part, a fact, a moment, over the functions of records."""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

from sqlmodel import Session

from service.domain.procedure import Library
from service.ids import new_id
from service.records import builds, care, fitting, parts
from service.records.people import Who
from service.schemas.builds import FittingChanged, FittingSent, PlanSent
from service.schemas.care import EventLogged, WearMeasured
from service.schemas.parts import KnownBy, PartSent, SpecSent, TorqueFigureSent

Fact = float | bool | str | list[float] | list[str]
ENGLISH: dict[str, Fact] = {"shell": "threaded_english"}
Wanted = Mapping[str, PartSent]
"""Parts by where they go: a category, and its place on the whole bicycle after an @, such as spokes@front.left."""


@dataclass(frozen=True, slots=True)
class Scene:
    """One session in which the demo is entered, as its owner, at one moment taken for now."""

    session: Session
    who: Who
    library: Library
    now: datetime

    def day(self, ago: int) -> date:
        """The workshop's day so many days ago."""
        return self.who.today(self.now) - timedelta(days=ago)

    def at(self, ago: int, hour: int = 18, minute: int = 0) -> datetime:
        """A moment of that day by the workshop's clocks; never ahead of now."""
        local = datetime.combine(self.day(ago), time(hour, minute), ZoneInfo(self.who.time_zone))
        return min(local.astimezone(UTC), self.now)

    @contextmanager
    def action(self) -> Iterator[None]:
        """What one request would have done: its lines of the journal have one request id."""
        self.session.info["request_id"] = str(new_id())
        yield
        self.session.flush()


@dataclass(slots=True)
class Stock:
    """The parts of one bicycle by the key they were entered under."""

    ids: dict[str, UUID] = field(default_factory=dict)

    def __getitem__(self, key: str) -> UUID:
        return self.ids[key]


def told(known_by: KnownBy, **facts: Fact) -> dict[str, SpecSent]:
    """Facts that are known in the same way."""
    return {key: _spec(known_by, fact) for key, fact in facts.items()}


def _spec(known_by: KnownBy, fact: Fact) -> SpecSent:
    if isinstance(fact, bool):
        return SpecSent(words="yes" if fact else "no", known_by=known_by)
    if isinstance(fact, str):
        return SpecSent(words=fact, known_by=known_by)
    if isinstance(fact, list):
        numbers = [each for each in fact if isinstance(each, int | float)]
        words = [each for each in fact if isinstance(each, str)]
        return SpecSent(numbers=numbers, known_by=known_by) if numbers else SpecSent(choices=words, known_by=known_by)
    return SpecSent(number=fact, known_by=known_by)


def figure(low_nm: float | None, high_nm: float, as_printed: str = "", dressing: str | None = None) -> TorqueFigureSent:
    """A maker's torque, N·m."""
    held = {"low_nm": low_nm, "dressing": dressing}
    return TorqueFigureSent(
        high_nm=high_nm, as_printed=as_printed, **{key: worth for key, worth in held.items() if worth is not None}
    )


def add_parts(scene: Scene, wanted: Wanted) -> Stock:
    """Enters parts in the parts bin."""
    stock = Stock()
    with scene.action():
        for key, sent in wanted.items():
            stock.ids[key] = parts.add_part(scene.session, scene.who, sent, scene.library)[0].id
    return stock


def seat_of(scene: Scene, stock: Stock, key: str) -> tuple[UUID | None, str]:
    """What a part goes into (None: the build itself) and its own place there."""
    category, _, place = key.partition("@")
    into = scene.library.categories[category].into
    if "build" in into:
        return None, place
    end, _, rest = place.partition(".")
    for host in into:
        if f"{host}@{end}" in stock.ids:
            return stock[f"{host}@{end}"], rest
        if host in stock.ids:
            return stock[host], place
    raise LookupError(f"{key}: none of {', '.join(into)} is among the parts")


def plan_all(scene: Scene, build_id: UUID, stock: Stock, *, but: frozenset[str] = frozenset()) -> None:
    """Chooses each part for its place on the plan of a build."""
    for key, part_id in stock.ids.items():
        if key in but:
            continue
        into, place = seat_of(scene, stock, key)
        plan(scene, build_id, part_id, place, into=into)


def plan(
    scene: Scene, build_id: UUID, part_id: UUID, place: str = "", *, into: UUID | None = None, chosen: bool = True
) -> None:
    """Puts a part on the plan of a build, as the chosen one or as one more candidate."""
    sent = (
        PlanSent(place=place, chosen=chosen) if into is None else PlanSent(place=place, chosen=chosen, into_part=into)
    )
    with scene.action():
        builds.plan_part(scene.session, scene.who, build_id, part_id, sent, library=scene.library)


def fit_all(scene: Scene, build_id: UUID, stock: Stock, at: datetime) -> dict[str, UUID]:
    """Fits each part at its place at this moment; answers the fittings by key."""
    fitted = {}
    with scene.action():
        for key, part_id in stock.ids.items():
            into, place = seat_of(scene, stock, key)
            fitted[key] = fit(scene, build_id, part_id, place, into=into, at=at)
    return fitted


def fit(
    scene: Scene, build_id: UUID, part_id: UUID, place: str = "", *, into: UUID | None = None, at: datetime
) -> UUID:
    """Fits one part; answers the fitting."""
    sent = (
        FittingSent(part=part_id, place=place, at=at)
        if into is None
        else FittingSent(part=part_id, place=place, at=at, into_part=into)
    )
    done = fitting.fit_part(scene.session, scene.who, build_id, sent, library=scene.library, now=scene.now)
    return done.fitting.id


def take_off(scene: Scene, fitting_id: UUID, at: datetime, why: str) -> None:
    """Takes a part off into the parts bin."""
    sent = FittingChanged(end_at=at, why_removed=why)
    with scene.action():
        fitting.change_fitting(scene.session, scene.who, fitting_id, sent, library=scene.library, now=scene.now)


def log(scene: Scene, sent: EventLogged) -> None:
    """Writes down something done or found."""
    with scene.action():
        care.log_event(scene.session, scene.who, sent, library=scene.library, now=scene.now)


def measure(scene: Scene, part_id: UUID, dimension: str, reading: float, *, ago: int, place: str = "") -> None:
    """Writes down a reading of wear."""
    sent = WearMeasured(part=part_id, dimension=dimension, place=place, reading=reading, at=scene.at(ago, 17))
    with scene.action():
        care.measure_wear(scene.session, scene.who, sent, library=scene.library, now=scene.now)
