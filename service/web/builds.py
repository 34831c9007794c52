"""The page of all builds, most pressing first, and adding one."""

from datetime import date
from uuid import UUID

from starlette.responses import Response

from service.context import Db, Who, signed_in_router
from service.errors import Malformed, Refusal
from service.ids import parse_id
from service.records import builds, people
from service.schemas.builds import BuildSent
from service.schemas.showing import show_build_line
from service.web.forms import NOTHING_WRONG, Form, Typed, Wrong, id_for, read
from service.web.pages import render, see

router = signed_in_router(include_in_schema=False)
AT_ONCE = 50
USES = tuple((use, use) for use in ("mixed", "road", "road race", "off-road", "town", "touring"))


@router.get("/")
def show_builds(db: Db, who: Who, after: str | None = None) -> Response:
    """Every build in a line."""
    return _page(db, who, after=after)


@router.post("/builds")
def add_build(form: Form, db: Db, who: Who) -> Response:
    """Adds a build and shows it."""
    try:
        with db.writing() as session:
            values = form.filled("id", "name", "use") | form.numbers("km_before") | form.ticked("motor")
            build, _ = builds.add_build(session, who, read(BuildSent, values))
            build_id = build.id
    except Refusal as refusal:
        return _page(db, who, typed=form, wrong=Wrong(refusal))
    return see(f"/builds/{build_id}")


def _page(
    db: Db, who: people.Who, *, after: str | None = None, typed: Typed | None = None, wrong: Wrong = NOTHING_WRONG
) -> Response:
    with db.reading_lists(first_page=not after) as session:
        rows = builds.list_builds(session, who, after=key_of_builds(after), limit=AT_ONCE + 1)
    last = rows[AT_ONCE - 1] if len(rows) > AT_ONCE else None
    typed = typed or Typed()
    return render(
        "builds.html",
        status=wrong.status,
        lines=[show_build_line(row) for row in rows[:AT_ONCE]],
        further=f"{last['due_rank']}~{last['due_on'] or ''}~{last['id']}" if last else None,
        uses=USES,
        typed=typed,
        wrong=wrong,
        new_id=id_for(typed, wrong),
    )


def key_of_builds(after: str | None) -> tuple[int, date | None, UUID] | None:
    if not after:
        return None
    try:
        rank, on, build_id = after.split("~")
        found = parse_id(build_id)
        if found is None or len(rank) > 9:
            raise ValueError(after)
        return int(rank), date.fromisoformat(on) if on else None, found
    except ValueError:
        raise Malformed("This address of further builds cannot be read; start again from the first page.") from None
