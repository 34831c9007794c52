"""Does every group of alternatives (`one_of`) leave exactly one step, whatever the parts are?"""

from collections.abc import Mapping, Sequence
from math import prod
from typing import Any

from service.domain.choices import Fact, Hole, TooManyCombinations, asked_of, holes, sample_numbers
from service.domain.condition import Scalar
from service.domain.order import hosts_of
from service.domain.procedure import SpecField, Step, When
from service.library.files import Key
from service.library.known import BUILD_FACTS, CATEGORY_IDS, ENDS, JOBS, ORIGINS, SIDES
from service.library.report import Report, steps_of

PLAIN: dict[str, Sequence[Scalar]] = {"origin": ORIGINS, "job": JOBS, "end": ENDS, "side": SIDES}
FAR = 1_000_000.0
MOST_TRIALS = 50_000
"""Some tenths of a second; all groups that come with the program need 6,000 together."""
MOST_NAMED = 6


def check_groups(report: Report) -> None:
    """For every job that a whole group has, each combination of the facts read gives exactly one step."""
    for name, category in report.categories.items():
        groups: dict[str, list[tuple[Key, Step]]] = {}
        for key, step in steps_of(category):
            if step.one_of is not None:
                groups.setdefault(step.one_of, []).append((key, step))
        trials = Trials()
        for title, members in groups.items():
            _check_group(report, name, title, members, trials)


class Trials:
    """How many conditions may still be tried in one file, so that no file takes longer than a person waits."""

    def __init__(self) -> None:
        self.left = MOST_TRIALS

    def holes(self, alternatives: Sequence[When], values: Mapping[Fact, Sequence[Scalar]]) -> Sequence[Hole]:
        """What `choices.holes` answers. Raises TooManyCombinations, without trying, where too few trials are left."""
        asked = sum(len(each) for each in asked_of(alternatives).values()) + len(alternatives)
        wanted = prod(len(each) for each in values.values()) * asked
        if wanted > self.left:
            named = [*values][:MOST_NAMED]
            raise TooManyCombinations(", ".join(named) + (", …" if len(values) > MOST_NAMED else ""))
        self.left -= wanted
        return list(holes(alternatives, values))


def _check_group(report: Report, category: str, title: str, members: list[tuple[Key, Step]], trials: Trials) -> None:
    if len(members) == 1:
        report.blame(category, (*members[0][0], "one_of"), f"the group {title!r} has one step only")
        return
    if any((category, key) in report.unsound for key, _ in members):
        return
    jobs = [set(step.jobs) for _, step in members]
    together = set.intersection(*jobs)
    for job in sorted(set.union(*jobs)):
        beside = [(key, step) for key, step in members if job in step.jobs]
        alternatives = [_without_job(step.when, job) for _, step in beside]
        values = {fact: values_of(report, category, fact, asked) for fact, asked in asked_of(alternatives).items()}
        if not all(values.values()):
            return
        try:
            found = [hole for hole in trials.holes(alternatives, values) if hole.count > 1 or job in together]
        except TooManyCombinations as error:
            what = f"the group {title!r} hangs on too many facts to try them all ({error}): make several groups of it"
            report.blame(category, (*beside[0][0], "one_of"), what)
            return
        for hole in found[:3]:
            what = f"the group {title!r} ({job}): {hole.shown()}"
            report.blame(category, (*beside[0][0], "one_of"), what)
        if found:
            return


def _without_job(when: When, job: str) -> When:
    """The condition with what it says of the job already settled, where it says it plainly."""
    wanted = when.get("job")
    if wanted is None or (job not in wanted if isinstance(wanted, list) else job != wanted):
        return when
    return {key: value for key, value in when.items() if key != "job"}


def values_of(report: Report, category: str, fact: Fact, asked: list[Any]) -> Sequence[Scalar]:
    """The values that a fact can have; none where nothing can be said of it."""
    if fact in PLAIN:
        return PLAIN[fact]
    if " " in fact:
        return (True, False)
    file, dot, key = fact.partition(".")
    if not dot:
        fields = [report.spec(category, fact)]
    elif file == "host":
        fields = [report.spec(host, key) for host in hosts_of(report.categories[category])]
    elif file == "build":
        return _build_values(key, asked)
    elif file in report.categories:
        fields = [report.spec(file, key)]
    else:
        return () if file in CATEGORY_IDS else (True,)
    met: dict[Scalar, None] = {}
    for field in fields:
        if field is not None:
            met |= dict.fromkeys(_field_values(field, asked))
    return tuple(met)


def _build_values(key: str, asked: list[Any]) -> Sequence[Scalar]:
    choices: Mapping[str, str] | None = BUILD_FACTS.get(key)
    if choices is None:
        return sample_numbers(asked, 0.0, FAR)
    return (True, False) if "yes" in choices else tuple(choices)


def _field_values(field: SpecField, asked: list[Any]) -> Sequence[Scalar]:
    if field.kind in ("choice", "choices"):
        return tuple(field.choices)
    if field.kind == "yes-no":
        return (True, False)
    if field.kind in ("number", "numbers"):
        sizes = sorted({*field.nominal, *(size for _, _, size in field.sizes)})
        return sizes or sample_numbers(asked, -FAR if field.low is None else field.low, field.high or FAR)
    words = [word for value in asked for word in (value if isinstance(value, list) else [value])]
    return (*dict.fromkeys(str(word) for word in words), "something else")
