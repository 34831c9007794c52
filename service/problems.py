"""Whatever goes wrong, as a refusal; and a refusal as a problem document (RFC 9457)."""

from collections.abc import Iterable, Sequence
from typing import Any

from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.responses import JSONResponse

from service.errors import Busy, Malformed, MethodUnknown, NotFound, NotSignedIn, Refusal
from service.schemas.fields import NO_NUL, field_meant
from service.schemas.problems import PROBLEM_MEDIA

_ELSEWHERE = ("query", "path", "header", "cookie")
MOST_FAULTS = 100
"""Told one by one; a body of 1 MiB can hold 80,000 mistakes, and would be answered with seven times as much."""


def problem(refusal: Refusal, request_id: str) -> JSONResponse:
    """The answer of the API: the members of RFC 9457 first, then those of this kind of refusal."""
    document = {
        "type": f"/problems/{refusal.code}",
        "title": refusal.title,
        "status": refusal.status,
        "detail": str(refusal),
        "instance": f"urn:uuid:{request_id}",
        **refusal.members(),
    }
    return JSONResponse(document, refusal.status, headers_of(refusal), media_type=PROBLEM_MEDIA)


def headers_of(refusal: Refusal) -> dict[str, str]:
    """The headers that a status calls for (RFC 9110: 401 names a scheme, 405 the methods there are)."""
    if isinstance(refusal, NotSignedIn):
        return {"WWW-Authenticate": 'Bearer realm="Locknut"'}
    if isinstance(refusal, Busy):
        return {"Retry-After": "5"}
    if isinstance(refusal, MethodUnknown):
        return {"Allow": ", ".join(refusal.allow)}
    return {}


def of_http(wrong: HTTPException, path: str, allow: Iterable[str]) -> Refusal:
    """The refusal behind an error of the framework."""
    if isinstance(wrong.__cause__, Refusal):
        return wrong.__cause__
    if wrong.status_code == 404:
        return NotFound("page", path)
    if wrong.status_code == 405:
        return MethodUnknown(path, allow)
    return Malformed("The body cannot be read; it should be JSON in UTF-8, or the fields of a form.")


def of_validation(wrong: RequestValidationError) -> Malformed:
    """The refusal for a request whose fields are not as described, with a pointer to each of them."""
    errors = [_fault(error) for error in wrong.errors()]
    place = errors[0]["pointer"].lstrip("/") or "the body"
    more = f" (and {len(errors) - 1} more)" if len(errors) > 1 else ""
    return _WithPlaces(f"{place}: {errors[0]['detail']}{more}.", errors[:MOST_FAULTS])


class _WithPlaces(Malformed):
    """Malformed, with faults that may lie outside the body."""

    def __init__(self, say: str, faults: Sequence[dict[str, str]]) -> None:
        super().__init__(say)
        self._faults = faults

    def members(self) -> dict[str, Any]:
        return {"errors": list(self._faults)}


def _fault(error: dict[str, Any]) -> dict[str, str]:
    where, *rest = error["loc"]
    if error["type"] == "json_invalid":
        return {"pointer": "", "detail": f"is not JSON: {error['ctx']['error']} at character {rest[0]}"}
    pointer = "".join(f"/{str(step).replace('~', '~0').replace('/', '~1')}" for step in (*rest, *field_meant(error)))
    detail = _in_words(error)
    return {"pointer": pointer, "detail": detail} | ({"in": where} if where in _ELSEWHERE else {})


_SAY = {
    "missing": "is missing; it has to be given",
    "extra_forbidden": "is not a field here; leave it out, or look at its spelling",
    "model_attributes_type": "should be an object in braces",
    "dict_type": "should be an object in braces",
    "list_type": "should be a list in brackets",
    "greater_than": "should be more than {gt:g}",
    "greater_than_equal": "should be at least {ge:g}",
    "less_than": "should be less than {lt:g}",
    "less_than_equal": "should be at most {le:g}",
    "float_type": "should be a number",
    "int_type": "should be a whole number",
    "int_from_float": "should be a whole number",
    "finite_number": "should be a number that is not infinite and not NaN",
    "bool_type": "should be true or false",
    "string_type": "should be text",
    "string_too_short": "should have {min_length} characters at least",
    "string_too_long": "should have {max_length} characters at most",
    "string_pattern_mismatch": "should match {pattern}",
    "literal_error": "should be {expected}",
    "uuid_parsing": "should be a UUID such as 0199f2a1-7c00-7000-8000-000000000001",
    "uuid_type": "should be a UUID such as 0199f2a1-7c00-7000-8000-000000000001",
    "timezone_aware": "should carry an offset, such as 2026-03-14T17:10:00+01:00",
}


_DAY = "should be a day such as 2026-05-02, one that the calendar has"


def _in_words(error: dict[str, Any]) -> str:
    kind = error["type"]
    if kind == "string_pattern_mismatch" and error["ctx"]["pattern"] == NO_NUL:
        return "a text may not hold the character NUL"
    say = _DAY if kind.startswith("date_from_") or kind in ("date_type", "date_parsing") else _SAY.get(kind)
    if say is None:
        return str(error["msg"]).removeprefix("Value error, ")
    return say.format(**error.get("ctx", {}))
