"""Which steps a job is made of: assembling, replacing one part, a task's service, a check, stripping."""

from collections.abc import Iterable, Sequence

from service.domain.applying import Applied, Looks, Wanted, apply_steps
from service.domain.bicycle import Placed, StartedJob
from service.domain.fingerprint import gives_what_it_disturbs
from service.domain.order import WHOLE
from service.domain.places import Surroundings
from service.domain.procedure import Category, Library, Task
from service.errors import Refusal


def steps_of_job(job: StartedJob, around: Surroundings, accepted: Iterable[str] = ()) -> tuple[Applied, ...]:
    """Every step of a started job for these parts, in the reference order; `accepted` names accepted findings.

    Raises Refusal where the job names a part that is not on the bicycle, or a task that does not exist.
    """
    marked = {mark.step_id for mark in job.marks}
    accepted = tuple(accepted)
    about = _about(job, around)
    if job.job == "replace":
        if about is None:
            raise Refusal(
                "A job of replacing names the part that is replaced.",
                errors=[("/about_part", "the id of the part that goes on")],
            )
        return _replacing(about, around, marked, accepted)
    return apply_steps(around, _wanted(job, about, around.library), marked, accepted)


def _about(job: StartedJob, around: Surroundings) -> Placed | None:
    if job.about_part_id is None:
        return None
    placed = around.by_part.get(job.about_part_id)
    if placed is None:
        raise Refusal(
            "This job is about a part that is neither on the bicycle nor planned for it.",
            errors=[("/about_part", "the id of a part on this build")],
        )
    return placed


def _wanted(job: StartedJob, about: Placed | None, library: Library) -> Wanted:
    at = frozenset({about.part.id}) if about is not None else None
    if job.task is not None:
        category, task = find_task(job.task, library)
        names = (category.category,) if about is None else (category.category, about.slot)
        keys = frozenset((name, key) for name in names for key in task.steps)
        return Wanted(job.job, at, keys, whole=category.category == WHOLE)
    looks: Looks = "used" if job.job == "assemble" else "all" if about is not None else "none"
    return Wanted(job.job, at, whole=about is None, looks=looks)


def find_task(name: str, library: Library) -> tuple[Category, Task]:
    """The task "category.key" with its category. Raises Refusal where there is none."""
    file, _, key = name.partition(".")
    category = library.categories.get(file)
    task = next((task for task in category.tasks if task.key == key), None) if category is not None else None
    if category is None or task is None:
        known = ", ".join(f"{file}.{task.key}" for task in category.tasks) if category is not None else ""
        right = f"one of {known}" if known else "a task as category.key"
        raise Refusal(f"There is no task {name}.", errors=[("/task", right)])
    return category, task


def _replacing(about: Placed, around: Surroundings, marked: set[str], accepted: Sequence[str]) -> tuple[Applied, ...]:
    """Stripping notes and the part's own steps, then what works on or touches it or gives what it disturbs."""
    at = frozenset({about.part.id})
    own = (
        *apply_steps(around, Wanted("strip", at, whole=False), marked),
        *apply_steps(around, Wanted("replace", at, whole=False), marked, accepted),
    )
    met = {applied.id: applied for applied in own}
    for applied in apply_steps(around, Wanted("assemble"), marked, accepted):
        if applied.placed is about and not applied.of_each_part and not applied.look:
            continue
        if concerns(about, applied, around):
            met.setdefault(applied.id, applied)
    return tuple(sorted(met.values(), key=lambda applied: applied.rank))


def concerns(about: Placed, applied: Applied, around: Surroundings) -> bool:
    """Must this step be done again where the part is replaced?"""
    if any(placed.part.id == about.part.id for placed in (*applied.works_on, *applied.touches)):
        return True
    ends = around.ends(about).names
    if ends and applied.ends and not ends & applied.ends:
        return False
    category = around.library.categories.get(about.slot)
    return category is not None and gives_what_it_disturbs(category.disturbs, applied)


def notes_for(job: StartedJob, about: Placed | None, steps: Iterable[Applied], library: Library) -> tuple[str, ...]:
    """What is said above the steps: a replacement begins with taking the old part off."""
    if job.job != "replace" or about is None or any("strip" in applied.step.jobs for applied in steps):
        return ()
    category = library.categories.get(about.slot)
    title = category.title if category is not None else about.slot
    return (
        f"{title}: take the old one off first. Look how it sits, keep washers and bolts in their order, and read "
        "the steps below for left-hand threads and what holds it.",
    )
