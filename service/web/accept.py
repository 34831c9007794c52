"""Accepting a conflict with a reason, from the build's page, and taking it back; refused, it asks again on a page."""

from urllib.parse import urlencode
from uuid import UUID

from starlette.responses import Response

from service.context import Db, Library, Now, Who, signed_in_router
from service.domain import procedure
from service.domain.accepting import finding_named
from service.domain.joins import findings
from service.errors import Refusal
from service.records import accepting, people
from service.records.bicycle import load
from service.schemas.builds import AcceptanceSent
from service.web.forms import NOTHING_WRONG, Form, Typed, Wrong, read
from service.web.pages import render, see

router = signed_in_router(include_in_schema=False)


@router.get("/builds/{build_id}/accept")
def show_accept(build_id: UUID, db: Db, who: Who, library: Library, join: str = "") -> Response:
    """One finding, and why it would do all the same."""
    return _page(build_id, db, who, library, typed=Typed.of({"join": join}))


@router.post("/builds/{build_id}/accept")
def accept_finding(build_id: UUID, form: Form, db: Db, who: Who, library: Library, now: Now) -> Response:
    """Accepts a conflict, or takes an acceptance back."""
    try:
        with db.writing() as session:
            if form("do") == "remove":
                accepting.take_back(session, who, build_id, form("join"))
            else:
                sent = read(AcceptanceSent, form.filled("reason", "fingerprint"))
                accepting.accept(session, who, build_id, form("join"), sent, library=library, now=now)
    except Refusal as refusal:
        return _page(build_id, db, who, library, typed=form, wrong=Wrong(refusal))
    said = "taken-back" if form("do") == "remove" else "accepted"
    return see(f"/builds/{build_id}?{urlencode({'said': said})}")


def _page(
    build_id: UUID, db: Db, who: people.Who, library: procedure.Library, *, typed: Typed, wrong: Wrong = NOTHING_WRONG
) -> Response:
    with db.reading() as session:
        bicycle = load(session, who, build_id, library, with_log=False)
    finding = finding_named(findings(bicycle, library), typed("join"))
    return render(
        "accept.html",
        status=wrong.status,
        build={"id": build_id, "name": bicycle.build.name},
        finding=finding,
        typed=typed,
        wrong=wrong,
    )
