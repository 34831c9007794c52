"""Where each part of a build sits: what is fitted and what is planned, hosts before what sits in them."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from uuid import UUID

from service.domain.bicycle import Fitting, Part, Placed, PlanRow
from service.domain.ends import compose, own_places, roles_of
from service.domain.procedure import Category, Library
from service.errors import Refusal


@dataclass(frozen=True, slots=True)
class _Seat:
    """A fitting or a chosen plan row, seen alike."""

    id: UUID
    part_id: UUID
    into_part_id: UUID | None
    slot: str
    place: str
    fitting: Fitting | None


def place_parts(
    parts: Mapping[UUID, Part], open_fittings: Iterable[Fitting], plan: Iterable[PlanRow], library: Library
) -> tuple[Placed, ...]:
    """Every part where it is, or where the chosen plan row will put it, hosts before what sits in them.

    `open_fittings` are those of one build and, at any depth, of what it carries. A plan row is passed over where it is
    not chosen, where its part is fitted already, and where one of its roles is filled at that place.
    """
    seats = [_Seat(f.id, f.part_id, f.into_part_id, f.slot, f.place, f) for f in open_fittings if f.to_at is None]
    fitted = {seat.part_id for seat in seats}
    planned = [
        _Seat(row.id, row.part_id, row.into_part_id, row.slot, row.place, None)
        for row in plan
        if row.chosen and row.part_id not in fitted
    ]
    return tuple(_seated(parts, seats + planned, library))


def _seated(parts: Mapping[UUID, Part], seats: list[_Seat], library: Library) -> Iterator[Placed]:
    by_host: dict[UUID | None, list[_Seat]] = {}
    for seat in sorted(seats, key=_fitted_first):
        by_host.setdefault(seat.into_part_id, []).append(seat)
    filled: set[tuple[UUID | None, str, str]] = set()
    seen: set[UUID] = set()
    level: list[tuple[UUID | None, str]] = [(None, "")]
    while level:
        hosts: list[tuple[UUID | None, str]] = []
        for host_id, host_place in level:
            for seat in by_host.get(host_id, ()):
                part = parts.get(seat.part_id)
                if part is None or part.id in seen:
                    continue
                slots = {(host_id, role, seat.place) for role in roles_of(part, seat.slot, library)}
                if seat.fitting is None and slots & filled:
                    continue
                filled |= slots
                seen.add(part.id)
                placed = _placed(part, seat, host_place)
                hosts.append((part.id, placed.place))
                yield placed
        level = hosts


def _fitted_first(seat: _Seat) -> tuple[bool, str, str, UUID]:
    return (seat.fitting is None, seat.slot, seat.place, seat.id)


def _placed(part: Part, seat: _Seat, host_place: str) -> Placed:
    return Placed(
        part=part,
        slot=seat.slot,
        place=compose(host_place, seat.place),
        own_place=seat.place,
        host_id=seat.into_part_id,
        fitting_id=seat.id,
        from_at=seat.fitting.from_at if seat.fitting is not None else None,
        planned=seat.fitting is None,
    )


def check_place(category: Category, host: str, place: str) -> None:
    """Raises Refusal for a place that this category does not have on this host, naming those it has."""
    if category.places == "joins":
        return
    places = own_places(category, host)
    if places and place not in places:
        wanted = ", ".join(places)
        raise Refusal(
            f"A {category.title.lower()} has the places {wanted}, not {place!r}.",
            errors=[("/place", f"should be one of {wanted}")],
        )
    if not places and place:
        raise Refusal(
            f"A {category.title.lower()} has one place here; leave place empty.", errors=[("/place", "should be empty")]
        )
