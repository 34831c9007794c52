"""The page of what is still to be got for a build, to print: by kind, then by visit to a shop."""

from uuid import UUID

from starlette.responses import Response

from service.context import Db, Library, Now, Who, signed_in_router
from service.domain.small_parts import SmallPartNeeded
from service.records import planning
from service.web.comparing import amount, money
from service.web.pages import render

router = signed_in_router(include_in_schema=False)


@router.get("/builds/{build_id}/shopping")
def show_shopping(build_id: UUID, db: Db, who: Who, library: Library, now: Now) -> Response:
    """The list as it stands."""
    currency = planning.currency_for(who)
    with db.reading() as session:
        bicycle, found = planning.shopping_of(session, who, build_id, library=library, now=now)

    def price(minor: int | None) -> str:
        return "" if minor is None or currency is None else money(minor, currency)

    def small(each: SmallPartNeeded) -> str:
        return amount(each.what, each.amount, each.unit, library)

    return render(
        "shopping.html",
        build=bicycle.build,
        shopping=found,
        names={part.id: part.name for part in bicycle.parts.values()},
        places={placed.part.id: placed.place for placed in bicycle.placed},
        price=price,
        money_shown=currency is not None,
        small=small,
        stuff=lambda each: amount(each.what, each.amount, each.unit, library),
        library=library,
        today=who.today(now),
    )
