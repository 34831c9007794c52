"""The page of one part: where it is, what it has run, its facts and the makers' figures, its life."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any, NamedTuple
from uuid import UUID

from markupsafe import Markup
from starlette.responses import Response

from service.context import Db, Library, Now, Who, signed_in_router
from service.domain import bicycle as seen
from service.domain import procedure
from service.domain.due import Due
from service.domain.facts import fastenings_at
from service.domain.standing import QUIET
from service.domain.wear_due import Worn
from service.domain.wording import part_title
from service.errors import Refusal
from service.ids import parse_id
from service.records import fitting, life, parts, people
from service.records.care import due_now
from service.records.names import build_names
from service.schemas.parts import PartChanged, PartShown, TorqueFigureSent
from service.schemas.showing import show_part
from service.schemas.wear import WearLifeShown, show_wear
from service.web.facts import changed, facts_known, facts_typed, minor_units, money_typed, names_of_facts
from service.web.forms import NOTHING_WRONG, Form, Typed, Wrong, read
from service.web.jobs import task_title
from service.web.pages import render, see
from service.web.part_new import NUMBERS, ORIGINS, STATES
from service.web.wear_chart import wear_chart
from service.web.words import number, place, spoken

router = signed_in_router(include_in_schema=False)
GONE = (("gone", "gone", "sold, broken, given away"),)
EMPTIABLE = ("tag", "expected_on", "gone_how", "made_on", "km_before", "mass_claimed_g", "mass_weighed_g")


class Happened(NamedTuple):
    """Something in a part's life: when, in words; the fitting that can be undone, where it is one."""

    at: datetime
    words: str
    note: str = ""
    fitting: UUID | None = None


@router.get("/parts/{part_id}")
def show_one_part(part_id: UUID, db: Db, who: Who, library: Library, now: Now) -> Response:
    """The part as it is."""
    return _page(part_id, db, who, library, now)


@router.post("/parts/{part_id}/torque")
def set_torque(part_id: UUID, form: Form, db: Db, who: Who, library: Library, now: Now) -> Response:
    """Keeps the maker's figure, or takes one back."""
    try:
        with db.writing() as session:
            if form("do") == "remove":
                parts.remove_torque_figure(session, who, part_id, form("fastening"), library=library)
            else:
                values: dict[str, Any] = form.filled("as_printed", "dressing") | form.numbers("low_nm", "high_nm")
                values["sure"] = form.has("high_nm.sure")
                figure = read(TorqueFigureSent, values)
                parts.set_torque_figure(session, who, part_id, form("fastening"), figure, library=library)
    except Refusal as refusal:
        return _page(part_id, db, who, library, now, typed=form, wrong=Wrong(refusal))
    return see(f"/parts/{part_id}#torque")


@router.post("/parts/{part_id}/undo-fitting")
def undo_fitting(part_id: UUID, form: Form, db: Db, who: Who, library: Library, now: Now) -> Response:
    """Removes a fitting that was entered by mistake."""
    try:
        with db.writing() as session:
            fitting_id = parse_id(form("fitting"))
            if fitting_id is not None:
                fitting.remove_fitting(session, who, fitting_id)
    except Refusal as refusal:
        return _page(part_id, db, who, library, now, wrong=Wrong(refusal))
    return see(f"/parts/{part_id}")


def _page(
    part_id: UUID, db: Db, who: people.Who, library: procedure.Library, now: datetime,
    *, typed: Typed | None = None, wrong: Wrong = NOTHING_WRONG,
) -> Response:  # fmt: skip
    with db.reading() as session:
        row = parts.get_part(session, who, part_id)
        bicycle = life.bicycle_of(session, who, part_id, library)
        part = show_part(row, bicycle, now=now, currency=who.currency, lists=_lists(row.category, library))
        own = [each for each in bicycle.fittings if each.part_id == part_id]
        names = build_names(session, who, {each.build_id for each in own if each.build_id} | _its_build(part))
    category = library.categories.get(part.category)
    known = fastenings_of(part.category, library)
    return render(
        "part.html",
        status=wrong.status,
        part=part,
        category=category,
        names=names,
        dues=_pressing(part_id, due_now(bicycle, library, who, now)),
        wear=_wear(life.wear_on(bicycle, part_id, library, who, now)),
        facts=[(field, part.specs.get(field.key)) for field in category.specs] if category else [],
        fastenings=known,
        figures=[(key, dict(known).get(key, spoken(key)), each) for key, each in part.torque_figures.items()],
        life=_life(own, bicycle, part_id, names, library),
        minor=minor_units(who.currency),
        said="",
        typed=typed or Typed(),
        wrong=wrong,
        who=who,
        library=library,
    )


def _wear(found: Sequence[tuple[Worn, Due]]) -> list[tuple[WearLifeShown, Markup]]:
    """The dimensions that were read, or may be worn: each with its chart; the rest is told where it is logged."""
    told = [each for each in found if each[0].life.seen or each[1].state not in QUIET]
    return [(show_wear(worn, due), wear_chart(worn, f"{number}")) for number, (worn, due) in enumerate(told)]


def _its_build(part: PartShown) -> set[UUID]:
    return {part.on.build} if part.on is not None else set()


def _lists(slot: str, library: procedure.Library) -> frozenset[str]:
    category = library.categories.get(slot)
    fields = category.specs if category is not None else ()
    return frozenset(field.key for field in fields if field.kind in ("numbers", "choices"))


def _pressing(part_id: UUID, dues: Sequence[Due]) -> list[Due]:
    return [due for due in dues if due.part_id == part_id and due.state not in QUIET]


def fastenings_of(category: str, library: procedure.Library) -> list[tuple[str, str]]:
    """Where a part of this category is tightened, its own fastenings first: full name and words."""
    own: list[tuple[str, str]] = []
    others: list[tuple[str, str]] = []
    for name, (first, *_) in fastenings_at(library, category).items():
        owner = name.partition(".")[0]
        if owner == category:
            own.append((name, first.title))
        else:
            others.append((name, f"{part_title(owner, library)}: {first.title}"))
    return [*own, *sorted(others, key=lambda each: each[1])]


def _life(
    own: Sequence[seen.Fitting], bicycle: seen.Bicycle, part_id: UUID, names: dict[UUID, str],
    library: procedure.Library,
) -> list[Happened]:  # fmt: skip
    met: list[Happened] = []
    for each in own:
        on = _host_words(each, bicycle, names)
        met.append(Happened(each.from_at, f"Fitted {on}", fitting=each.id))
        if each.to_at is not None:
            met.append(Happened(each.to_at, f"Taken off {on.removeprefix('on ')}", each.why_removed or ""))
    for event in bicycle.events:
        if event.part_id == part_id:
            done = ", ".join(task_title(task.task, library) for task in event.tasks)
            found = f", found {event.found}" if event.found else ""
            met.append(Happened(event.at, f"{event.kind.capitalize()}{found}{': ' + done if done else ''}", event.note))
    for read_off in bicycle.measurements:
        if read_off.part_id == part_id:
            met.append(Happened(read_off.at, _reading_words(read_off)))
    return sorted(met, key=lambda each: each.at, reverse=True)


def _host_words(each: seen.Fitting, bicycle: seen.Bicycle, names: dict[UUID, str]) -> str:
    at = f", {place(each.place)}" if each.place else ""
    if each.build_id is not None:
        return f"on {names.get(each.build_id, 'a build')}{at}"
    host = bicycle.parts.get(each.into_part_id) if each.into_part_id is not None else None
    return f"into {host.name if host is not None else 'another part'}{at}"


def _reading_words(each: seen.WearMeasurement) -> str:
    what = f"{spoken(each.dimension).capitalize()}{', ' + place(each.place) if each.place else ''}"
    if each.high == each.low:
        return f"{what}: {number(each.low)}"
    upper = number(each.high) if each.high is not None else "beyond the last mark"
    return f"{what}: between {number(each.low)} and {upper}"


@router.get("/parts/{part_id}/facts")
def show_facts(part_id: UUID, db: Db, who: Who, library: Library, now: Now) -> Response:
    """The part and its facts in a form."""
    return _facts_page(part_id, db, who, library, now)


@router.post("/parts/{part_id}/facts")
def change_facts(part_id: UUID, form: Form, db: Db, who: Who, library: Library, now: Now) -> Response:
    """Keeps what was changed, all of it or nothing."""
    try:
        with db.writing() as session:
            known = life.part_shown(session, who, part_id, library=library, now=now)
            category = library.categories.get(known.category)
            facts = facts_typed(category, form, known.specs) if category is not None else {}
            parts.change_part(session, who, part_id, read(PartChanged, _changes(form, who)), form.version())
            for key in known.specs:
                if key not in facts and f"specs.{key}.known_by" in form.names():
                    parts.remove_spec(session, who, part_id, key)
            new = {key: sent for key, sent in facts.items() if changed(known.specs, sent, key)}
            parts.set_specs(session, who, part_id, new, library)
    except Refusal as refusal:
        return _facts_page(part_id, db, who, library, now, typed=form, wrong=Wrong(refusal))
    return see(f"/parts/{part_id}")


def _changes(form: Typed, who: people.Who) -> dict[str, Any]:
    values: dict[str, Any] = form.filled("origin", "state", *EMPTIABLE) | form.numbers(*NUMBERS)
    values |= {name: None for name in EMPTIABLE if not form.has(name)}
    values |= {"price": None, "price_new": None} | money_typed(form, who.currency, "price", "price_new")
    return values | {"name": form("name"), "note": form("note")}


@router.post("/parts/{part_id}/remove")
def remove_part(part_id: UUID, form: Form, db: Db, who: Who, library: Library, now: Now) -> Response:
    """Removes a part without a history."""
    try:
        with db.writing() as session:
            parts.remove_part(session, who, part_id, form.version())
    except Refusal as refusal:
        return _facts_page(part_id, db, who, library, now, wrong=Wrong(refusal))
    return see("/parts")


def _facts_page(
    part_id: UUID, db: Db, who: people.Who, library: procedure.Library, now: datetime,
    *, typed: Typed | None = None, wrong: Wrong = NOTHING_WRONG,
) -> Response:  # fmt: skip
    with db.reading() as session:
        part = life.part_shown(session, who, part_id, library=library, now=now)
    category = library.categories.get(part.category)
    own = part.model_dump(include={"name", "origin", "state", "note", "pieces", *EMPTIABLE})
    money = {name: getattr(part, name) for name in ("price", "price_new")}
    own |= {name: worth.minor / minor_units(worth.currency) for name, worth in money.items() if worth is not None}
    return render(
        "part_facts.html",
        status=wrong.status,
        part=part,
        version=part.version,
        category=category,
        origins=ORIGINS,
        states=STATES + GONE,
        currency=who.currency,
        typed=typed or Typed.of(own | facts_known(part)),
        wrong=wrong.named(names_of_facts(category)),
    )
