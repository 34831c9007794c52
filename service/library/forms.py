"""Do ids, places and jobs have the form that everything else relies on?"""

import re

from service.domain.order import WHOLE, places_of, stand_ins
from service.domain.procedure import Category, Join, Span, Task
from service.library.files import Key
from service.library.report import Report, numbered, steps_of

KEBAB = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
SNAKE = re.compile(r"[a-z0-9]+(_[a-z0-9]+)*")


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
    _check_stand_ins(report)


def _check_spelling(report: Report, name: str, category: Category) -> None:
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
                    if other != role and other in report.categories and report.spec(other, spec) is None:
                        unseen.setdefault((other, role), {})[f"{name}.{join.key} ({spec})"] = None
    for (other, role), joins in unseen.items():
        report.doubt(other, ("stands_in_for",), f"as {role} it is not seen by {', '.join(joins)}")


def _facts(join: Join) -> list[str]:
    tests = [*join.meets_if, *(test for case in join.care_if for test in case.tests)]
    tests += [test for case in join.care_if for way in case.any for test in way]
    return [*join.inputs, *(str(test[side]) for test in tests for side in ("mine", "theirs") if side in test)]
