"""Do ids, places and jobs have the form that everything else relies on?"""

import re

from service.domain.condition import WORDS
from service.domain.order import WHOLE, places_of, stand_ins, with_taken
from service.domain.procedure import Category, Join, Span, Task
from service.library.files import Key
from service.library.report import Report, numbered, steps_of

KEBAB = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
SNAKE = re.compile(r"[a-z0-9]+(_[a-z0-9]+)*")
LONGEST = 60
"""Of an id; those of a category, a step and its places together make the id of a step on a checklist."""
TABLES = {
    "stages": "order",
    "milestones": "order",
    "factors": "conditions",
    "tools": "tools",
    "consumables": "consumables",
    "sources": "sources",
    "symptoms": "trouble",
}
NOT_A_CATEGORY = frozenset({"build", "host", "other"})
"""What stands for something else where a category is named."""
NOT_A_SPEC = (WORDS - {"role"}) | {"category", "origin", "job", "end", "side", "mine", "theirs"}
"""What means something else where a condition or a text names a fact; a shim's `role` is asked for by no condition."""


def check_forms(report: Report) -> None:
    """Every category, and what stands in for others."""
    for name, category in report.categories.items():
        _check_spelling(report, name, category)
        _check_places(report, name, category)
        for key, step in steps_of(category):
            if step.for_each is not None and name != WHOLE:
                report.wrong(name, (*key, "for_each"), "only a step of the whole bicycle is done for each part")
        for key, task in numbered("tasks", category.tasks):
            _check_task(report, name, key, task)
    _check_tables(report)
    _check_stand_ins(report)


def _check_tables(report: Report) -> None:
    """The ids beside the categories, and that none stands twice."""
    for table, file in TABLES.items():
        found = report.shelf.tables.get(table, {})
        keys = [(key, key) for key in found] if isinstance(found, dict) else [(n, e.key) for n, e in enumerate(found)]
        seen: set[str] = set()
        for place, key in keys:
            if not KEBAB.fullmatch(key):
                report.wrong_in(file, (table, place), f"the id {key!r} should be spelt words-joined-so")
            if key in seen:
                report.wrong_in(file, (table, place), f"{key!r} stands twice in this file")
            seen.add(key)


def _check_spelling(report: Report, name: str, category: Category) -> None:
    _must_be(report, name, ("category",), name, KEBAB)
    if name in NOT_A_CATEGORY:
        report.wrong(name, ("category",), f"{name!r} stands for something else here: name the category otherwise")
    for key, spec in numbered("specs", category.specs):
        if spec.key in NOT_A_SPEC:
            report.wrong(
                name, (*key, "key"), f"{spec.key!r} means something else in conditions and texts: name it so_and_so"
            )
    for table in ("specs", "wear"):
        for key, entry in numbered(table, getattr(category, table)):
            _must_be(report, name, (*key, "key"), entry.key, SNAKE)
    for key, spec in numbered("specs", category.specs):
        for choice in spec.choices:
            _must_be(report, name, (*key, "choices", choice), choice, SNAKE)
    for table in ("fastenings", "joins", "tasks"):
        for key, entry in numbered(table, getattr(category, table)):
            _must_be(report, name, (*key, "key"), entry.key, KEBAB)
    for key, step in steps_of(category):
        _must_be(report, name, (*key, "key"), step.key, KEBAB)
    for key, join in numbered("joins", category.joins):
        for number, case in enumerate(join.care_if):
            _must_be(report, name, (*key, "care_if", number, "key"), case.key, KEBAB)


def _must_be(report: Report, category: str, key: Key, name: str, form: re.Pattern[str]) -> None:
    if not form.fullmatch(name):
        word = "words-joined-so" if form is KEBAB else "words_joined_so"
        report.wrong(category, key, f"the id {name!r} should be spelt {word}")
    elif len(name) > LONGEST:
        report.wrong(category, key, f"the id {name!r} should have at most {LONGEST} letters")


def _check_places(report: Report, name: str, category: Category) -> None:
    if isinstance(category.places, dict):
        for host in category.places:
            if host not in category.into:
                report.wrong(name, ("places", host), f"it is not fitted into {host!r}: `into` does not say so")
    words = {word for place in places_of(name, report.categories) for word in place.split(".")} | {category.end}
    for word in category.host:
        if word not in words:
            report.wrong(name, ("host", word), f"it has no place {word!r}")


def _check_task(report: Report, category: str, key: Key, task: Task) -> None:
    for word in ("first", "every"):
        span: Span | None = getattr(task, word)
        if span is not None and (span.parts is None) != (span.parts_of is None):
            report.wrong(category, (*key, word), "`parts` and `parts_of` stand together")
        if span is not None and span.share_of_forecast is not None and not report.categories[category].wear:
            report.wrong(category, (*key, word), "a share of the forecast needs a wearing dimension in this file")
    jobs = {step.key: step.jobs for _, step in steps_of(report.categories[category])}
    looks = {step.key for step in report.categories[category].used}
    for number, step in enumerate(task.steps):
        if step in jobs and step not in looks and not {"service", "check"} & set(jobs[step]):
            report.doubt(category, (*key, "steps", number), f'{step} has neither job "service" nor "check"')


def _check_stand_ins(report: Report) -> None:
    """A join that reads a fact which a stand-in does not have does not exist for it: listed, so that it is known."""
    roles = stand_ins(report.categories)
    unseen: dict[tuple[str, str], dict[str, None]] = {}
    for name, category in report.categories.items():
        for join in category.joins:
            for fact in _facts(join):
                role, dot, spec = fact.partition(".")
                for other in roles.get(role, ()) if dot else ():
                    lacks = other != role and other in report.categories and report.spec(other, spec) is None
                    if lacks and not report.exempts(other, f"{name}.{join.key}"):
                        unseen.setdefault((other, role), {})[f"{name}.{join.key} ({spec})"] = None
    for role, others in roles.items():
        for other in others[1:]:
            _check_safety_of(report, role, other)
    for (other, role), joins in unseen.items():
        report.doubt(other, ("stands_in_for",), f"as {role} it is not seen by {', '.join(joins)}")


def _check_safety_of(report: Report, role: str, other: str) -> None:
    """What stands in for a part with safety steps, and has none, would take them from the bicycle without a word."""
    if role in report.categories and other in report.categories:
        steps = [step.key for step in report.categories[role].steps if step.safety and "assemble" in step.jobs]
        own = with_taken(report.categories[other], report.categories).steps
        if steps and not any(step.safety and "assemble" in step.jobs for step in own):
            what = (
                f"it has no safety step, where a {role} has {', '.join(steps)}: take them (`takes`), or write its own"
            )
            report.doubt(other, ("stands_in_for",), what)


def _facts(join: Join) -> list[str]:
    tests = [*join.meets_if, *(test for case in join.care_if for test in case.tests)]
    tests += [test for case in join.care_if for way in case.any for test in way]
    return [*join.inputs, *(str(test[side]) for test in tests for side in ("mine", "theirs") if side in test)]
