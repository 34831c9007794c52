"""The page of gears: every gear with a chart and a table beside it, what the derailleurs take, the chain."""

from uuid import UUID

from starlette.responses import Response

from service.context import Db, Library, Who, signed_in_router
from service.domain.chain_needed import chain_needed
from service.domain.gears import gears
from service.errors import Malformed
from service.records.computed import bicycle_of
from service.web.charts import gear_chart
from service.web.forms import NOTHING_WRONG, Typed, Wrong, as_number
from service.web.pages import render

router = signed_in_router(include_in_schema=False)
USUAL_RPM = 90.0
RPM, WHEEL_MM = (1.0, 300.0), (300.0, 4000.0)


@router.get("/builds/{build_id}/gears")
def show_gears(
    build_id: UUID, db: Db, who: Who, library: Library, cadence: str = "", circumference: str = ""
) -> Response:
    """The gears at a cadence, with the wheel as it is or as it was rolled out."""
    with db.reading() as session:
        bicycle = bicycle_of(session, who, build_id, library)
    wrong, rpm, wheel = NOTHING_WRONG, USUAL_RPM, None
    try:
        rpm = _asked("cadence", cadence, RPM) or USUAL_RPM
        wheel = _asked("circumference", circumference, WHEEL_MM)
    except Malformed as refusal:
        wrong = Wrong(refusal)
    found = gears(bicycle, library, cadence_rpm=rpm, circumference_mm=wheel)
    return render(
        "gears.html",
        status=wrong.status,
        build=bicycle.build,
        gears=found,
        chain=chain_needed(bicycle, library),
        chart=gear_chart(found),
        typed=Typed([("cadence", cadence or f"{USUAL_RPM:g}"), ("circumference", circumference)]),
        wrong=wrong,
        library=library,
    )


def _asked(name: str, text: str, span: tuple[float, float]) -> float | None:
    """A number that stands in an address, None where it is left out. Raises Malformed for what it cannot be."""
    if not text.strip():
        return None
    asked = as_number(text, f"/{name}")
    if isinstance(asked, str) or not span[0] <= asked <= span[1]:
        say = f"should be a number from {span[0]:g} to {span[1]:g}"
        raise Malformed(f"{name.capitalize()} {say}.", errors=[(f"/{name}", say)])
    return float(asked)
