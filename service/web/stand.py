"""The stand: one step of a checklist, large, with its tick; the list of all of them, and finishing."""

from collections.abc import Sequence
from datetime import datetime
from itertools import groupby
from typing import Any, NamedTuple
from uuid import UUID

from starlette.responses import Response

from service.context import Db, Library, Now, Who, signed_in_router
from service.domain import bicycle as seen
from service.domain import procedure
from service.domain.loosened import Loosened, loosened
from service.domain.steps import Checklist, ChecklistStep
from service.errors import Refusal
from service.records import checklists, people
from service.schemas.checklists import MarkSent
from service.web.forms import NOTHING_WRONG, Form, Typed, Wrong, as_number, read
from service.web.jobs import title_of_job
from service.web.pages import render, see

router = signed_in_router(include_in_schema=False)


class Drawn(NamedTuple):
    """A checklist drawn up, with what is around it."""

    row: Any
    bicycle: seen.Bicycle
    checklist: Checklist
    title: str
    wrenches: list[tuple[UUID, str]]
    loosened: Sequence[Loosened]


def _draw(checklist_id: UUID, db: Db, who: people.Who, library: procedure.Library, now: datetime) -> Drawn:
    with db.reading() as session:
        row, bicycle, checklist = checklists.draw(session, who, checklist_id, library=library, now=now)
        wrenches = [(each.id, each.title) for each in bicycle.bench.wrenches]
        decided = loosened(bicycle, library, who.today(now))
        return Drawn(row, bicycle, checklist, title_of_job(row, bicycle, library), wrenches, decided)


@router.get("/checklists/{checklist_id}")
def show_step(
    checklist_id: UUID, db: Db, who: Who, library: Library, now: Now, step: str = "", done: str = "", skipped: str = ""
) -> Response:
    """One step: the one asked for, else the next that is open."""
    drawn = _draw(checklist_id, db, who, library, now)
    return _step_page(drawn, who, library, step=step, before=done or skipped, was="done" if done else "skipped")


@router.post("/checklists/{checklist_id}/mark")
def mark_step(checklist_id: UUID, form: Form, db: Db, who: Who, library: Library, now: Now) -> Response:
    """Ticks or skips a step, with what was written down; then shows the next one."""
    step_id, state = form("step"), "skipped" if form("state") == "skipped" else "done"
    try:
        with db.writing() as session:
            sent = read(MarkSent, _mark(form, state))
            checklist = checklists.tick_step(session, who, checklist_id, step_id, sent, library=library, now=now)
    except Refusal as refusal:
        drawn = _draw(checklist_id, db, who, library, now)
        return _step_page(drawn, who, library, step=step_id, typed=form, wrong=Wrong(refusal))
    following = next_open(checklist.steps, step_id)
    where = f"step={_safe(following.id)}&" if following is not None else ""
    if following is None:
        return see(f"/checklists/{checklist_id}/list")
    return see(f"/checklists/{checklist_id}?{where}{state}={_safe(step_id)}")


@router.post("/checklists/{checklist_id}/mark-alike")
def mark_alike(checklist_id: UUID, form: Form, db: Db, who: Who, library: Library, now: Now) -> Response:
    """Ticks a bench step for every part it waits for: laid out is one round of the table, not fifty ticks."""
    step_id = form("step")
    with db.writing() as session:
        _, _, checklist = checklists.draw(session, who, checklist_id, library=library, now=now)
        marks = {each.id: MarkSent(fingerprint=each.fingerprint) for each in alike(checklist.steps, step_id)}
        if marks:
            checklist = checklists.tick_steps(session, who, checklist_id, marks, library=library, now=now)
    following = next_open(checklist.steps, step_id)
    where = f"?step={_safe(following.id)}&done={_safe(step_id)}" if following is not None else "/list"
    return see(f"/checklists/{checklist_id}{where}")


def alike(steps: Sequence[ChecklistStep], step_id: str) -> list[ChecklistStep]:
    """The open steps that say the same of other parts, this one among them; none for safety and what is held up."""
    name, by_part, _ = step_id.partition(":")
    if not by_part:
        return []
    same = [each for each in steps if each.id.partition(":")[0] == name and each.state == "open"]
    return [each for each in same if not each.safety and not each.blocked_by and not each.undecided]


@router.post("/checklists/{checklist_id}/unmark")
def unmark_step(checklist_id: UUID, form: Form, db: Db, who: Who, library: Library, now: Now) -> Response:
    """Opens a step again."""
    step_id = form("step")
    try:
        with db.writing() as session:
            checklists.untick_step(session, who, checklist_id, step_id, library=library, now=now)
    except Refusal as refusal:
        drawn = _draw(checklist_id, db, who, library, now)
        return _step_page(drawn, who, library, step=step_id, wrong=Wrong(refusal))
    return see(f"/checklists/{checklist_id}?step={_safe(step_id)}")


@router.post("/checklists/{checklist_id}/finish")
def finish(checklist_id: UUID, form: Form, db: Db, who: Who, library: Library, now: Now) -> Response:
    """Finishes the job."""
    try:
        with db.writing() as session:
            checklists.finish_job(session, who, checklist_id, library=library, now=now)
    except Refusal as refusal:
        return _list_page(_draw(checklist_id, db, who, library, now), who, library, wrong=Wrong(refusal))
    return see(f"/checklists/{checklist_id}/list")


@router.get("/checklists/{checklist_id}/list")
def show_list(checklist_id: UUID, db: Db, who: Who, library: Library, now: Now) -> Response:
    """All steps, what is needed for them, and the visits to a shop."""
    return _list_page(_draw(checklist_id, db, who, library, now), who, library)


def _safe(step_id: str) -> str:
    return step_id.replace("&", "").replace("#", "")


def _mark(form: Typed, state: str) -> dict[str, Any]:
    """A mark as typed: records by key, and for each fastening the torque that every one of its bolts was given."""
    records: dict[str, Any] = {}
    torques: list[dict[str, Any]] = []
    wrench = form.filled("wrench")
    for name in form.names():
        kind, _, key = name.partition(".")
        if kind == "records" and form.has(name):
            records[key] = _written(form, name, key)
        elif kind == "torque" and form.has(name):
            count = form(f"bolts.{key}", "1")
            bolts = int(count) if count.isdecimal() and len(count) < 3 else 1
            nm = as_number(form(name), f"/{name.replace('.', '/', 1)}")
            torques += [{"fastening": key, "bolt": bolt, "nm": nm, **wrench} for bolt in range(1, min(bolts, 60) + 1)]
    return {
        "state": state,
        "fingerprint": form("fingerprint"),
        "note": form("note"),
        "records": records,
        "torques": torques,
    }


def _written(form: Typed, name: str, key: str) -> float | str:
    text = form(name).strip()
    return text if form(f"words.{key}") else as_number(text, f"/records/{key}")


def next_open(steps: Sequence[ChecklistStep], after: str) -> ChecklistStep | None:
    """The next open step after this one that nothing holds up; else the next open one; else the first open one."""
    ids = [step.id for step in steps]
    at = ids.index(after) + 1 if after in ids else 0
    ordered = [step for step in (*steps[at:], *steps[:at]) if step.state == "open" and step.id != after]
    free = [step for step in ordered if not step.blocked_by]
    return next(iter(free or ordered), None)


def _step_page(
    drawn: Drawn, who: people.Who, library: procedure.Library, *, step: str = "",
    before: str = "", was: str = "done", typed: Typed | None = None, wrong: Wrong = NOTHING_WRONG,
) -> Response:  # fmt: skip
    steps = drawn.checklist.steps
    if not steps:
        return _list_page(drawn, who, library, wrong=wrong)
    chosen = checklists.find_step(drawn.checklist, step) if step else next_open(steps, "") or steps[0]
    at = steps.index(chosen)
    by_id = {each.id: each for each in steps}
    return render(
        "stand.html",
        status=wrong.status,
        job=drawn.checklist,
        title=drawn.title,
        build=drawn.bicycle.build,
        step=chosen,
        number=at + 1,
        previous=steps[at - 1] if at else None,
        following=steps[at + 1] if at + 1 < len(steps) else None,
        before=by_id.get(before),
        was=was,
        after=[by_id[each] for each in chosen.after if each in by_id],
        parts=[drawn.bicycle.parts[each] for each in chosen.parts if each in drawn.bicycle.parts],
        place_of={placed.part.id: placed for placed in drawn.bicycle.placed},
        stage=_stage(chosen.stage, library),
        finished=drawn.row.finished_at is not None,
        alike=alike(steps, chosen.id),
        wrenches=drawn.wrenches,
        typed=typed or _as_written(chosen),
        wrong=wrong,
        who=who,
        library=library,
        loosened=drawn.loosened,
    )


def _as_written(step: ChecklistStep) -> Typed:
    """The form filled with what was written down with the tick."""
    values: dict[str, Any] = {"note": step.mark_note}
    for each in step.records:
        values[f"records.{each.key}"] = each.number if each.number is not None else each.words
    return Typed.of(values)


def _stage(key: str, library: procedure.Library) -> str:
    stage = library.stages.get(key)
    return stage.title if stage is not None else key


def _list_page(drawn: Drawn, who: people.Who, library: procedure.Library, *, wrong: Wrong = NOTHING_WRONG) -> Response:
    checklist = drawn.checklist
    by_id = {step.id: step for step in checklist.steps}
    return render(
        "checklist.html",
        status=wrong.status,
        job=checklist,
        title=drawn.title,
        build=drawn.bicycle.build,
        stages=[(_stage(key, library), list(each)) for key, each in groupby(checklist.steps, lambda step: step.stage)],
        by_id=by_id,
        today=[by_id[each] for each in checklist.today],
        reopened=[step for step in checklist.steps if step.reopened and step.state == "open"],
        parts=drawn.bicycle.parts,
        row=drawn.row,
        open_safety=[by_id[fault.detail.removeprefix("waits for ")] for fault in wrong.faults
                     if fault.detail.removeprefix("waits for ") in by_id],
        typed=Typed(),
        wrong=wrong,
        who=who,
        library=library,
        loosened=drawn.loosened,
    )  # fmt: skip
