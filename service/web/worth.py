"""The page of cost and mass: sums with what they leave out, expenses, the complete bicycle compared with, the scale."""

from typing import Any
from uuid import UUID

from starlette.responses import Response

from service.context import Db, Library, Now, Who, signed_in_router
from service.domain import procedure
from service.domain.cost import Cost
from service.domain.cost import cost as add_up
from service.domain.mass import Mass, mass
from service.errors import Refusal
from service.ids import new_id
from service.records import builds, computed, expenses, people
from service.schemas.builds import BuildChanged
from service.schemas.worth import ExpenseSent
from service.web.charts import Bar, bar_chart
from service.web.comparing import money
from service.web.facts import minor_units, money_typed
from service.web.forms import NOTHING_WRONG, Form, Typed, Wrong, id_for, read
from service.web.pages import render, see
from service.web.words import number, sentence

router = signed_in_router(include_in_schema=False)
TO_BUY = "Still to buy"
KINDS = {"shop": "a shop's work", "tool": "a tool", "consumable": "something used up", "carriage": "carriage"}


@router.get("/builds/{build_id}/worth")
def show_worth(build_id: UUID, db: Db, who: Who, library: Library, now: Now) -> Response:
    """Cost and mass as they stand."""
    return _page(build_id, db, who, library, today=str(who.today(now)))


@router.post("/builds/{build_id}/expenses")
def add_expense(build_id: UUID, form: Form, db: Db, who: Who, library: Library, now: Now) -> Response:
    """Keeps an expense; the same form sent twice is one."""
    try:
        with db.writing() as session:
            typed = form.filled("id", "kind", "day", "note") | money_typed(form, who.currency, "amount")
            expenses.add_expense(session, who, build_id, read(ExpenseSent, typed), now=now)
    except Refusal as refusal:
        return _page(build_id, db, who, library, today=str(who.today(now)), typed=form, wrong=Wrong(refusal))
    return see(f"/builds/{build_id}/worth#spent")


@router.post("/builds/{build_id}/compare-price")
def set_compare_price(build_id: UUID, form: Form, db: Db, who: Who, library: Library, now: Now) -> Response:
    """Keeps the price of a complete bicycle to compare with, or forgets it where the field is left empty."""
    try:
        with db.writing() as session:
            typed: dict[str, Any] = {"compare_price": None} | money_typed(form, who.currency, "compare_price")
            builds.change_build(session, who, build_id, read(BuildChanged, typed), form.version())
    except Refusal as refusal:
        return _page(build_id, db, who, library, today=str(who.today(now)), typed=form, wrong=Wrong(refusal))
    return see(f"/builds/{build_id}/worth")


def _page(
    build_id: UUID, db: Db, who: people.Who, library: procedure.Library, *,
    today: str, typed: Typed | None = None, wrong: Wrong = NOTHING_WRONG,
) -> Response:  # fmt: skip
    with db.reading() as session:
        bicycle = computed.bicycle_of(session, who, build_id, library)
        spent = computed.expenses_of(session, who, build_id)
    cost = add_up(bicycle, library, spent)
    weight, currency = mass(bicycle), None if who.may == "read" else who.currency
    compare = cost.compare_minor
    known = {"compare_price": None if compare is None else compare / minor_units(who.currency), "day": today}
    typed = typed or Typed.of(known)
    return render(
        "worth.html",
        status=wrong.status,
        build=bicycle.build,
        cost=cost,
        mass=weight,
        spent=spent,
        currency=currency,
        money=lambda minor: money(minor, who.currency),
        cost_chart=_cost_chart(cost, who.currency) if currency else "",
        mass_chart=_mass_chart(weight),
        kinds=KINDS,
        typed=typed,
        wrong=wrong,
        id=id_for(typed, wrong) if typed.has("id") else new_id(),
        today=today,
        library=library,
    )


def _cost_chart(cost: Cost, currency: str) -> Any:
    """What is paid, still to buy and spent, as far as there is any of it."""
    rows = [("Paid", cost.paid_minor or 0), (TO_BUY, cost.to_buy_minor or 0)]
    rows += [(sentence(KINDS[kind]), amount) for kind, amount in cost.by_kind]
    rows = [(words, amount) for words, amount in rows if amount]
    bars = [Bar(words, amount, 0.0 if words == TO_BUY else amount, money(amount, currency)) for words, amount in rows]
    told = "; ".join(f"{bar.words}: {bar.said}" for bar in bars)
    return bar_chart("cost", "Where the money goes", bars, f"{told}. What is still to buy is hollow.")


def _mass_chart(weight: Mass) -> Any:
    known = ((each.group, each.mass_g, each.weighed_g or 0.0) for each in weight.groups if each.mass_g is not None)
    bars = [Bar(sentence(group), grams, weighed, f"{number(grams, 0)} g") for group, grams, weighed in known]
    told = "; ".join(f"{bar.words}: {bar.said}" for bar in bars)
    return bar_chart("mass", "Mass by group", bars, f"{told}. Filled is what was weighed, hollow what is claimed.")
