"""The page of the bench: the tools that are owned, which decide what is home and what is shop, and torque wrenches."""

from starlette.responses import Response

from service.context import Db, Library, Who, signed_in_router
from service.domain import procedure
from service.errors import Refusal
from service.records import bench, people
from service.schemas.bench import WrenchSent
from service.web.forms import NOTHING_WRONG, Form, Typed, Wrong, id_for, read
from service.web.pages import render, see

router = signed_in_router(include_in_schema=False)


@router.get("/bench")
def show_bench(db: Db, who: Who, library: Library) -> Response:
    """Tools and wrenches."""
    return _page(db, who, library)


@router.post("/bench/tools")
def set_tools(form: Form, db: Db, who: Who, library: Library) -> Response:
    """Keeps which tools are owned: exactly those that are ticked."""
    wanted = set(form.all("tool"))
    try:
        with db.writing() as session:
            owned = bench.owned_tools(session, who)
            for tool in sorted(wanted - owned):
                bench.own_tool(session, who, tool, library)
            for tool in sorted(owned - wanted):
                bench.give_tool_away(session, who, tool)
    except Refusal as refusal:
        return _page(db, who, library, wrong=Wrong(refusal))
    return see("/bench")


@router.post("/bench/wrenches")
def add_wrench(form: Form, db: Db, who: Who, library: Library) -> Response:
    """Adds a torque wrench."""
    try:
        values = form.filled("id", "title", "checked_on") | form.numbers("low_nm", "high_nm", "tolerance_percent")
        with db.writing() as session:
            bench.add_wrench(session, who, read(WrenchSent, values))
    except Refusal as refusal:
        return _page(db, who, library, typed=form, wrong=Wrong(refusal))
    return see("/bench#wrenches")


def _page(
    db: Db, who: people.Who, library: procedure.Library, *, typed: Typed | None = None, wrong: Wrong = NOTHING_WRONG
) -> Response:
    with db.reading() as session:
        owned = bench.owned_tools(session, who)
        wrenches = [row.model_dump() for row in bench.list_wrenches(session, who)]
    typed = typed or Typed()
    known = set(bench.known_tools(library))
    tools = sorted(library.tools.items(), key=lambda each: (each[1].shop, each[1].title))
    return render(
        "bench.html",
        status=wrong.status,
        tools=[(name, tool, [size for size in tool.sizes if f"{name}:{size}" in known]) for name, tool in tools],
        owned=owned,
        wrenches=wrenches,
        typed=typed,
        wrong=wrong,
        new_id=id_for(typed, wrong),
    )
