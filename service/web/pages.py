"""How a page is made: templates, static files under names that change with their content, the page of an error."""

import hashlib
import mimetypes
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

from fastapi import APIRouter
from jinja2 import Environment, FileSystemLoader, StrictUndefined
from starlette.responses import HTMLResponse, RedirectResponse, Response

from service.errors import LinkSpent, NotFound, NotSignedIn, Refusal, every_refusal
from service.web import words

HERE = Path(__file__).parent
router = APIRouter(include_in_schema=False)


class StaticFile(NamedTuple):
    """A file as it is served."""

    content: bytes
    media: str


@cache
def _static() -> tuple[dict[str, str], dict[str, StaticFile]]:
    """The hashed name of each file, and the files by hashed name."""
    names: dict[str, str] = {}
    files: dict[str, StaticFile] = {}
    for path in sorted((HERE / "static").rglob("*")):
        if path.is_file():
            name = path.relative_to(HERE / "static").as_posix()
            content = path.read_bytes()
            stem, dot, end = name.rpartition(".")
            names[name] = f"{stem}.{hashlib.sha256(content).hexdigest()[:12]}{dot}{end}"
            files[names[name]] = StaticFile(content, mimetypes.guess_type(name)[0] or "application/octet-stream")
    return names, files


def static(name: str) -> str:
    """The address of a static file, by the name it has in the folder."""
    return f"/static/{_static()[0][name]}"


@cache
def _templates() -> Environment:
    environment = Environment(
        loader=FileSystemLoader(HERE / "templates"),
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,
        undefined=StrictUndefined,
    )
    environment.globals.update(static=static, torque=words.torque, run=words.run)
    environment.filters.update(words.FILTERS)
    return environment


def render(template: str, *, status: int = 200, **values: Any) -> HTMLResponse:
    """A page made of a template."""
    return HTMLResponse(_templates().get_template(template).render(**values), status)


def see(address: str) -> RedirectResponse:
    """What a form answers once its work is done: look there."""
    return RedirectResponse(address, 303)


def error_page(refusal: Refusal, request_id: str) -> HTMLResponse:
    """The page that says why not: the sentence of the API, and where each wrong field is; or how to get in."""
    errors = refusal.members().get("errors", [])
    outside = isinstance(refusal, NotSignedIn | LinkSpent)
    return render(
        "error.html", status=refusal.status, refusal=refusal, errors=errors, outside=outside, request_id=request_id
    )


@router.get("/static/{name:path}")
def get_static(name: str) -> Response:
    """A static file; it may be kept for ever, as another content has another name."""
    file = _static()[1].get(name)
    if file is None:
        raise NotFound("file", name)
    return Response(
        file.content, media_type=file.media, headers={"Cache-Control": "public, max-age=31536000, immutable"}
    )


@router.get("/problems/{code}")
def show_problem(code: str) -> Response:
    """What a kind of problem means: the address in `type` of a problem document."""
    for kind in every_refusal():
        if kind.code == code:
            return render("problem.html", kind=kind)
    raise NotFound("kind of problem called", code)
