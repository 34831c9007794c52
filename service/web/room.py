"""The page of tyre room: gaps with the tyre that is there or planned, the largest one, pressure, spokes, toe, pedal."""

from uuid import UUID

from starlette.responses import Response

from service.context import Db, Library, Who, signed_in_router
from service.domain.pressures import pressures
from service.domain.spokes_needed import spokes_needed
from service.domain.tyre_room import EndRoom, tyre_room
from service.records.computed import bicycle_of
from service.web.charts import NOTHING, Bar, bar_chart
from service.web.pages import render
from service.web.words import number, sentence

router = signed_in_router(include_in_schema=False)


@router.get("/builds/{build_id}/room")
def show_room(build_id: UUID, db: Db, who: Who, library: Library) -> Response:
    """The room as it is with these parts."""
    with db.reading() as session:
        bicycle = bicycle_of(session, who, build_id, library)
    room = tyre_room(bicycle, library)
    return render(
        "room.html",
        build=bicycle.build,
        room=room,
        charts={end.place: _chart(end) for end in room.ends},
        pressures=pressures(bicycle, library),
        spokes=spokes_needed(bicycle, library),
        library=library,
    )


def _chart(end: EndRoom) -> object:
    """The gaps of one end as bars, what is to be kept marked on each."""
    known = [each for each in end.gaps if each.gap_mm is not None]
    bars = [
        Bar(
            words=sentence(each.where),
            length=max(each.gap_mm or 0.0, 0.0),
            filled=max(each.gap_mm or 0.0, 0.0),
            said=f"{number(each.gap_mm or 0.0, 1)} mm, {number(each.wanted_mm, 1)} asked",
            limit=each.wanted_mm,
        )
        for each in known
    ]
    told = "; ".join(f"{bar.words}: {bar.said}" for bar in bars)
    title = f"{sentence(end.place)} gaps against what is to be kept"
    if not bars:
        return NOTHING
    return bar_chart(f"gaps-{end.place}", title, bars, f"{told}. The dashed line is what is to be kept.")
