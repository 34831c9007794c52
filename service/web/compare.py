"""The page of two bicycles side by side: either of two candidates for a place, or two builds."""

from collections.abc import Iterator
from typing import Any, NamedTuple
from uuid import UUID

from starlette.responses import Response

from service.context import Db, Library, Who, signed_in_router
from service.domain import bicycle as seen
from service.domain.compare import Comparison, Prospect
from service.errors import Refusal
from service.ids import parse_id
from service.records import builds, planning
from service.records.bicycle import load
from service.schemas.planning import CandidateSent, SideSent
from service.web.comparing import rows_of
from service.web.forms import NOTHING_WRONG, Typed, Wrong
from service.web.pages import render

router = signed_in_router(include_in_schema=False)


class NotKnownYet(NamedTuple):
    """A fact to find out, how, and what waits for it."""

    category: str
    title: str
    how: str
    settles: str


MOST_BUILDS = 200


@router.get("/builds/{build_id}/compare")
def show_comparison(
    build_id: UUID, db: Db, who: Who, library: Library, one: str = "", other: str = "", beside: str = ""
) -> Response:
    """Side by side once two are chosen; else what there is to compare."""
    wrong, comparison, bicycle = NOTHING_WRONG, None, None
    with db.reading() as session:
        build = builds.get_build(session, who, build_id)
        named = {"id": build_id, "name": build.name}
        try:
            sides = _sides(build_id, parse_id(one), parse_id(other), parse_id(beside))
            if sides:
                comparison = planning.compare_sides(session, who, sides, library=library)
        except Refusal as refusal:
            wrong = Wrong(refusal)
        if comparison is None:
            bicycle = load(session, who, build_id, library, with_log=False, also=())
        known = builds.list_builds(session, who, limit=MOST_BUILDS)
    values: dict[str, Any] = {"comparison": comparison}
    if comparison is not None:
        pair = (comparison.before, comparison.after)
        values["rows"] = rows_of(comparison, library, planning.currency_for(who))
        values["unknown"] = _unknown(comparison)
        values["names"] = [_name(each, build.name if not parse_id(beside) else "") for each in pair]
    return render(
        "compare.html",
        status=wrong.status,
        build=named,
        others=[(str(each["id"]), each["name"]) for each in known if each["id"] != build_id],
        candidates=_candidates(bicycle) if bicycle is not None else [],
        typed=Typed.of({"one": one, "other": other, "beside": beside}),
        wrong=wrong,
        library=library,
        **values,
    )


def _sides(build_id: UUID, one: UUID | None, other: UUID | None, beside: UUID | None) -> list[SideSent]:
    if beside is not None:
        return [SideSent(build=build_id), SideSent(build=beside)]
    if other is None:
        return []
    first = [CandidateSent(part=one)] if one is not None else []
    return [SideSent(build=build_id, chosen=first), SideSent(build=build_id, chosen=[CandidateSent(part=other)])]


def _name(prospect: Prospect, build: str) -> str:
    """What heads a column: the candidate; the build itself where two are compared, or nothing is supposed."""
    on = ", ".join(placed.part.name for placed in prospect.what_if.on)
    return on or (f"{build} as it is" if build else prospect.bicycle.build.name)


def _unknown(comparison: Comparison) -> list[list[NotKnownYet]]:
    """What is not known of both, of the one alone, of the other alone."""
    one, other = (dict.fromkeys(_facts(each)) for each in (comparison.before, comparison.after))
    both = [fact for fact in one if fact in other]
    return [both, [fact for fact in one if fact not in other], [fact for fact in other if fact not in one]]


def _facts(prospect: Prospect) -> Iterator[NotKnownYet]:
    """What its joins wait for, then what gears and tyre room lack beside it."""
    asked = {(each.fact.part_id, each.fact.field) for each in prospect.measure}
    for each in prospect.measure:
        yield NotKnownYet(each.fact.category, each.fact.title, each.fact.how, "; ".join(each.joins))
    for missed in prospect.not_known:
        if (missed.part, missed.field) not in asked:
            yield NotKnownYet(missed.category, missed.title, missed.how, "gears and tyre room")


def _candidates(bicycle: seen.Bicycle) -> list[tuple[str, str, str]]:
    """Every candidate that is not on the bicycle, to be put beside the bicycle as it is."""
    there = {placed.part.id for placed in bicycle.placed}
    return [
        (str(row.part_id), bicycle.parts[row.part_id].name, row.note)
        for row in bicycle.plan
        if row.part_id not in there
    ]
