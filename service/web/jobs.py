"""The page that starts a job: assemble, replace a part, do a task, check."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any, NamedTuple
from uuid import UUID

from starlette.responses import Response

from service.context import Db, Library, Now, Who, signed_in_router
from service.domain import bicycle as seen
from service.domain import procedure
from service.errors import Refusal
from service.ids import parse_id
from service.records import checklists, people
from service.records.bicycle import load
from service.schemas.checklists import ChecklistStarted
from service.web.forms import NOTHING_WRONG, Form, Typed, Wrong, id_for, read
from service.web.pages import render, see
from service.web.words import at_place, spoken, without_place

router = signed_in_router(include_in_schema=False)
TITLES = {"assemble": "Assemble", "replace": "Replace", "service": "Service", "strip": "Strip", "check": "Check"}
WHOLE = "whole-bicycle"


class JobLine(NamedTuple):
    """A started job in a line."""

    id: UUID
    title: str
    started_at: datetime
    finished_at: datetime | None


class TaskOffered(NamedTuple):
    """A task that has steps of its own: what it is about and its name."""

    task: str
    about: UUID | None
    title: str
    where: str


def title_of_job(job: Any, bicycle: seen.Bicycle, library: procedure.Library) -> str:
    """What a started job is called: "Replace: Chain", "Check: before a ride"."""
    words = TITLES.get(job.job, job.job)
    about = bicycle.parts.get(job.about_part_id) if job.about_part_id is not None else None
    task = task_title(job.task, library) if job.task else ""
    part = about.name if about is not None else ""
    return ": ".join(word for word in (words, task or part) if word)


def task_title(task: str, library: procedure.Library) -> str:
    """What a task is called, from "category.key"."""
    owner, _, key = task.partition(".")
    category = library.categories.get(owner)
    found = [each.title for each in category.tasks if each.key == key] if category is not None else []
    return without_place(found[0]) if found else spoken(key)


@router.get("/builds/{build_id}/jobs")
def show_jobs(build_id: UUID, db: Db, who: Who, library: Library, about: str = "", swapped: str = "") -> Response:
    """The jobs there were, and those that can be started."""
    return _page(build_id, db, who, library, typed=Typed.of({"about": about, "swapped": swapped}))


@router.post("/builds/{build_id}/jobs")
def start_job(build_id: UUID, form: Form, db: Db, who: Who, library: Library, now: Now) -> Response:
    """Starts a job and goes to its first step."""
    try:
        values: dict[str, Any] = form.filled("id", "job", "task")
        values |= {"about_part": form("about")} if form.has("about") else {}
        with db.writing() as session:
            sent = read(ChecklistStarted, values)
            job, _ = checklists.start_job(session, who, build_id, sent, library=library, now=now)
            job_id = job.id
    except Refusal as refusal:
        return _page(build_id, db, who, library, typed=form, wrong=Wrong(refusal))
    return see(f"/checklists/{job_id}/list")


def _page(
    build_id: UUID, db: Db, who: people.Who, library: procedure.Library, *, typed: Typed, wrong: Wrong = NOTHING_WRONG
) -> Response:
    with db.reading() as session:
        bicycle = load(session, who, build_id, library)
        rows = checklists.list_jobs(session, who, build_id)
    about_id = parse_id(typed("about"))
    about = [placed for placed in bicycle.placed if placed.part.id == about_id]
    lines = [JobLine(row.id, title_of_job(row, bicycle, library), row.started_at, row.finished_at) for row in rows]
    return render(
        "jobs.html",
        status=wrong.status,
        build=bicycle.build,
        jobs=lines,
        about=about[0] if about else None,
        assembling=any(row.job == "assemble" and row.finished_at is None for row in rows),
        tasks=_tasks(about or bicycle.placed, library, whole=not about),
        parts=[(placed.part.id, f"{at_place(placed.slot, placed.place, library)}: {placed.part.name}")
               for placed in bicycle.placed],
        typed=typed,
        wrong=wrong,
        new_id=id_for(typed, wrong),
        library=library,
        who=who,
    )  # fmt: skip


def _tasks(placed: Sequence[seen.Placed], library: procedure.Library, *, whole: bool) -> list[TaskOffered]:
    """The tasks that can be done step by step: of the whole bicycle first, then of each part."""
    bicycle = library.categories.get(WHOLE)
    found = [
        TaskOffered(f"{WHOLE}.{task.key}", None, without_place(task.title), "")
        for task in (bicycle.tasks if bicycle is not None and whole else ())
        if task.steps
    ]
    for each in placed:
        category = library.categories.get(each.slot)
        found += [
            TaskOffered(
                f"{each.slot}.{task.key}",
                each.part.id,
                without_place(task.title),
                at_place(each.slot, each.place, library),
            )
            for task in (category.tasks if category is not None and not each.planned else ())
            if task.steps
        ]
    return found
