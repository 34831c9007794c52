"""Pages by cursor: an opaque word for where the next page starts, and the same in a Link header (RFC 8288)."""

import base64
import binascii
import json
from collections.abc import Callable, Sequence
from typing import Annotated, Any
from uuid import UUID

from fastapi import Query, Request, Response

from service.errors import Malformed
from service.schemas.fields import LARGEST_ROW_NUMBER, Day

Limit = Annotated[int, Query(ge=1, le=200, description="How many at most.")]
Cursor = Annotated[str | None, Query(max_length=400, description="Where the page starts: `next` of the page before.")]


def key_of(cursor: str | None, *readers: Callable[[Any], Any]) -> tuple[Any, ...] | None:
    """The sort key behind a cursor, each member read by its reader. Raises Malformed for one not made here."""
    if cursor is None:
        return None
    try:
        members = json.loads(base64.urlsafe_b64decode(cursor.encode()))
        if not isinstance(members, list) or len(members) != len(readers):
            raise ValueError
        if any(each is None for each in (members[0], members[-1])):
            raise ValueError  # only a day in the middle may be unknown
        return tuple(None if each is None else read(_text(each)) for each, read in zip(members, readers, strict=True))
    except (ValueError, TypeError, AttributeError, OverflowError, binascii.Error, RecursionError):
        raise Malformed(
            "This cursor was not made here; take `next` of the page before, or leave it out.",
            errors=[("/cursor", "should be `next` of the page before")],
        ) from None


def _text(member: Any) -> str:
    """A member as `next_page` wrote it. Raises ValueError for anything that no column holds."""
    if not isinstance(member, str) or not member.isprintable() or len(member) > 64:
        raise ValueError
    return member


def row_number(text: str) -> int:
    """A whole number that fits in a column. Raises ValueError for anything else."""
    number = int(text)
    if abs(number) > LARGEST_ROW_NUMBER:
        raise ValueError
    return number


def next_page(
    request: Request, response: Response, rows: Sequence[Any], limit: int, key: Callable[[Any], Sequence[Any]]
) -> str | None:
    """The cursor of the next page, None on the last; also told in the Link header. Ask for one row more than shown."""
    if len(rows) <= limit:
        return None
    members = [None if each is None else str(each) for each in key(rows[limit - 1])]
    cursor = base64.urlsafe_b64encode(json.dumps(members).encode()).decode()
    address = request.url.include_query_params(cursor=cursor)
    response.headers["Link"] = f'<{address.path}?{address.query}>; rel="next"'
    return cursor


class Window:
    """Which part of the log is asked for: of a build or a part, between two days, both included."""

    def __init__(
        self,
        build: Annotated[UUID | None, Query(description="Of this build.")] = None,
        part: Annotated[UUID | None, Query(description="Of this part.")] = None,
        since: Annotated[Day | None, Query(alias="from", description="From this day.")] = None,
        until: Annotated[Day | None, Query(alias="to", description="Until this day.")] = None,
    ) -> None:
        self.build, self.part, self.since, self.until = build, part, since, until

    def of_build(self) -> dict[str, Any]:
        """The window for a log that hangs on builds alone."""
        if self.part is not None:
            raise Malformed("This log hangs on builds; leave part out.", errors=[("/part", "should be left out")])
        return {"build": self.build, "since": self.since, "until": self.until}

    def of_either(self) -> dict[str, Any]:
        """The window for a log that hangs on builds and on parts."""
        return {"build": self.build, "part": self.part, "since": self.since, "until": self.until}
