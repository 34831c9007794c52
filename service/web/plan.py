"""The page of a build's plan: what meets, what to measure, what each candidate changes, what else to buy."""

from typing import Any, NamedTuple
from uuid import UUID

from starlette.responses import Response

from service.context import Db, Library, Who, signed_in_router
from service.domain import procedure
from service.domain.compare import FindingChange
from service.domain.missing import missing_parts
from service.domain.plan import Alternative, OpenChoice
from service.errors import Malformed, Refusal
from service.ids import parse_id
from service.records import builds, people, planning
from service.records.views import WORST_FIRST
from service.schemas.builds import PlanSent
from service.web.comparing import JOINS, Row, amount, differing, joins_in_words, lines_of, money, rows_of
from service.web.forms import NOTHING_WRONG, Form, Wrong
from service.web.pages import render, see

router = signed_in_router(include_in_schema=False)


class Other(NamedTuple):
    """A candidate as the page tells of it: what changes if it were chosen, in rows and join by join."""

    alternative: Alternative
    rows: list[Row]
    findings: tuple[FindingChange, ...]


@router.get("/builds/{build_id}/plan")
def show_plan(build_id: UUID, db: Db, who: Who, library: Library) -> Response:
    """The plan as it stands."""
    return _page(build_id, db, who, library)


@router.post("/builds/{build_id}/plan")
def change_plan(build_id: UUID, form: Form, db: Db, who: Who, library: Library) -> Response:
    """Chooses a candidate, makes the chosen part a mere candidate, or takes one off the plan."""
    try:
        with db.writing() as session:
            part_id = parse_id(form("part"))
            rows = {row.part_id: row for row in builds.list_plan(session, who, build_id)}
            if part_id is None or part_id not in rows:
                raise Malformed("This part is not on the plan any more.", errors=[("/part", "is not on the plan")])
            if form("do") == "drop":
                builds.unplan_part(session, who, build_id, part_id)
            else:
                row = rows[part_id]
                chosen = form("do") == "choose"
                values: dict[str, Any] = {"place": row.place, "note": row.note, "chosen": chosen}
                values |= {"into_part": row.into_part_id} if row.into_part_id is not None else {}
                builds.plan_part(session, who, build_id, part_id, PlanSent(**values), library=library)
    except Refusal as refusal:
        return _page(build_id, db, who, library, wrong=Wrong(refusal))
    return see(f"/builds/{build_id}/plan#choices")


def _page(
    build_id: UUID, db: Db, who: people.Who, library: procedure.Library, *, wrong: Wrong = NOTHING_WRONG
) -> Response:
    currency = planning.currency_for(who)
    with db.reading() as session:
        plan = planning.plan_of(session, who, build_id, library=library)
    now = plan.prospect
    worst_first = sorted(now.findings, key=lambda each: (WORST_FIRST.index(each.answer), each.join))
    return render(
        "plan.html",
        status=wrong.status,
        build=now.bicycle.build,
        bicycle=now.bicycle,
        prospect=now,
        telling=[each for each in worst_first if each.answer in ("conflicts", "needs care")],
        joins=joins_in_words(now),
        choices=[(each, _others(each, library, currency)) for each in plan.choices],
        lines=lines_of(now, currency),
        sums=[("Mass", now.mass)] + ([("Cost", now.cost)] if currency is not None else []),
        missing=missing_parts(now.bicycle, library),
        to_get=[each for each in now.bicycle.placed if each.planned and each.part.state in ("planned", "ordered")],
        planned=[each for each in now.bicycle.placed if each.planned],
        fitted=[each for each in now.bicycle.placed if not each.planned],
        small=[(amount(each.what, each.amount, each.unit, library), each) for each in now.small_parts],
        price=lambda part: _price(part, currency),
        library=library,
        wrong=wrong,
    )


def _others(choice: OpenChoice, library: procedure.Library, currency: str | None) -> list[Other]:
    found = []
    for each in choice.others:
        changes = each.changes
        rows = differing(rows_of(changes, library, currency)) if changes is not None else []
        kept = [row for row in rows if row.title != JOINS]
        found.append(Other(each, kept, changes.findings if changes is not None else ()))
    return found


def _price(part: Any, currency: str | None) -> str:
    """What was paid or is asked for it; its price as new stands in for what is still to buy, as in the cost."""
    to_buy = part.state in ("planned", "ordered")
    minor = part.price_new_minor if part.price_minor is None and to_buy else part.price_minor
    return "" if minor is None or currency is None else money(minor, currency)
