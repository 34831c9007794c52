"""How far a file is: a complete one has all lists filled or says why not; each wearing dimension is read by a task."""

from collections.abc import Iterator, Mapping

from service.domain.order import WHOLE
from service.domain.procedure import Category
from service.library.report import Report, numbered, steps_of

TABLES = ("specs", "small_parts", "joins", "fastenings", "used", "tasks", "wear")
JOBS = ("assemble", "replace", "service", "strip", "check")
LISTS = (*TABLES, *JOBS)
"""What a complete file holds: its tables, and at least one step for each job."""


def check_grades(report: Report) -> None:
    """Every category: its grade, its exemptions, its second-hand looks, and who reads its wear."""
    read = _read_by_tasks(report.categories)
    for name, category in report.categories.items():
        filled = _filled(category)
        for each in LISTS:
            if filled[each] or report.exempts(name, each):
                continue
            if category.grade != "draft" and not report.is_programs(name, ("grade",)):
                what = f'graded {category.grade!r}, but it has no {each}: write it, or `exempt = {{ {each} = "why" }}`'
                report.wrong(name, ("grade",), what)
            elif each == "used" and name != WHOLE:
                what = "nothing to look at on a second-hand one: write [[used]], or exempt it"
                report.doubt(name, ("category",), what)
        for key, wear in numbered("wear", category.wear):
            if (name, wear.key) not in read and not report.exempts(name, f"wear.{wear.key}"):
                what = f"no step of a task records wear:{wear.key}: nobody is ever asked to read it"
                report.doubt(name, (*key, "key"), what)


def _filled(category: Category) -> Mapping[str, bool]:
    """Which lists hold something; steps borrowed from another file count, a look is a step of job check."""
    own = {job for step in category.steps for job in step.jobs} | ({"check"} if category.used else set())
    tables = {table: bool(getattr(category, table)) for table in TABLES}
    return tables | {job: job in own or bool(category.takes and job in ("assemble", "replace")) for job in JOBS}


def check_exemptions(report: Report) -> None:
    """The last look of all: every exemption says why, and names something that another look would have found.

    What could not be looked through asks for nothing; what a person adds to a file may make its exemptions needless.
    """
    for name, category in report.categories.items():
        for each, why in category.exempt.items():
            if not why.strip():
                report.wrong(name, ("exempt", each), "an exemption says why")
            elif report.whole and not report.is_programs(name, ("exempt", each)) and (name, each) not in report.asked:
                what = (
                    f"nothing asks for {each!r}: a list that is filled needs no exemption, and a name may be misspelt"
                )
                report.wrong(name, ("exempt", each), what)


def _read_by_tasks(categories: Mapping[str, Category]) -> set[tuple[str, str]]:
    """(category, dimension) of every reading that a step of some task asks for."""
    return set(_readings(categories))


def _readings(categories: Mapping[str, Category]) -> Iterator[tuple[str, str]]:
    for name, category in categories.items():
        wanted = {key for task in category.tasks for key in task.steps}
        for _, step in steps_of(category):
            if step.key not in wanted or step.records == "all-wear":
                continue
            for record in step.records:
                if record.into.startswith("wear:"):
                    yield name, record.into.removeprefix("wear:")
