"""The page of the owner's own limit for a task or dimension: another interval or reading, switched off, or dropped."""

from uuid import UUID

from starlette.responses import Response

from service.context import Db, Library, Now, Who, signed_in_router
from service.domain import bicycle as seen
from service.domain import procedure
from service.domain.loosened import loosened, of_task, title_of
from service.domain.procedure import Task, Wear
from service.domain.wear_words import unit_of
from service.errors import NotFound, Refusal
from service.ids import parse_id
from service.records import people, rules
from service.records.bicycle import load
from service.records.rules import Subject
from service.schemas.care import RuleSent
from service.web.forms import NOTHING_WRONG, Form, Typed, Wrong, read
from service.web.jobs import WHOLE
from service.web.pages import render, see

router = signed_in_router(include_in_schema=False)
FIELDS = ("km", "days", "hours", "limit_reading")


@router.get("/builds/{build_id}/rule")
def show_rule(
    build_id: UUID, db: Db, who: Who, library: Library, now: Now, part: str = "", task: str = ""
) -> Response:  # fmt: skip
    """The rule as it stands, in a form."""
    return _page(build_id, db, who, library, now, typed=Typed.of({"part": part, "task": task}), shown=True)


@router.post("/builds/{build_id}/rule")
def set_rule(build_id: UUID, form: Form, db: Db, who: Who, library: Library, now: Now) -> Response:
    """Sets the rule, or takes it back."""
    part_id = parse_id(form("part"))
    subject = Subject(part_id=part_id) if part_id is not None else Subject(build_id=build_id)
    try:
        with db.writing() as session:
            if form("do") == "drop":
                rules.drop_rule(session, who, subject, form("task"), library=library)
            else:
                values = form.numbers(*FIELDS) | form.filled("reason") | form.ticked("off")
                rules.set_rule(session, who, subject, form("task"), read(RuleSent, values), library=library)
    except Refusal as refusal:
        return _page(build_id, db, who, library, now, typed=form, wrong=Wrong(refusal))
    return see(f"/builds/{build_id}/due")


def _page(
    build_id: UUID, db: Db, who: people.Who, library: procedure.Library, now: Now,
    *, typed: Typed, wrong: Wrong = NOTHING_WRONG, shown: bool = False,
) -> Response:  # fmt: skip
    with db.reading() as session:
        bicycle = load(session, who, build_id, library)
    part_id, task = parse_id(typed("part")), typed("task")
    placed = next((each for each in bicycle.placed if each.part.id == part_id), None)
    known = of_task(library, task)
    if known is None or not _has(task, placed):
        raise NotFound("task", task or "without a name")
    rule = next((each for each in bicycle.rules if each.task == task and each.part_id == part_id), None)
    return render(
        "rule.html",
        status=wrong.status,
        build=bicycle.build,
        placed=placed,
        title=title_of(known),
        known=known,
        theirs=_library_words(known),
        unit=unit_of(known).strip() if isinstance(known, Wear) else "",
        by_wear=isinstance(known, Wear),
        rule=rule,
        loose=[each for each in loosened(bicycle, library, who.today(now)) if each[:2] == (part_id, task)],
        typed=Typed.of(_as_set(rule) | {"part": typed("part"), "task": task}) if shown else typed,
        wrong=wrong,
        library=library,
    )


def _has(task: str, placed: seen.Placed | None) -> bool:
    """Is it a task of that part, or of the whole bicycle?"""
    return task.partition(".")[0] == (placed.part.category if placed is not None else WHOLE)


def _as_set(rule: seen.ServiceRule | None) -> dict[str, object]:
    if rule is None:
        return {}
    return {
        "off": "yes" if rule.off else None,
        "km": None if rule.metres is None else rule.metres / 1000,
        "days": rule.days,
        "hours": rule.hours,
        "limit_reading": rule.limit_reading,
        "reason": rule.reason,
    }


def _library_words(known: Task | Wear) -> str:
    """What the library says: every so many km or days, or the readings that ask for action, with their basis."""
    if isinstance(known, Wear):
        return "; ".join(_limit_words(known))
    every = known.every or known.first
    spans = (("km", every.km), ("days", every.days), ("hours", every.hours)) if every is not None else ()
    words = " or ".join(f"{of:g} {unit}" for unit, of in spans if of is not None)
    return f"every {words}, whichever comes first; {known.basis}" if words else f"by occasion only; {known.basis}"


def _limit_words(wear: Wear) -> list[str]:
    said = {"replace": "replace at", "stop": "do not ride past", "look": "look closely at"}
    found = []
    for each in wear.limits:
        if each.value is not None:
            found.append(f"{said[each.action]} {each.value:g}{unit_of(wear)}, {each.basis}")
        elif each.spec is not None:
            found.append(f"{said[each.action]} the mark on the part, where it is entered")
        else:
            of = "new" if each.of_new is not None else "its first reading"
            found.append(f"{said[each.action]} {each.of_new or each.of_first_reading:g} of {of}, {each.basis}")
    return list(dict.fromkeys(found))
