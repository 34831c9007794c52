"""What `locknut due` prints: for people in lines, for scripts as JSON."""

from collections.abc import Iterator, Sequence
from datetime import date, datetime

from sqlmodel import Session

from service.domain.bicycle import Bicycle
from service.domain.due import Due
from service.domain.due_words import until_words
from service.domain.procedure import Library
from service.domain.standing import QUIET
from service.errors import NotFound
from service.records import coming
from service.records.people import Who
from service.schemas.showing import show_due_page

PAGE = 200
Found = tuple[Bicycle, Sequence[Due]]


def find_due(session: Session, who: Who, library: Library, *, now: datetime, name: str | None = None) -> list[Found]:
    """What is pressing on each build that is not retired, or on those of one name, soonest first.

    Raises NotFound where no build has the name.
    """
    found: list[Found] = []
    after = None
    while True:
        lines, page = coming.due_of_builds(session, who, build=None, after=after, limit=PAGE, library=library, now=now)
        found += [(bicycle, [each for each in dues if each.state not in QUIET]) for bicycle, dues in page]
        if len(lines) <= PAGE:
            break
        last = lines[PAGE - 1]
        after = (last["due_rank"], last["due_on"], last["id"])
    if name is not None:
        found = [each for each in found if each[0].build.name == name]
        if not found:
            raise NotFound("build called", name)
    return sorted(found, key=lambda each: (not each[1], each[1][0].rank if each[1] else (), each[0].build.name))


def lines_of(found: Sequence[Found], today: date) -> Iterator[str]:
    """One heading a build, two lines an item: what and where, then why."""
    for bicycle, dues in found:
        yield f"{bicycle.build.name} ({bicycle.build.state})"
        if not dues:
            yield "  nothing is due"
        for each in dues:
            place = f", {each.where}" if each.where else ""
            part = f" ({each.part_name})" if each.part_name else ""
            yield f"  {each.state}: {each.title}{place}{part}"
            off = f" Put off {each.put_off.rstrip('.')}." if each.put_off else ""
            yield f"      {each.why}{until_words(each, today)}{off}"


def json_of(found: Sequence[Found]) -> str:
    """The same as the API's `GET /due` gives it."""
    return show_due_page(found).model_dump_json(indent=2, by_alias=True)
