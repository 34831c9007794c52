"""Does every name lead somewhere: tools, consumables, sources, stages, milestones, steps, fastenings, categories."""

from collections.abc import Iterable
from typing import Any

from service.domain.ends import role_specs
from service.domain.order import with_taken
from service.domain.procedure import Category, Step
from service.library.files import Key
from service.library.known import EVENT_KINDS, OCCASIONS, SET_UP_FIELDS, UNITS
from service.library.report import Report, Spot, numbered, steps_of

FILES = {
    "tools": "tools",
    "consumables": "consumables",
    "sources": "sources",
    "factors": "conditions",
    "stages": "order",
    "milestones": "order",
}


def check_names(report: Report) -> None:
    """Every name in every category, and those of the trouble tree."""
    for name, category in report.categories.items():
        _check_category(report.spot(name, ()), category)
        for key, step in steps_of(category):
            _check_step(report.spot(name, key), step)
        for key, task in numbered("tasks", category.tasks):
            _check_task(report.spot(name, key), task)
        for key, fastening in numbered("fastenings", category.fastenings):
            at = report.spot(name, key)
            check_source(at, fastening.source)
            for number, between in enumerate(fastening.between):
                if between != "host":
                    need_category(at.inside("between", number), between)
        for key, spec in numbered("specs", category.specs):
            check_source(report.spot(name, key), spec.source)
        for key, wear in numbered("wear", category.wear):
            at = report.spot(name, key)
            check_source(at, wear.source)
            need(at.inside("factors"), "factors", wear.factors)
            others = {each.key for each in category.wear} - {wear.key}
            if wear.same_as is not None and wear.same_as not in others:
                at.inside("same_as").wrong(f"{name} has no other wearing dimension {wear.same_as!r}")
            for place, part in (*numbered("rates", wear.rates), *numbered("limits", wear.limits)):
                check_source(at.inside(*place), part.source)
    _check_fitted(report)
    _check_trouble(report)


def need(at: Spot, table: str, name: str | None) -> None:
    """The name must stand in that table."""
    if name is None or not at.report.can_tell(FILES[table]) or name in at.report.table(table):
        return
    at.wrong(f"no {table.removesuffix('s')} {name!r}{at.report.near(name, at.report.table(table))}")


def check_source(at: Spot, source: str | None) -> None:
    """A source must stand in sources.toml."""
    need(at.inside("source"), "sources", source)


def need_category(at: Spot, name: str) -> None:
    """The name must be the id of a category, and one that may still be used."""
    if not at.report.is_known(name):
        at.wrong(f"no category {name!r}{at.report.near(name, at.report.categories)}")
        return
    found = at.report.categories.get(name)
    if found is not None and found.deprecated and name != at.category:
        at.wrong(f"{name} must no longer be used: {found.deprecated}")


def _check_category(at: Spot, category: Category) -> None:
    name, report = at.category, at.report
    stem = report.document(name).file.path.stem
    if category.category != name:
        at.inside("category").wrong(f"{category.category!r} stands in {stem}.toml; both must be equal")
    if not report.is_known(name):
        at.inside("category").wrong(f"no category {name!r}")
    need(at.inside("stage"), "stages", category.stage)
    for number, into in enumerate(category.into):
        if into != "build":
            need_category(at.inside("into", number), into)
    for word, host in category.host.items():
        need_category(at.inside("host", word), host)
    for role, fact in role_specs(category).items():
        need_category(at.inside("stands_in_for", role), role)
        if fact is not None and report.spec(name, fact) is None:
            at.inside("stands_in_for", role).wrong(f"{name} has no spec {fact!r} that says which end it works at")
    for number, disturbed in enumerate(category.disturbs):
        if disturbed != "*" and not _is_step(report, disturbed, f"{name} (disturbs)"):
            need(at.inside("disturbs", number), "milestones", disturbed)
    for number, taken in enumerate(category.takes):
        file, _, key = taken.partition(".")
        by = f"{name} (takes)"
        if not report.is_open(file) and not _has(report, file, ("steps", "used", "fastenings"), key, by):
            at.inside("takes", number).wrong(f"no step, look or fastening {taken!r}")
    for table in ("specs", "joins", "tasks", "wear"):
        _check_twice(at, numbered(table, getattr(category, table)))
    _check_twice(at, steps_of(category))
    for number, fastening in enumerate(category.fastenings):
        if any((each.key, each.when) == (fastening.key, fastening.when) for each in category.fastenings[:number]):
            at.inside("fastenings", number, "key").wrong(f"{fastening.key!r} stands twice under the same `when`")
    _check_taken_twice(at, category)


def _check_twice(at: Spot, entries: Iterable[tuple[Key, Any]]) -> None:
    seen: set[str] = set()
    for key, entry in entries:
        if entry.key in seen:
            at.inside(*key, "key").wrong(f"the key {entry.key!r} stands twice in this file")
        seen.add(entry.key)


def _check_taken_twice(at: Spot, category: Category) -> None:
    """What is taken over stands beside the own steps: two of one key would be one line of the checklist."""
    own = {entry.key for _, entry in steps_of(category)}
    seen: set[str] = set()
    for number, taken in enumerate(category.takes):
        file, _, key = taken.partition(".")
        if key in own:
            at.inside("takes", number).wrong(f"there is a step {key!r} in this file already: take one of them out")
        elif taken in seen or (key in seen and _has(at.report, file, ("steps", "used"), key)):
            at.inside("takes", number).wrong(f"{key!r} is taken twice")
        seen |= {taken, key}


def _check_step(at: Spot, step: Step) -> None:
    own = at.report.categories[at.category]
    need(at.inside("stage"), "stages", step.stage)
    check_source(at, step.source)
    for word in ("tools", "home_with"):
        for number, tool in enumerate(getattr(step, word)):
            _check_tool(at.inside(word, number), tool)
    for number, used in enumerate(step.consumables):
        need(at.inside("consumables", number, "what"), "consumables", used.what)
        if used.unit not in UNITS:
            at.inside("consumables", number, "unit").wrong(f"no unit {used.unit!r}; {', '.join(UNITS)}")
    for number, wanted in enumerate(step.needs):
        milestone = wanted if isinstance(wanted, str) else wanted.milestone
        need(at.inside("needs", number), "milestones", milestone)
        for of in () if isinstance(wanted, str) else wanted.of:
            need_category(at.inside("needs", number, "of"), of)
    for number, milestone in enumerate(step.gives):
        need(at.inside("gives", number), "milestones", milestone)
    by = f"{at.category}.{step.key}"
    for number, after in enumerate(step.after or ()):
        if not _has(at.report, at.category, ("steps", "used"), after, by):
            known = [each.key for _, each in steps_of(own)]
            at.inside("after", number).wrong(f"no step {after!r} in this file{at.report.near(after, known)}")
    _check_parts(at, step)
    if step.fastenings != "all":
        for number, fastening in enumerate(step.fastenings):
            if not _is_fastening(at.report, own, fastening, by):
                known = [each.key for each in own.fastenings]
                what = f"no fastening {fastening!r}{at.report.near(fastening, known)}"
                at.inside("fastenings", number).wrong(what)
    if step.records != "all-wear":
        seen: set[str] = set()
        for number, record in enumerate(step.records):
            there = at.inside("records", number)
            check_source(there, record.source)
            _check_record(there.inside("into"), record.into)
            if record.into in seen:
                there.inside("into").wrong(f"{record.into!r} is asked for twice in this step")
            seen.add(record.into)


def _check_tool(at: Spot, tool: str) -> None:
    name, _, size = tool.partition(":")
    need(at, "tools", name)
    found = at.report.table("tools").get(name)
    if found is not None and size and size not in found.sizes:
        sizes = ", ".join(found.sizes) or "it has no sizes"
        at.wrong(f"{name} has no size {size!r}; {sizes}")


def _check_parts(at: Spot, step: Step) -> None:
    fits = () if isinstance(step.fits, bool) else step.fits
    for word, names in (("fits", fits), ("works_on", step.works_on), ("touches", step.touches)):
        for number, name in enumerate(names):
            if name == "*" and word != "fits":
                if at.category != "whole-bicycle":
                    at.inside(word, number).wrong('"*" stands on steps of the whole bicycle only')
            elif name != "host" or word == "fits":
                need_category(at.inside(word, number), name)


def _check_record(at: Spot, into: str) -> None:
    kind, colon, name = into.partition(":")
    file, dot, word = kind.rpartition(".")
    owner = file if dot else at.category
    if into == "mass":
        return
    if not colon or word not in ("check", "spec", "wear", "set-up"):
        known = '"check:NAME", "spec:KEY", "CATEGORY.spec:KEY", "wear:KEY", "set-up:FIELD", "mass"'
        at.wrong(f"{into!r} leads nowhere; {known}")
    elif dot and not at.report.is_known(owner):
        at.wrong(f"no category {owner!r}")
    elif owner in at.report.categories and word in ("spec", "wear"):
        if not _has(at.report, owner, ("specs",) if word == "spec" else ("wear",), name):
            at.wrong(f"{owner} has no {'spec' if word == 'spec' else 'wearing dimension'} {name!r}")
    elif word == "set-up" and name not in SET_UP_FIELDS:
        at.wrong(f"no set-up field {name!r}; {', '.join(SET_UP_FIELDS)}")


def _check_task(at: Spot, task: Any) -> None:
    own = at.report.categories[at.category]
    by = f"{at.category}.{task.key}"
    check_source(at, task.source)
    need(at.inside("factors"), "factors", task.factors)
    for number, step in enumerate(task.steps):
        taken = {each.partition(".")[2] for each in own.takes}
        if (
            step not in taken
            and not _has(at.report, at.category, ("steps", "used"), step, by)
            and not _is_step(at.report, step, by)
        ):
            known = [each.key for _, each in steps_of(own)]
            at.inside("steps", number).wrong(f"no step {step!r}{at.report.near(step, known)}")
    for number, after in enumerate(task.after):
        _check_occasion(at.inside("after", number), after, by)
    for number, restarted in enumerate(task.restarts):
        file, _, other = restarted.partition(".")
        if not at.report.is_open(file) and not _has(at.report, file, ("tasks",), other, by):
            at.inside("restarts", number).wrong(f'no task {restarted!r}; write it as "CATEGORY.TASK"')
    for number, kind in enumerate(task.done_by):
        if kind not in EVENT_KINDS:
            at.inside("done_by", number).wrong(f"no kind of event {kind!r}; {', '.join(EVENT_KINDS)}")
    for word in ("first", "every"):
        span = getattr(task, word)
        if span is not None and span.parts_of is not None:
            need_category(at.inside(word, "parts_of"), span.parts_of)
    if any(task.key == wear.key for wear in own.wear):
        at.inside("key").wrong(f"a task and a wearing dimension are both called {task.key!r}")


def _check_occasion(at: Spot, after: str, by: str) -> None:
    kind, colon, name = after.partition(":")
    if not colon and after in OCCASIONS:
        return
    if kind == "swapped" and colon:
        need_category(at, name)
        return
    if kind == "done" and colon:
        file, _, task = name.partition(".")
        if at.report.is_open(file) or _has(at.report, file, ("tasks",), task, by):
            return
    known = ", ".join(OCCASIONS)
    at.wrong(f'no occasion {after!r}; {known}, "swapped:CATEGORY", "done:CATEGORY.TASK"')


def _check_fitted(report: Report) -> None:
    """Every category is fitted by some step; a shim by the step that fits what it bridges."""
    fitted = {"shim", "whole-bicycle"}
    for name, category in report.categories.items():
        for _, step in steps_of(category):
            fitted.update((name,) if step.fits is True else step.fits or ())
        fitted.update(_fitted_by_taken(report, name))
    for name in report.categories:
        if name not in fitted and not report.shelf.broken:
            report.wrong(name, ("category",), f"no step fits a {name}: write fits = true there, or name it")


def _fitted_by_taken(report: Report, name: str) -> tuple[str, ...]:
    whole = with_taken(report.categories[name], report.categories)
    return (name,) if any(step.fits is True for step in whole.steps) else ()


def _check_trouble(report: Report) -> None:
    for symptom, entry in enumerate(report.table("symptoms").values()):
        for cause, each in enumerate(entry.causes):
            for begin in each.starts:
                file, _, key = begin.partition(".")
                tables, named_by = ("steps", "used", "tasks"), f"trouble {entry.key}"
                if not report.is_open(file) and not _has(report, file, tables, key, named_by):
                    what = f'no step or task {begin!r}; write it as "CATEGORY.KEY"'
                    field = "start" if begin == each.start else "or_start"
                    report.wrong_in("trouble", ("symptoms", symptom, "causes", cause, field), what)


def _is_step(report: Report, name: str, by: str) -> bool:
    file, dot, key = name.partition(".")
    return bool(dot) and (report.is_open(file) or _has(report, file, ("steps", "used"), key, by))


def _is_fastening(report: Report, own: Category, name: str, by: str) -> bool:
    file, dot, key = name.partition(".")
    if dot:
        return report.is_open(file) or _has(report, file, ("fastenings",), key, by)
    taken = {each.partition(".")[2] for each in own.takes}
    return name in taken or _has(report, own.category, ("fastenings",), name, by)


def _has(report: Report, category: str, tables: tuple[str, ...], key: str, by: str = "") -> bool:
    """Is there such an entry? One that the person's own folder took out counts: `by` passes it over."""
    found = report.categories.get(category)
    if found is not None and any(each.key == key for table in tables for each in getattr(found, table)):
        return True
    return bool(by) and report.is_dropped(category, tables, key, by)
