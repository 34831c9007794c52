"""The API of what is computed from a build: gears, chain, spokes, tyre room, pressure, torque, position, cost, mass."""

from collections.abc import Callable
from typing import Annotated, Any, TypeVar
from uuid import UUID

from fastapi import Depends, Query, Request, Response

from service.api.queries import check_queries
from service.context import Db, Library, Now, Who, is_unchanged, not_modified, signed_in_router
from service.domain.bar_and_saddle import Asked
from service.domain.bicycle import Bicycle
from service.domain.chain_needed import chain_needed
from service.domain.gears import gears
from service.domain.mass import mass
from service.domain.position import Point
from service.domain.pressures import pressures
from service.domain.spokes_needed import spokes_needed
from service.domain.torque_sheet import Extension, torque_sheet
from service.domain.tyre_room import tyre_room
from service.errors import Conflict, Gone, Malformed, NotFound, Refusal
from service.records import computed, expenses, views
from service.schemas import computed as shown
from service.schemas.calculations import StrengthClass
from service.schemas.fields import Money
from service.schemas.position import PositionShown
from service.schemas.problems import UNCHANGED, refusals
from service.schemas.worth import CostShown, ExpensePage, ExpenseSent, ExpenseShown, MassShown

router = signed_in_router(check_queries, prefix="/api/v1/builds/{build_id}", tags=["computations"])
ANSWERS = refusals(NotFound) | UNCHANGED
REFUSES = refusals(Refusal, NotFound) | UNCHANGED
Answer = TypeVar("Answer")

Mm = Annotated[float | None, Query(ge=-2000, le=2000)]


class View:
    """A computed answer about one build: asked for, compared with what the client has, and shown."""

    def __init__(
        self, build_id: UUID, request: Request, response: Response, db: Db, who: Who, library: Library, now: Now
    ) -> None:
        self.build_id, self.who, self.library = build_id, who, library
        self._request, self._response, self._db, self._now = request, response, db, now

    def show(self, work: Callable[[Any], Answer]) -> Answer | Response:
        """What the work answers in a session; 304 where the client has it already. Raises NotFound."""
        with self._db.reading() as session:
            tag = views.tag_of_build(session, self.who, self.build_id, library=self.library, now=self._now)
            self._response.headers["ETag"], self._response.headers["Cache-Control"] = tag, "private, no-cache"
            if is_unchanged(self._request, tag):
                return not_modified(tag)
            return work(session)

    def of_parts(self, work: Callable[[Bicycle], Answer], *, with_bench: bool = False) -> Answer | Response:
        """The same for what hangs on the parts and the plan alone."""
        return self.show(
            lambda session: work(
                computed.bicycle_of(session, self.who, self.build_id, self.library, with_bench=with_bench)
            )
        )


Asking = Annotated[View, Depends()]


@router.get("/gearing", summary="Work out the gears", response_model=shown.GearsShown, responses=ANSWERS)
def get_gearing(
    view: Asking,
    cadence_rpm: Annotated[float, Query(gt=0, le=300, description="Turns of the crank a minute, for the speed.")] = 90,
    circumference_mm: Annotated[
        float | None, Query(ge=300, le=4000, description="Once round the rear wheel, rolled out.")
    ] = None,
) -> Any:
    """Every ring with every sprocket, and every gear of a hub, from low to high."""
    return view.of_parts(
        lambda bicycle: shown.GearsShown.model_validate(
            gears(bicycle, view.library, cadence_rpm=cadence_rpm, circumference_mm=circumference_mm)
        )
    )


@router.get("/chain", summary="Work out the chain", response_model=shown.ChainShown, responses=ANSWERS)
def get_chain(view: Asking) -> Any:
    """Its length over large and large, what to cut off, and the slack on small and small."""
    return view.of_parts(lambda bicycle: shown.ChainShown.model_validate(chain_needed(bicycle, view.library)))


@router.get("/spokes", summary="Work out the spokes", response_model=shown.SpokesShown, responses=ANSWERS)
def get_spokes(view: Asking) -> Any:
    """Lengths of each side of each laced wheel, what to buy, tension between the sides, dish."""
    return view.of_parts(lambda bicycle: shown.SpokesShown.model_validate(spokes_needed(bicycle, view.library)))


@router.get("/clearance", summary="Work out the tyre room", response_model=shown.TyreRoomShown, responses=ANSWERS)
def get_clearance(view: Asking) -> Any:
    """Every measured gap with the tyre that is there or planned, the largest tyre, toe and pedal."""
    return view.of_parts(lambda bicycle: shown.TyreRoomShown.model_validate(tyre_room(bicycle, view.library)))


@router.get("/pressure", summary="Work out the pressures", response_model=shown.PressuresShown, responses=ANSWERS)
def get_pressure(view: Asking) -> Any:
    """The lowest limit of tyre, rim and tape, and what is planned against it."""
    return view.of_parts(lambda bicycle: shown.PressuresShown.model_validate(pressures(bicycle, view.library)))


@router.get("/torque", summary="Draw up the torques", response_model=shown.TorqueSheetShown, responses=REFUSES)
def get_torque(
    view: Asking,
    wrench_mm: Annotated[float | None, Query(gt=0, le=2000, description="Drive to the middle of the grip.")] = None,
    extension_mm: Annotated[float | None, Query(ge=0, le=2000, description="Drive to bolt; with `wrench_mm`.")] = None,
    angle_deg: Annotated[
        float, Query(ge=0, le=180, description="Of the extension: 0 in line, 90 at a right angle.")
    ] = 0,
    strength_class: Annotated[StrengthClass, Query(description="Class of the bolts.")] = "8.8",
) -> Any:
    """Every fastening: its range, whose it is, your wrench, the setting with an extension, what the bolt takes."""
    extension = _extension(wrench_mm, extension_mm, angle_deg)
    return view.of_parts(
        lambda bicycle: shown.TorqueSheetShown.model_validate(
            torque_sheet(bicycle, view.library, extension=extension, bolt_class=strength_class)
        ),
        with_bench=True,
    )


def _extension(wrench_mm: float | None, extension_mm: float | None, angle_deg: float) -> Extension | None:
    if wrench_mm is None and extension_mm is None:
        return None
    if wrench_mm is None or extension_mm is None:
        missing = "wrench_mm" if wrench_mm is None else "extension_mm"
        raise Malformed(f"{missing} is missing: wrench_mm and extension_mm go together.", errors=[("", missing)])
    return Extension(wrench_mm, extension_mm, angle_deg)


@router.get("/position", summary="Work out the position", response_model=PositionShown, responses=ANSWERS)
def get_position(
    view: Asking,
    spacers_mm: Annotated[float | None, Query(ge=0, le=200, description="Under the stem, whatever is there.")] = None,
    forward_mm: Annotated[Mm, Query(description="A target for the bar: before the shell; with `up_mm`.")] = None,
    up_mm: Annotated[Mm, Query(description="The target: over the shell.")] = None,
    inseam_mm: Annotated[float | None, Query(ge=300, le=1300, description="The rider's, for a saddle height.")] = None,
    first: Annotated[UUID | None, Query(description="A set-up to compare; with `second`.")] = None,
    second: Annotated[UUID | None, Query(description="The other set-up.")] = None,
) -> Any:
    """Bar, hands and saddle from the shell; set-ups over time; what reaches a target; what to settle before cutting."""
    _check_pair("forward_mm", forward_mm, "up_mm", up_mm)
    _check_pair("first", first, "second", second)
    target = Point(forward_mm, up_mm) if forward_mm is not None and up_mm is not None else None
    asked = Asked(spacers_mm=spacers_mm, target=target, inseam_mm=inseam_mm, first=first, second=second)
    return view.show(
        lambda session: PositionShown.model_validate(
            computed.position_of(session, view.who, view.build_id, view.library, asked)
        )
    )


def _check_pair(name: str, given: object, other: str, other_given: object) -> None:
    if (given is None) != (other_given is None):
        missing = name if given is None else other
        raise Malformed(f"{missing} is missing: {name} and {other} go together.", errors=[("", missing)])


@router.get("/cost", summary="Add up the cost", response_model=CostShown, responses=ANSWERS)
def get_cost(view: Asking) -> Any:
    """Paid, still to buy, spent, as new, against a complete bicycle; and every part without a price."""
    who = view.who
    return view.show(
        lambda session: CostShown.of(
            computed.cost_of(session, who, view.build_id, view.library), who.currency, money=who.may != "read"
        )
    )


@router.get("/mass", summary="Add up the mass", response_model=MassShown, responses=ANSWERS)
def get_mass(view: Asking) -> Any:
    """Weighed and claimed, by group, against the weighed bicycle; and every part without a mass."""
    return view.of_parts(lambda bicycle: MassShown.model_validate(mass(bicycle)))


@router.get("/expenses", summary="List expenses", responses=refusals(NotFound))
def list_expenses(build_id: UUID, db: Db, who: Who) -> ExpensePage:
    """What went on a build beside its parts."""
    with db.reading() as session:
        rows = expenses.list_expenses(session, who, build_id)
        return ExpensePage(items=[_shown(row, who.currency, money=who.may != "read") for row in rows], next=None)


@router.post(
    "/expenses", status_code=201, summary="Store an expense", responses=refusals(Refusal, NotFound, Conflict, Gone)
)
def add_expense(build_id: UUID, sent: ExpenseSent, response: Response, db: Db, who: Who, now: Now) -> ExpenseShown:
    """A shop's work, a tool, something used up, or carriage."""
    with db.writing() as session:
        row, new = expenses.add_expense(session, who, build_id, sent, now=now)
        response.status_code = 201 if new else 200
        return _shown(row, who.currency, money=True)


def _shown(row: Any, currency: str, *, money: bool) -> ExpenseShown:
    amount = Money(minor=row.amount_minor, currency=currency) if money else None
    return ExpenseShown(id=row.id, kind=row.kind, amount=amount, day=row.day, note=row.note)
