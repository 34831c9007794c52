"""The pages of what is due: over all builds and on one, by state in words, each with why; and putting off."""

from collections.abc import Iterable, Sequence
from datetime import date, datetime
from itertools import groupby
from typing import NamedTuple
from urllib.parse import urlencode
from uuid import UUID

from starlette.responses import Response

from service.context import Db, Library, Now, Who, signed_in_router
from service.domain import procedure
from service.domain.due import STATES, Due
from service.domain.loosened import of_task
from service.domain.standing import QUIET
from service.errors import NotFound, Refusal
from service.ids import new_id, parse_id
from service.records import coming, people, rules
from service.records.names import build_names
from service.records.rules import Subject
from service.schemas.care import PutOffSent
from service.web.builds import key_of_builds
from service.web.forms import NOTHING_WRONG, Form, Typed, Wrong, read
from service.web.jobs import WHOLE, task_title
from service.web.pages import render, see

router = signed_in_router(include_in_schema=False)
BUILDS_AT_ONCE = 5
"""Each build that is shown costs its own statements: so few at once."""
MEANING = {
    "do not ride": "Do not ride until this is put right.",
    "overdue": "The limit is well behind.",
    "due": "The limit is reached.",
    "look once": "Nothing is known about it: look once, write it down, then it counts.",
    "plan it": "Coming near: have the part or the time ready.",
}


class DueLine(NamedTuple):
    """An item with the build it is on and where its buttons lead."""

    due: Due
    build: str
    log: str
    put_off: str
    rule: str
    does_too: tuple["DueLine", ...] = ()


@router.get("/due")
def show_due(db: Db, who: Who, library: Library, now: Now, after: str | None = None) -> Response:
    """What is due on the most pressing builds."""
    with db.reading_lists(first_page=not after) as session:
        lines, found = coming.due_of_builds(
            session, who, build=None, after=key_of_builds(after), limit=BUILDS_AT_ONCE, library=library, now=now
        )
    last = lines[BUILDS_AT_ONCE - 1] if len(lines) > BUILDS_AT_ONCE else None
    further = f"{last['due_rank']}~{last['due_on'] or ''}~{last['id']}" if last else None
    named = [(due, bicycle.build.name) for bicycle, dues in found for due in dues]
    return _page(named, who.today(now), library, build=None, further=further)


@router.get("/builds/{build_id}/due")
def show_due_of_build(build_id: UUID, db: Db, who: Who, library: Library, now: Now) -> Response:
    """What is due on one build."""
    with db.reading() as session:
        _, found = coming.due_of_builds(session, who, build=build_id, after=None, limit=1, library=library, now=now)
    bicycle, dues = found[0]
    return _page([(due, "") for due in dues], who.today(now), library, build=bicycle.build, further=None)


def _page(
    named: Iterable[tuple[Due, str]], today: date, library: procedure.Library, *, build: object, further: str | None
) -> Response:
    lines = _folded(sorted((_line(due, name) for due, name in named), key=lambda line: line.due.rank))
    pressing = [line for line in lines if line.due.state not in QUIET]
    return render(
        "due.html",
        build=build,
        groups=_grouped(pressing),
        quiet=_grouped([line for line in lines if line.due.state in QUIET]),
        further=further,
        meaning=MEANING,
        new_id=new_id,
        today=today,
        library=library,
    )


def _folded(lines: Sequence[DueLine]) -> list[DueLine]:
    """The lines with what a bundle does as well folded into the bundle's own."""
    within: dict[tuple[UUID, str], list[DueLine]] = {}
    for line in lines:
        if line.due.within is not None:
            within.setdefault((line.due.build_id, line.due.within), []).append(line)
    return [
        line._replace(does_too=tuple(within.get((line.due.build_id, line.due.task), ())))
        for line in lines
        if line.due.within is None
    ]


def _grouped(lines: Sequence[DueLine]) -> list[tuple[str, list[DueLine]]]:
    in_order = sorted(lines, key=lambda line: STATES.index(line.due.state))
    return [(state, list(each)) for state, each in groupby(in_order, key=lambda line: line.due.state)]


def _line(due: Due, build: str) -> DueLine:
    part = str(due.part_id) if due.part_id is not None else "whole"
    kind = {"kind": due.done_by[0], "task": due.task} if due.done_by and not due.by_wear else {}
    log = urlencode({"part": part, **kind})
    of, about = f"/builds/{due.build_id}", urlencode({"part": part, "task": due.task})
    return DueLine(due, build, f"{of}/log?{log}", f"{of}/put-off?{about}", f"{of}/rule?{about}")


@router.get("/builds/{build_id}/put-off")
def show_put_off(
    build_id: UUID, db: Db, who: Who, library: Library, now: Now, part: str = "", task: str = ""
) -> Response:
    """Asks until when, and why."""
    return _put_off_page(build_id, db, who, library, now, typed=Typed.of({"part": part, "task": task}))


@router.post("/builds/{build_id}/put-off")
def put_off(build_id: UUID, form: Form, db: Db, who: Who, library: Library, now: Now) -> Response:
    """Puts a task off, or takes a put-off back."""
    part_id = parse_id(form("part"))
    subject = Subject(part_id=part_id) if part_id is not None else Subject(build_id=build_id)
    try:
        with db.writing() as session:
            if form("do") == "remove":
                rules.no_put_off(session, who, subject, form("task"), library=library)
            else:
                values = form.filled("until_on", "reason") | form.numbers("until_km")
                sent = read(PutOffSent, values)
                rules.put_off(session, who, subject, form("task"), sent, library=library, today=who.today(now))
    except Refusal as refusal:
        return _put_off_page(build_id, db, who, library, now, typed=form, wrong=Wrong(refusal))
    return see(f"/builds/{build_id}/due")


def _put_off_page(
    build_id: UUID, db: Db, who: people.Who, library: procedure.Library, now: datetime,
    *, typed: Typed, wrong: Wrong = NOTHING_WRONG,
) -> Response:  # fmt: skip
    with db.reading() as session:
        names = build_names(session, who, [build_id])
    if build_id not in names:
        raise NotFound("build", build_id)
    return render(
        "put_off.html",
        status=wrong.status,
        build={"id": build_id, "name": names[build_id]},
        title=_title(typed("task"), library),
        last_day=who.today(now) + rules.LONGEST_PUT_OFF if _is_safety(typed("task"), library) else None,
        today=who.today(now),
        typed=typed,
        wrong=wrong,
        whole=WHOLE,
    )


def _is_safety(task: str, library: procedure.Library) -> bool:
    known = of_task(library, task)
    return known is not None and known.weight == "safety"


def _title(task: str, library: procedure.Library) -> str:
    owner, _, key = task.partition(".")
    category = library.categories.get(owner)
    wear = [each.title for each in category.wear if each.key == key] if category is not None else []
    return wear[0] if wear else task_title(task, library)
