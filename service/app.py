"""The application: routers, error answers, what stands before them, and what is done once at the start."""

import gc
import json
import logging
import os
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from datetime import UTC, datetime
from typing import Any

from anyio.to_thread import current_default_thread_limiter
from fastapi import APIRouter, FastAPI, Request
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.middleware.gzip import GZipMiddleware
from starlette.responses import Response
from starlette.routing import Match, Route
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from service import __version__, problems
from service.api import (
    bench,
    builds,
    calculations,
    calendars,
    care,
    channels,
    checklists,
    computed,
    document,
    importing,
    journal,
    library,
    parts,
    planning,
    riding,
    touring,
    trouble,
)
from service.api import people as api_people
from service.context import request_id
from service.database import Database
from service.domain.procedure import Library
from service.errors import OurMistake, Refusal
from service.guard import Guard
from service.library.read import load, procedures_folder
from service.settings import Settings, read_settings
from service.web import calendar, pages, screens, sign_in

THREADS = 2  # more of them queue for the interpreter's lock and make every answer slower, up to three times
API_ROUTERS: tuple[APIRouter, ...] = (
    library.router,
    parts.router,
    builds.router,
    planning.router,
    computed.router,
    checklists.router,
    importing.router,  # before riding: /rides/gpx is no id
    riding.router,
    care.router,
    touring.router,
    trouble.router,
    bench.router,
    calculations.router,
    journal.router,
    api_people.router,
    channels.router,
    calendars.router,
    document.router,
)
ROUTERS: tuple[APIRouter, ...] = (*API_ROUTERS, sign_in.router, *screens.ROUTERS)
OPEN_ROUTERS: tuple[APIRouter, ...] = (sign_in.open_router, calendar.open_router, pages.router)
"""What answers although nobody is signed in."""

log = logging.getLogger("locknut")


def create_app(settings: Settings) -> FastAPI:
    """The application over the database and the library of these settings. Raises Refusal, LibraryMistakes."""
    database = Database(settings.database_url)
    database.check_current()
    app = make_app(database, load(procedures_folder(), settings.procedures), address=settings.address)
    app.state.reminding = lambda: _remind(app, settings)
    return app


def _remind(app: FastAPI, settings: Settings) -> None:
    """Plans and sends what is due, as `locknut remind` does; a mistake is logged, and the next turn tries again."""
    from service import sending

    try:
        sending.remind(app.state.database, app.state.library, sending.post_of(settings), app.state.clock)
    except Exception:
        log.exception("reminders could not be sent")


def serving() -> FastAPI:
    """The application as the environment sets it; what the web server calls in each of its processes."""
    return create_app(read_settings(os.environ))


def utc_now() -> datetime:
    """The clock of a running service."""
    return datetime.now(UTC)


def make_app(
    database: Database, known: Library, *, address: str | None = None, clock: Callable[[], datetime] = utc_now
) -> FastAPI:
    """The application over a database that is up to date and a library."""
    app = FastAPI(
        title="Locknut",
        version=__version__,
        summary="Assemble a bicycle from a bare frame, and keep it running for years.",
        lifespan=_lifespan,
        openapi_url=None,  # the document, its page and all else are ours: the framework's pages ask other hosts
        redirect_slashes=False,
    )
    app.state.database, app.state.library, app.state.address, app.state.clock = database, known, address, clock
    app.router.routes.extend(every_route())
    for kind in (Refusal, HTTPException, RequestValidationError):
        app.add_exception_handler(kind, _answer_refusal)
    app.add_middleware(GZipMiddleware, minimum_size=1000, compresslevel=4)
    app.add_middleware(Mistakes)
    app.add_middleware(Guard, address=address, answer=lambda scope, refusal: answer(Request(scope), refusal))
    _describe(app)
    return app


def description() -> str:
    """The OpenAPI document of this program as text; no database is opened for it."""
    app = make_app(Database("sqlite:///nowhere.db"), load(procedures_folder()))
    return json.dumps(app.openapi(), indent=1, ensure_ascii=False, sort_keys=True) + "\n"


def _describe(app: FastAPI) -> None:
    plain = app.openapi

    def complete() -> dict[str, Any]:
        if not app.openapi_schema:
            document.complete(plain())  # in place: FastAPI keeps what it made in app.openapi_schema
        return plain()

    app.openapi = complete  # type: ignore[method-assign]


@asynccontextmanager
async def _lifespan(app: FastAPI) -> AsyncIterator[None]:
    current_default_thread_limiter().total_tokens = THREADS
    gc.freeze()  # a full collection of the loaded program would stop every answer for 50 ms, and this start for 100
    gc.enable()
    reminding = _reminding(app)
    yield
    if reminding is not None:
        reminding.end()
    app.state.database.dispose()


def _reminding(app: FastAPI) -> Any:
    """The thread that sends reminders, begun; none in an application that only a test serves."""
    run = getattr(app.state, "reminding", None)
    if run is None:
        return None
    from service.sending import Reminding  # httpx is loaded by who serves, not by who prints the document

    reminding = Reminding(run)
    reminding.start()
    return reminding


def answer(request: Request, refusal: Refusal) -> Response:
    """A refusal as a problem document, or for a page as a page with the same sentence."""
    name = request_id(request)
    if request.url.path.startswith("/api/"):
        return problems.problem(refusal, name)
    page = pages.error_page(refusal, name)
    page.headers.update(problems.headers_of(refusal))
    return page


async def _answer_refusal(request: Request, wrong: Exception) -> Response:
    if isinstance(wrong, Refusal):
        return answer(request, wrong)
    if isinstance(wrong, RequestValidationError):
        return answer(request, problems.of_validation(wrong))
    if isinstance(wrong, HTTPException):
        return answer(request, problems.of_http(wrong, request.url.path, allowed_methods(request.scope)))
    raise wrong


def every_route() -> list[Route]:
    """All routes, those of the API and of the pages."""
    return [route for router in ROUTERS + OPEN_ROUTERS for route in router.routes if isinstance(route, Route)]


def allowed_methods(scope: Scope) -> set[str]:
    """The methods of all routes at this path; the framework's own answer names those of the first route alone."""
    found: set[str] = set()
    for route in every_route():
        if route.matches(scope)[0] is not Match.NONE:
            found |= route.methods or set()
    return found | ({"HEAD"} if "GET" in found else set())


class Mistakes:
    """Turns what nobody foresaw into an answer, and writes it to the log with its traceback."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        started = False

        async def watched(message: Message) -> None:
            nonlocal started
            started = started or message["type"] == "http.response.start"
            await send(message)

        try:
            await self.app(scope, receive, watched)
        except Exception:
            if scope["type"] != "http":
                raise
            request = Request(scope)
            # The route, not the path: a path may hold the secret of a sign-in link, or a line feed.
            route = getattr(scope.get("route"), "path", "an unknown address")
            log.exception("request %s: %s %s failed", request_id(request), request.method, route)
            if started:
                raise
            await answer(request, OurMistake())(scope, receive, send)
