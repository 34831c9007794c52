"""What stands before every request (its host, where it was sent from, its size), and the headers of every answer."""

import ipaddress
import re
from collections.abc import Callable
from typing import Final
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from service.errors import CrossSite, Malformed, MediaUnknown, Refusal, TooLarge, WrongHost
from service.formats.csv_rows import LARGEST_BYTES as LARGEST_CSV
from service.formats.gpx import LARGEST_BYTES

SAFE_METHODS = frozenset({"GET", "HEAD", "OPTIONS", "TRACE"})  # RFC 9110, 9.2.1
LARGEST_BODY = 1 << 20
JSON_MEDIA = frozenset({"application/json", "application/merge-patch+json"})
GPX_MEDIA = frozenset({"application/gpx+xml", "application/xml", "text/xml", "application/octet-stream"})
GPX_PATHS = frozenset({"/api/v1/calculations/track", "/api/v1/rides/gpx"})
"""Where a recorded track is sent: read piece by piece, so it may be larger than what is read whole."""
CSV_MEDIA = frozenset({"text/csv", "text/plain", "application/octet-stream"})
CSV_PATHS = frozenset({"/api/v1/imports/rides"})
FILE_PAGES = re.compile(r"/builds/[^/]+/ride-files(/rows)?")
"""Where a page sends a file with rides: its form is read piece by piece as well."""
FORM_MEDIA = frozenset({"application/x-www-form-urlencoded", "multipart/form-data"})
_CHARSET = re.compile(r"charset\s*=\s*\"?([^\s;\"]*)", re.IGNORECASE)
HEADERS: Final = {
    "Content-Security-Policy": "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; "
    "connect-src 'self'; font-src 'self'; manifest-src 'self'; worker-src 'self'; form-action 'self'; "
    "base-uri 'none'; frame-ancestors 'none'",
    # Not no-referrer: with it, browsers send "Origin: null" with every form, which is refused below.
    "Referrer-Policy": "same-origin",
    "X-Content-Type-Options": "nosniff",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=(), payment=(), usb=()",
}


class Guard:
    """Refuses what must not reach a handler, and adds the security headers to every answer."""

    def __init__(self, app: ASGIApp, *, address: str | None, answer: Callable[[Scope, Refusal], Response]) -> None:
        self.app = app
        self.address = address
        self.answer = answer

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        scope.setdefault("state", {})
        sending = self._with_headers(scope, send)
        try:
            headers = Headers(scope=scope)
            check_host(headers.get("host"), self.address)
            check_characters(scope)
            check_origin(scope, headers, self.address)
            check_media(scope, headers)
            largest = largest_body(scope["path"], headers)
            receiving = Measured(receive, headers, largest).receive
        except Refusal as refusal:
            await self.answer(scope, refusal)(scope, receive, sending)
            return
        await self.app(_read_as_get(scope), receiving, sending)

    def _with_headers(self, scope: Scope, send: Send) -> Send:
        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    headers.setdefault(name, value)
                headers.setdefault("Cache-Control", "private, no-cache")
                if "set_cookie" in scope["state"] and "set-cookie" not in headers:
                    headers["Set-Cookie"] = scope["state"]["set_cookie"]
                if self.address and self.address.startswith("https:"):
                    headers.setdefault("Strict-Transport-Security", "max-age=31536000")
            await send(message)

        return with_headers


def _read_as_get(scope: Scope) -> Scope:
    """HEAD is answered wherever GET is (RFC 9110, 9.1); the server itself leaves the body out."""
    return {**scope, "method": "GET"} if scope["method"] == "HEAD" else scope


def check_host(host: str | None, address: str | None) -> None:
    """Raises WrongHost unless Host is `address`, or without one this machine itself.

    A name of somebody else's that was made to point here (DNS rebinding) must find nothing.
    """
    name = _name_of(host or "")
    if address is not None:
        if _authority(f"{urlsplit(address).scheme}://{host}") != _authority(address):
            raise WrongHost(f"This service answers at {address}, not at {host or 'no name at all'}.")
    elif name != "localhost" and not _is_loopback(name):
        raise WrongHost(f"This service answers at localhost and 127.0.0.1, not at {host or 'no name at all'}.")


def _name_of(host: str) -> str:
    try:
        return urlsplit(f"//{host}").hostname or ""
    except ValueError:
        return ""


def _authority(url: str) -> tuple[str, str, int] | None:
    try:
        parts = urlsplit(url)
        return parts.scheme, parts.hostname or "", parts.port or (443 if parts.scheme == "https" else 80)
    except ValueError:
        return None


def _is_loopback(name: str) -> bool:
    try:
        return ipaddress.ip_address(name).is_loopback
    except ValueError:
        return False


def check_characters(scope: Scope) -> None:
    """Raises Malformed for the character NUL in an address: no name holds it, and PostgreSQL cannot be asked for it."""
    if "\x00" in scope["path"] or b"%00" in scope.get("query_string", b""):
        raise Malformed("The address holds the character NUL; leave it out.")


def check_origin(scope: Scope, headers: Headers, address: str | None) -> None:
    """Raises CrossSite for a change that a page of another site could have sent with the cookie of this one.

    A bearer token is not sent by a browser of its own accord, so such requests pass.
    """
    if scope["method"] in SAFE_METHODS or headers.get("authorization", "").lower().startswith("bearer "):
        return
    if scope["path"].startswith("/api/") and "cookie" not in headers:
        return
    origin, site = headers.get("origin"), headers.get("sec-fetch-site")
    if site not in (None, "same-origin"):
        raise CrossSite("This was sent by a page of another site. Open Locknut itself and do it there.")
    if origin in (None, "null"):
        if site is None:
            raise CrossSite("This does not say which page sent it (Origin, Sec-Fetch-Site). Use a browser of today.")
        return
    ours = _authority(address or f"{scope['scheme']}://{headers.get('host')}")
    if ours is None or _authority(origin or "") != ours:
        raise CrossSite(f"This was sent by a page of {origin}. Open Locknut itself and do it there.")


def check_media(scope: Scope, headers: Headers) -> None:
    """Raises MediaUnknown for a body that is neither JSON (under /api/) nor a form (the pages); a track is GPX."""
    if headers.get("content-length", "0") == "0" and "transfer-encoding" not in headers:
        return
    media = headers.get("content-type", "").partition(";")[0].strip().lower()
    known = JSON_MEDIA if scope["path"].startswith("/api/") else FORM_MEDIA | JSON_MEDIA
    if scope["path"] in GPX_PATHS:
        known, media = GPX_MEDIA, media or "application/octet-stream"  # what a body without a type is (RFC 9110, 8.3)
    if scope["path"] in CSV_PATHS:
        known, media = CSV_MEDIA, media or "application/octet-stream"
    if media not in known:
        raise MediaUnknown(f"Send {' or '.join(sorted(known))} in Content-Type, not {media or 'nothing'}.")
    charset = _CHARSET.search(headers["content-type"]) if media in FORM_MEDIA else None
    if charset and charset[1].lower() != "utf-8":  # the form's reader would take any codec that Python knows
        raise MediaUnknown("Send a form in UTF-8.")


def largest_body(path: str, headers: Headers) -> int:
    """How many bytes may be sent there: a file where files are sent, else what is read whole."""
    if path in GPX_PATHS:
        return LARGEST_BYTES
    if path in CSV_PATHS:
        return LARGEST_CSV
    is_multipart = headers.get("content-type", "").startswith("multipart/form-data")
    return LARGEST_BYTES if is_multipart and FILE_PAGES.fullmatch(path) else LARGEST_BODY


class Measured:
    """A body that is counted while it is read. Raises TooLarge past the limit, at once where a length is announced."""

    def __init__(self, receive: Receive, headers: Headers, largest: int = LARGEST_BODY) -> None:
        self._receive = receive
        self._got, self._largest = 0, largest
        announced = headers.get("content-length", "")
        if announced.isdigit() and int(announced) > largest:
            raise _too_large(largest)

    async def receive(self) -> Message:
        """The next piece of the body."""
        message = await self._receive()
        self._got += len(message.get("body", b""))
        if self._got > self._largest:
            raise _too_large(self._largest)
        return message


def _too_large(largest: int) -> TooLarge:
    return TooLarge(f"At most {largest // 1024} KiB are taken at once. Send less, in several requests.")
