"""The page that a sign-in link opens, and signing out."""

from typing import Annotated

from fastapi import APIRouter, Form, Request
from starlette.responses import RedirectResponse, Response

from service.context import Db, Now, Who, set_cookie, signed_in_router
from service.records import people
from service.web.pages import render

router = signed_in_router(include_in_schema=False)
open_router = APIRouter(include_in_schema=False)
"""What answers without anybody signed in."""


@open_router.get("/sign-in")
def explain_sign_in() -> Response:
    """How to get in."""
    return render("sign_in.html", secret="")


@open_router.get("/sign-in/{secret}")
def show_sign_in(secret: str, db: Db, now: Now) -> Response:
    """A button. Nothing is spent here: mail programs and chats fetch links to preview them."""
    with db.reading() as session:
        people.check_link(session, secret, now)
    return _kept_nowhere(render("sign_in.html", secret=secret))


@open_router.post("/sign-in/{secret}")
def sign_in(
    secret: str, request: Request, db: Db, now: Now, title: Annotated[str, Form(max_length=120)] = ""
) -> Response:
    """Spends the link and signs this browser in."""
    with db.writing() as session:
        device = people.spend_link(session, secret, title.replace("\x00", "").strip() or "Browser", now)
    response = RedirectResponse("/", 303)
    set_cookie(response, request.app.state.address, device)
    return _kept_nowhere(response)


@router.post("/sign-out")
def sign_out(request: Request, db: Db, who: Who, now: Now) -> Response:
    """Ends this device."""
    if who.device_id is not None:
        with db.writing() as session:
            people.revoke_device(session, who, who.device_id, now)
    response = RedirectResponse("/sign-in", 303)
    set_cookie(response, request.app.state.address, None)
    return response


def _kept_nowhere(response: Response) -> Response:
    response.headers["Cache-Control"] = "no-store"
    return response
