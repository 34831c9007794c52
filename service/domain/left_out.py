"""What a person's own files take from the safety of a job, beside what the program's procedures ask for these parts."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from service.domain.applying import Applied
from service.domain.bicycle import Bicycle, StartedJob
from service.domain.condition import Answer
from service.domain.jobs import steps_of_job
from service.domain.joins import Finding, findings_around, with_joins
from service.domain.places import Surroundings, familiar
from service.domain.procedure import Library, Record, Step
from service.domain.torque import TorqueShown, torques_at
from service.domain.wording import filled, title_of
from service.errors import Refusal


def left_out(
    around: Surroundings, bicycle: Bicycle, job: StartedJob, steps: Sequence[Applied], accepted: Sequence[Finding]
) -> tuple[str, ...]:
    """In words, for these parts: safety steps left out or weakened, torques raised, joins dropped.

    Nothing where no file of a person's own changes what the program has.
    """
    if around.library.program is None:
        return ()
    theirs = _by_the_program(around, around.library.program)
    try:
        known = steps_of_job(job, theirs, [finding.join for finding in accepted])
    except Refusal:  # a task that only the own files have
        return ()
    own = {applied.id: applied for applied in steps}
    said = [words for applied in known for words in _of_step(applied, own.get(applied.id))]
    return tuple(dict.fromkeys([*said, *(_joins(around, theirs) if bicycle.placed else ())]))


def _by_the_program(around: Surroundings, program: Library) -> Surroundings:
    return familiar(with_joins(replace(around, library=program)))


def _of_step(theirs: Applied, own: Applied | None) -> Iterator[str]:
    title = title_of(theirs)
    if theirs.judged.answer is Answer.NO:
        return
    if own is None or own.judged.answer is Answer.NO:
        if theirs.step.safety:
            yield f"left out by your own files: {title}"
        return
    if theirs.step.safety:
        yield from (f"{what} by your own files: {title}" for what in _weaker(theirs.step, own.step))
        for caution in theirs.step.cautions:
            if caution not in own.step.cautions:
                yield f"a caution taken out by your own files: {title} ({filled(caution, theirs.here)})"
    if theirs.step.fastenings != "all":
        yield from _torques(theirs, own)


def _weaker(theirs: Step, own: Step) -> Iterator[str]:
    if not own.safety:
        yield "no longer marked as safety"
    if theirs.reject and not own.reject:
        yield "what to reject taken out"
    if theirs.records != "all-wear" and own.records != "all-wear":
        asked = {record.into: record for record in own.records}
        for record in theirs.records:
            if record.into not in asked:
                yield f"“{record.title}” no longer asked for"
            elif _is_looser(record, asked[record.into]):
                yield f"the limits of “{record.title}” loosened"


def _is_looser(theirs: Record, own: Record) -> bool:
    lower = theirs.low is not None and (own.low is None or own.low < theirs.low)
    return lower or (theirs.high is not None and (own.high is None or own.high > theirs.high))


def _torques(theirs: Applied, own: Applied) -> Iterator[str]:
    """A figure of a part's maker governs with or without the own files, so only the general ranges are compared."""
    asked = _by_name(torques_at(own.here, own.step.fastenings, ()) if own.step.fastenings != "all" else ())
    for name, known in _by_name(torques_at(theirs.here, theirs.step.fastenings, ())).items():
        found = asked.get(name)
        if found is None:
            if theirs.step.safety:
                yield f"a torque taken out by your own files: {known[0].title}"
            continue
        most, own_most = _most(known), _most(found)
        if most is not None and own_most is not None and own_most > most:
            title = known[0].title
            yield f"a torque raised by your own files: {title}, up to {own_most:g} N·m where the program has {most:g}"


def _by_name(torques: Sequence[TorqueShown]) -> Mapping[str, list[TorqueShown]]:
    met: dict[str, list[TorqueShown]] = {}
    for torque in torques:
        met.setdefault(torque.fastening, []).append(torque)
    return met


def _most(torques: Sequence[TorqueShown]) -> float | None:
    return max((torque.general.high_nm for torque in torques if torque.general.high_nm is not None), default=None)


def _joins(around: Surroundings, theirs: Surroundings) -> Iterator[str]:
    """Conflicts that the own files no longer see, or let a person accept."""
    own = {finding.join: finding for finding in findings_around(around)}
    for finding in findings_around(theirs):
        if finding.answer == "conflicts":
            met = own.get(finding.join)
            if met is None or met.answer == "meets":
                yield f"a conflict no longer seen by your own files: {finding.title}"
            elif met.acceptable and not finding.acceptable:
                yield f"a conflict made acceptable by your own files: {finding.title}"
