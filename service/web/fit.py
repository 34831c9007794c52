"""The page on which a part is chosen for a place: planned, or fitted at once."""

from typing import Any, NamedTuple
from uuid import UUID

from starlette.responses import Response

from service.context import Db, Library, Now, Who, signed_in_router
from service.domain import bicycle as seen
from service.domain import procedure
from service.domain.ends import ENDS, compose, own_places, role_specs
from service.domain.facts import category_of
from service.domain.missing import missing_parts
from service.errors import Malformed, Refusal
from service.ids import parse_id
from service.records import builds, fitting, parts, people
from service.records.bicycle import load
from service.schemas.builds import FittingSent, PlanSent
from service.web import words
from service.web.forms import NOTHING_WRONG, Form, Typed, Wrong, id_for, read
from service.web.pages import render, see

router = signed_in_router(include_in_schema=False)
WHEELS = ("wheel", "factory-wheel")
MOST_PARTS = 200


class Seat(NamedTuple):
    """A place for a part: what the form sends, its words, who is there already."""

    value: str
    words: str
    taken_by: str
    place: str


@router.get("/builds/{build_id}/fit")
def show_fit(
    build_id: UUID, db: Db, who: Who, library: Library, now: Now,
    slot: str = "", at: str = "", into: str = "", part: str = "",
) -> Response:  # fmt: skip
    """What can be fitted, and where."""
    typed = Typed.of({"slot": slot, "at": at, "into": into, "part": part})
    return _page(build_id, db, who, library, now, typed=typed)


@router.post("/builds/{build_id}/fit")
def fit(build_id: UUID, form: Form, db: Db, who: Who, library: Library, now: Now) -> Response:
    """Plans the chosen part, or fits it."""
    planning = form("do") != "fit"
    try:
        part_id, into, place = _chosen(form)
        with db.writing() as session:
            if planning:
                values = form.filled("id") | into | {"place": place, "chosen": form("do") != "candidate"}
                plan = read(PlanSent, values)
                builds.plan_part(session, who, build_id, part_id, plan, library=library)
            else:
                values = form.filled("day", "rides") | into | {"place": place, "part": part_id}
                fitting.fit_part(session, who, build_id, read(FittingSent, values), library=library, now=now)
    except Refusal as refusal:
        return _page(build_id, db, who, library, now, typed=form, wrong=Wrong(refusal))
    if form("do") == "candidate":
        return see(f"/builds/{build_id}/plan#choices")
    return see(f"/builds/{build_id}?said={'planned' if planning else 'fitted'}")


def _chosen(form: Typed) -> tuple[UUID, dict[str, str], str]:
    """The part, what it goes into, its own place there. Raises Malformed where nothing was chosen."""
    part_id = parse_id(form("part"))
    if part_id is None:
        raise Malformed("Choose the part first.", errors=[("/part", "should be one of these")])
    if not form.has("where"):
        raise Malformed("Choose where it goes first.", errors=[("/where", "should be one of these")])
    into, _, place = form("where").partition("|")
    return part_id, {"into_part": into} if into else {}, place


def _page(
    build_id: UUID, db: Db, who: people.Who, library: procedure.Library, now: Any,
    *, typed: Typed, wrong: Wrong = NOTHING_WRONG,
) -> Response:  # fmt: skip
    category = category_of(library, typed("slot")) if typed("slot") else None
    with db.reading() as session:
        bicycle = load(session, who, build_id, library)
        lines = []
        if category is not None:
            lines = parts.list_parts(session, who, category=category.category, in_bin=True, limit=MOST_PARTS)
    seats = seats_of(category, bicycle, library) if category is not None else []
    planned = {row.part_id for row in bicycle.plan if row.chosen}
    if category is not None and not typed.has("where"):
        typed = _with_seat(typed, seats)
    return render(
        "fit.html",
        status=wrong.status,
        build=bicycle.build,
        category=category,
        missing=() if category is not None else missing_parts(bicycle, library),
        categories=fittable(library),
        stand_ins=_stand_ins(category, library),
        parts=[(line[0], line[2], _about(line, planned)) for line in lines if line[5] != "gone"],
        seats=[(seat.value, seat.words, seat.taken_by) for seat in seats],
        typed=typed,
        wrong=wrong,
        new_id=id_for(typed, wrong),
        library=library,
        today=who.today(now),
    )


def _about(line: tuple[Any, ...], planned: set[UUID]) -> str:
    tag = f"box {line[3]}, " if line[3] else ""
    return f"{tag}{line[4]}, {line[5]}{'; planned here' if line[0] in planned else ''}"


def fittable(library: procedure.Library) -> list[procedure.Category]:
    """The kinds of part there are, by title."""
    found = [each for each in library.categories.values() if each.into and not each.deprecated]
    return sorted(found, key=lambda each: each.title)


def _stand_ins(category: procedure.Category | None, library: procedure.Library) -> list[procedure.Category]:
    if category is None:
        return []
    return [each for each in fittable(library) if category.category in role_specs(each)]


def seats_of(category: procedure.Category, bicycle: seen.Bicycle, library: procedure.Library) -> list[Seat]:
    """Every place on this bicycle where a part of this category can go."""
    taken = {(placed.host_id, placed.own_place): placed.part.name for placed in bicycle.placed
             if placed.slot == category.category}  # fmt: skip
    found: list[Seat] = []
    if "build" in category.into:
        found += [
            Seat(f"|{own}", words.place(own) or "on the bicycle", _there(taken, None, own), own)
            for own in own_places(category, "build") or ("",)
        ]
    for host in bicycle.placed:
        if host.slot in category.into:
            found += [
                Seat(
                    f"{host.part.id}|{own}",
                    f"into the {words.at_place(host.slot, compose(host.place, own), library).lower()}",
                    _there(taken, host.part.id, own),
                    compose(host.place, own),
                )
                for own in own_places(category, host.slot) or ("",)
            ]
    return found + _wheels_to_come(category, bicycle)


def _there(taken: dict[tuple[UUID | None, str], str], host: UUID | None, own: str) -> str:
    name = taken.get((host, own))
    return f"{name} is there: swap it instead" if name else ""


def _wheels_to_come(category: procedure.Category, bicycle: seen.Bicycle) -> list[Seat]:
    """A tyre, a rim, a rotor brings the wheel that it needs."""
    hosts = [host for host in WHEELS if host in category.into]
    if not hosts or "build" in category.into:
        return []
    there = {placed.place for placed in bicycle.placed if placed.slot in WHEELS}
    return [
        Seat(f"|{at}", f"{words.place(at)}; a wheel is made for it", "", at)
        for end in ENDS
        if end not in there
        for at in (compose(end, own) for own in own_places(category, hosts[0]) or ("",))
    ]


def _with_seat(typed: Typed, seats: list[Seat]) -> Typed:
    """Ticks the place that the page was opened for, or the only free one."""
    wanted = [seat for seat in seats if typed("at") and seat.place == typed("at")]
    wanted = [seat for seat in wanted if seat.value.startswith(typed("into"))] or wanted
    if not wanted:
        wanted = [seat for seat in seats if not seat.taken_by]
    where = wanted[0].value if wanted and (typed("at") or len(wanted) == 1) else ""
    return Typed.of({name: typed(name) for name in typed.names()} | {"where": where})
