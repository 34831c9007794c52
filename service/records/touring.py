"""A tour as a workshop asks for it: checked, then weighed on a build."""

from datetime import date, datetime, timedelta
from uuid import UUID

from sqlmodel import Session

from service.domain.bicycle import Bicycle
from service.domain.procedure import Library
from service.domain.tour import Tour
from service.domain.tour_plan import TourPlan, plan_tour
from service.errors import Refusal
from service.records.bicycle import load
from service.records.care import desk_now
from service.records.people import Who

FURTHEST = timedelta(days=730)
LONGEST_METRES, MOST_DAYS = 50_000_000, 730


def tour_of(
    session: Session, who: Who, build_id: UUID, tour: Tour, *, library: Library, now: datetime
) -> tuple[Bicycle, TourPlan]:
    """The build and what to do before the tour.

    Raises NotFound for a build of another workshop, Refusal for a tour that cannot be weighed or a retired build.
    """
    _check(tour, who.today(now))
    bicycle = load(session, who, build_id, library)
    if bicycle.build.state == "retired":
        raise Refusal("This bicycle is retired: it goes on no tour. Take it into service first.")
    return bicycle, plan_tour(desk_now(bicycle, library, who, now), tour)


def _check(tour: Tour, today: date) -> None:
    errors = []
    if not 0 < tour.metres <= LONGEST_METRES:
        errors.append(("/km", "should be more than 0 and at most 50000"))
    if not 1 <= tour.days <= MOST_DAYS:
        errors.append(("/days", f"should be 1 to {MOST_DAYS}"))
    if not today <= tour.leaving <= today + FURTHEST:
        errors.append(("/leaving", f"should be from {today} to {today + FURTHEST}"))
    if errors:
        raise Refusal("This tour cannot be weighed.", errors=errors)
