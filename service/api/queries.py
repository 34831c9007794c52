"""Query fields: one that an operation does not have is refused; a misspelt filter would silently find too much."""

from typing import Any

from fastapi import Request

from service.errors import Malformed

BY_FACT = {"list_parts": ("spec.",), "draw_category_checklist": ("spec.", "fact.")}
"""Operations whose query fields name facts of the library; those are checked where they are read."""


def check_queries(request: Request) -> None:
    """Raises Malformed for a query field that this operation does not have, naming those it has."""
    route: Any = request.scope.get("route")
    sent = set(request.query_params)
    if not sent or route is None:
        return
    known = _fields(route.dependant)
    prefixes = BY_FACT.get(route.name, ())
    for name in sorted(sent - known):
        if not name.startswith(prefixes or ("\0",)):
            wanted = ", ".join(sorted(known | {f"{prefix}KEY" for prefix in prefixes})) or "none"
            raise Malformed(f"There is no query field {name[:60]!r} here; there are: {wanted}.", errors=[("", wanted)])


def _fields(dependant: Any) -> set[str]:
    found = {field.alias for field in dependant.query_params}
    return found.union(*(_fields(each) for each in dependant.dependencies))
