"""What a handler is given: Db, Library, Now, Today, Who, IfMatch."""

from collections.abc import Callable
from contextlib import AbstractContextManager
from datetime import date, datetime
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Header, Request, Response

from service.database import Database
from service.domain import procedure
from service.errors import Malformed, NeedsIfMatch, NotSignedIn, Stale
from service.ids import new_id
from service.records import people
from service.records.touched import refresh_for_today, refresh_stale

COOKIE = "locknut"


class RequestDatabase:
    """The database as one request sees it: what is written says in the journal who asked, and in which request."""

    def __init__(self, database: Database, request: Request) -> None:
        self._database = database
        self._request = request

    def reading(self) -> AbstractContextManager[Any]:
        """A block that only reads, from one consistent moment."""
        return self._database.reading()

    def reading_lists(self, *, first_page: bool) -> AbstractContextManager[Any]:
        """A block that reads builds in the order of what is due; before a first page, that is brought up to date.

        Not before further pages: builds should not change places while somebody turns them.
        """
        who, app = self._request.state.who, self._request.app.state
        if first_page:
            refresh_stale(self._database, who, library=app.library, now=app.clock())
        return self._database.reading()

    def writing(self) -> AbstractContextManager[Any]:
        """A block that is stored whole when it ends, or not at all when it raises."""
        who: people.Who | None = getattr(self._request.state, "who", None)
        return self._database.writing({"who": who, "request_id": request_id(self._request)})


def request_id(request: Request) -> str:
    """The id under which the journal and the log keep this request."""
    if not hasattr(request.state, "request_id"):
        request.state.request_id = str(new_id())
    found: str = request.state.request_id
    return found


async def _db(request: Request) -> RequestDatabase:
    return RequestDatabase(request.app.state.database, request)


async def _library(request: Request) -> procedure.Library:
    library: procedure.Library = request.app.state.library
    return library


async def _now(request: Request) -> datetime:
    clock: Callable[[], datetime] = request.app.state.clock
    return clock()


Db = Annotated[RequestDatabase, Depends(_db)]
Library = Annotated[procedure.Library, Depends(_library)]
Now = Annotated[datetime, Depends(_now)]


def signed_in(request: Request, now: Now) -> people.Who:
    """Who asks, by bearer token or else by the browser's cookie. Raises NotSignedIn where neither opens anything."""
    secret, kind = request.cookies.get(cookie_name(request.app.state.address)), "browser"
    scheme, _, token = request.headers.get("authorization", "").partition(" ")
    if scheme.lower() == "bearer":
        secret, kind = token.strip(), "token"
    if not secret:
        raise NotSignedIn
    database: Database = request.app.state.database
    with database.reading() as session:
        found = people.who_asks(session, secret, "token" if kind == "token" else "browser", now)
    if found is None:
        raise NotSignedIn
    who, first_today = found
    if first_today and who.device_id is not None:
        with database.writing() as session:
            people.see_device(session, who.device_id, now)
            refresh_for_today(session, who, now=now)
        if kind == "browser":  # its 90 days begin anew, in the browser too; the guard adds this to whatever is answered
            set_cookie(renewed := Response(), request.app.state.address, secret)
            request.state.set_cookie = renewed.headers["set-cookie"]
    request.state.who = who
    return who


def cookie_name(address: str | None) -> str:
    """With TLS the name itself keeps the cookie to this host and to secure requests."""
    return f"__Host-{COOKIE}" if address and address.startswith("https:") else COOKIE


def set_cookie(response: Response, address: str | None, secret: str | None) -> None:
    """Keeps a browser signed in for the life of its device, or, without a secret, signs it out."""
    response.set_cookie(
        cookie_name(address),
        secret or "",
        max_age=int(people.BROWSER_LIFE.total_seconds()) if secret else 0,
        path="/",
        secure=cookie_name(address) != COOKIE,
        httponly=True,
        samesite="lax",
    )


Who = Annotated[people.Who, Depends(signed_in)]


def signed_in_router(*also: Callable[[Request], None], **given: Any) -> APIRouter:
    """A router whose operations need somebody signed in, and what else stands before each; its name is the function's.

    The application takes its routes as they stand: including the router there with these would make each of them twice.
    """
    before = [Depends(signed_in), *(Depends(each) for each in also)]
    return APIRouter(dependencies=before, generate_unique_id_function=lambda route: route.name, **given)


async def _today(who: Who, now: Now) -> date:
    return who.today(now)


Today = Annotated[date, Depends(_today)]


async def _if_match(
    if_match: Annotated[
        str | None, Header(description='The ETag of what the change was made from, such as "57".')
    ] = None,
) -> int | None:
    """The version that If-Match names, None for `*`. Raises NeedsIfMatch where there is none, Stale for a weak tag."""
    if if_match is None or not if_match.strip():
        raise NeedsIfMatch
    tag = if_match.strip()
    if tag == "*":
        return None
    if tag.startswith("W/"):
        raise Stale(f"If-Match compares strongly, and {tag} is a weak tag: it matches nothing.")
    if len(tag) < 2 or tag[0] != '"' or tag[-1] != '"' or '"' in tag[1:-1]:
        raise Malformed(f'If-Match should be one ETag in double quotes, such as "57", not {tag}.')
    version = tag[1:-1].partition(".")[0]
    if not (version.isascii() and version.isdigit() and len(version) < 10):
        raise Stale(f"No version of this is called {tag}. Read it again, then decide.")
    return int(version)


IfMatch = Annotated[int | None, Depends(_if_match)]


def tag_row(response: Response, version: int) -> None:
    """Gives an answer the ETag of the row it shows."""
    response.headers["ETag"] = f'"{version}"'


def is_unchanged(request: Request, tag: str) -> bool:
    """Whether If-None-Match names this tag: then 304 is the answer (weak comparison, RFC 9110, 13.1.2)."""
    sent = request.headers.get("if-none-match", "")
    return sent.strip() == "*" or tag in (each.strip().removeprefix("W/") for each in sent.split(","))


def not_modified(tag: str) -> Response:
    """304: what the client has is what there is."""
    return Response(status_code=304, headers={"ETag": tag, "Cache-Control": "private, no-cache"})
