"""The checklist of a started job: which steps these parts need today, in which order, what holds each up, and why."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from functools import partial

from service.domain.applying import Applied
from service.domain.bicycle import Bicycle, Mark, StartedJob, StepRecord
from service.domain.condition import Answer
from service.domain.fingerprint import Marked, displaced, fingerprint, past, standing
from service.domain.following import Links, link, ordered
from service.domain.holding import Holding, Today, missing_parts, still_waiting
from service.domain.jobs import notes_for, steps_of_job
from service.domain.joins import Finding, accepted_ones, findings, with_joins
from service.domain.left_out import left_out
from service.domain.own import step_basis
from service.domain.places import Surroundings, familiar, surroundings
from service.domain.procedure import Library
from service.domain.recording import records_asked
from service.domain.steps import BlockedBy, Checklist, ChecklistStep, LongestChain, ToolUse, WhereDone
from service.domain.timing import longest_chain, spans
from service.domain.torque import TorqueShown, audit_torques, torques_at
from service.domain.totals import (
    consumables_of,
    every_tool,
    measure_first,
    needs_mechanic,
    progress,
    small_parts,
    tools_of,
)
from service.domain.trips import shop_visits
from service.domain.visits import Visits, plan_visits
from service.domain.wording import asked, filled, part_at, parts_of, step_hash, title_of, where_done

MINUTES_A_DAY = 1440
SKIPPED, ACCEPTED = "safety skipped", "finding accepted"
BARE_FRAME = "frame"  # the stage of order.toml in which frame and fork are looked at, before anything goes on


@dataclass(frozen=True, slots=True)
class _Sheet:
    """Everything worked out about the steps of a job, by their number, before it is put into words."""

    job: StartedJob
    bicycle: Bicycle
    around: Surroundings
    at: Today
    accepted: tuple[Finding, ...]
    steps: tuple[Applied, ...]
    prints: tuple[str, ...]
    marked: tuple[Marked, ...]
    where: tuple[WhereDone, ...]
    links: Links
    visits: Visits
    order: tuple[int, ...]
    open: frozenset[int]
    titles: tuple[str, ...]
    tools: Mapping[str, ToolUse]
    written: Mapping[tuple[str, str], Mapping[str, StepRecord]]


def draw_up(bicycle: Bicycle, library: Library, job: StartedJob, *, now: datetime, today: date) -> Checklist:
    """The checklist of a job for this bicycle at this moment; pure, and the same for the same values.

    Raises Refusal where the job names a part or a task that is not there.
    """
    around = with_joins(surroundings(bicycle, library, job.job))
    return draw_up_around(around, bicycle, job, now=now, today=today)


def draw_up_around(around: Surroundings, bicycle: Bicycle, job: StartedJob, *, now: datetime, today: date) -> Checklist:
    """The same for surroundings that are not a stored bicycle's."""
    return _in_words(_worked_out(around, bicycle, job, Today(now, today, bicycle.bench)))


def _worked_out(around: Surroundings, bicycle: Bicycle, job: StartedJob, at: Today) -> _Sheet:
    accepted = _accepted(bicycle, around.library)
    said = {ACCEPTED} if accepted else set()
    around = familiar(replace(around, said=frozenset(said)))
    steps, prints, marked = _applied(around, bicycle, job, accepted, at.today)
    if any(applied.step.safety and met.state == "skipped" for applied, met in zip(steps, marked, strict=True)):
        around = familiar(replace(around, said=frozenset({*said, SKIPPED})))
        steps, prints, marked = _applied(around, bicycle, job, accepted, at.today)
    links = around.keep(("links", steps), lambda: link(steps, around.library))
    where = tuple(where_done(applied.step, at.bench) for applied in steps)
    ranks = [(number,) for number in range(len(steps))]
    to_plan: list[WhereDone] = [
        place if met.state == "open" else "anywhere" for place, met in zip(where, marked, strict=True)
    ]
    visits = plan_visits(to_plan, links.before, ordered(links.before, ranks))
    stretches = [early if _soon(steps[i], early) else visits.stretch[i] for i, early in enumerate(visits.earliest)]
    order = ordered(links.before, [(stretch, i) for i, stretch in enumerate(stretches)])
    return _Sheet(
        job=job,
        bicycle=bicycle,
        around=around,
        at=at,
        accepted=accepted,
        steps=steps,
        prints=prints,
        marked=marked,
        where=where,
        links=links,
        visits=visits,
        order=order,
        open=frozenset(i for i, met in enumerate(marked) if met.state == "open"),
        titles=around.keep(("titles", steps), lambda: tuple(title_of(applied) for applied in steps)),
        tools=every_tool(steps, around.library, at.bench),
        written=_written(job.records),
    )


def _soon(applied: Applied, earliest: int) -> bool:
    """Is it better done early than left until after a visit to a shop?

    The bench round is where a job begins, what a look rejects has to be bought, and a rest costs no hands. What
    is tried on the bare frame and fork may turn out to be the shop's work: before the first visit, where it can be.
    """
    tried = (applied.step.stage or applied.category.stage) == BARE_FRAME and not applied.step.fits and earliest == 1
    return applied.look or applied.of_each_part or tried or applied.step.waits_minutes > 0


def _accepted(bicycle: Bicycle, library: Library) -> tuple[Finding, ...]:
    """The conflicts that were accepted for exactly these parts; looked for only where anything was accepted."""
    return tuple(accepted_ones(findings(bicycle, library)).values()) if bicycle.acceptances else ()


def _applied(
    around: Surroundings, bicycle: Bicycle, job: StartedJob, accepted: tuple[Finding, ...], today: date
) -> tuple[tuple[Applied, ...], tuple[str, ...], tuple[Marked, ...]]:
    """The steps with their fingerprints and marks; a step kept for a mark that no longer counts goes if it says no."""
    by_step: dict[str, list[Mark]] = {}
    for mark in job.marks:
        by_step.setdefault(mark.step_id, []).append(mark)
    taken, history = displaced(bicycle, around), past(bicycle, around.library, today)
    met: list[tuple[Applied, str, Marked]] = []
    for applied in steps_of_job(job, around, (finding.join for finding in accepted)):
        print_now = around.keep(("fingerprint", applied), partial(fingerprint, applied))
        marked = standing(applied, print_now, by_step.get(applied.id, ()), taken, history)
        if marked.state != "open" or applied.judged.answer is not Answer.NO:
            met.append((applied, print_now, marked))
    return tuple(m[0] for m in met), tuple(m[1] for m in met), tuple(m[2] for m in met)


def _in_words(sheet: _Sheet) -> Checklist:
    steps, job, library = sheet.steps, sheet.job, sheet.around.library
    holding = Holding(steps, sheet.titles, sheet.marked, sheet.links.before, sheet.where, sheet.at, library)
    audit: list[tuple[TorqueShown, ...]] = []
    shown = tuple(_shown(i, sheet, holding.blocked_by(i), audit) for i in sheet.order)
    still = [steps[i] for i in sheet.order if i in sheet.open]
    about = sheet.around.by_part.get(job.about_part_id) if job.about_part_id is not None else None
    return Checklist(
        id=job.id,
        job=job.job,
        about_part_id=job.about_part_id,
        task=job.task,
        finished_at=job.finished_at,
        notes=notes_for(job, about, steps, library),
        steps=shown,
        measure_first=measure_first(still, sheet.around),
        minutes_left=sum(applied.step.minutes for applied in still),
        longest_chain=_longest_chain(sheet),
        tools=tools_of(still, sheet.tools),
        consumables=consumables_of(still),
        small_parts=small_parts(still, sheet.around),
        shop_visits=shop_visits(holding, sheet.visits, sheet.order),
        today=tuple(step.id for step in shown if step.state == "open" and not step.blocked_by),
        needs_mechanic=_needs_mechanic(sheet),
        progress=progress(shown),
    )


def _needs_mechanic(sheet: _Sheet) -> str | None:
    safety = [i for i in sheet.order if sheet.steps[i].step.safety]
    skipped = [sheet.steps[i] for i in safety if sheet.marked[i].state == "skipped"]
    left_open = [sheet.steps[i] for i in safety if i in sheet.open] if sheet.job.finished_at is not None else []
    taken = left_out(sheet.around, sheet.bicycle, sheet.job, sheet.steps, sheet.accepted)
    return needs_mechanic(skipped, sheet.accepted, left_open=left_open, left_out=taken)


def _shown(
    i: int, sheet: _Sheet, blocked: tuple[BlockedBy, ...], audit: list[tuple[TorqueShown, ...]]
) -> ChecklistStep:
    applied, marked = sheet.steps[i], sheet.marked[i]
    step, here, wording = applied.step, applied.here, step_hash(applied.step)
    unknown = applied.judged.answer is Answer.UNKNOWN and marked.state == "open"
    return ChecklistStep(
        id=applied.id,
        title=sheet.titles[i],
        text=filled(step.text, here),
        stage=step.stage or applied.category.stage,
        state=marked.state,
        reopened=marked.reopened,
        marked_at=marked.mark.at if marked.mark is not None else None,
        mark_note=marked.mark.note if marked.mark is not None else "",
        wording_changed=marked.mark is not None and marked.mark.step_hash != wording,
        fingerprint=sheet.prints[i],
        category=applied.category.category,
        parts=applied.here.around.keep(("parts", applied), partial(parts_of, applied)),
        place=applied.placed.place if applied.placed is not None else "",
        where=sheet.where[i],
        minutes=step.minutes,
        waits_minutes=step.waits_minutes,
        safety=step.safety,
        cuts=step.cuts,
        look=applied.look,
        cautions=tuple([filled(caution, here) for caution in step.cautions]),
        reject=step.reject,
        tools=tuple([sheet.tools[name] for name in step.tools]),
        consumables=step.consumables,
        torques=_torques(applied, sheet, audit),
        records=records_asked(applied, sheet.written.get((applied.id, sheet.prints[i]), {})),
        after=tuple([sheet.steps[j].id for j in sheet.links.before[i]]),
        blocked_by=blocked,
        because=_because(i, sheet),
        undecided=tuple(asked(fact, sheet.around) for fact in applied.judged.settles) if unknown else (),
        fits=tuple([placed.part.id for placed in applied.fits if placed.planned]),
        step_hash=wording,
        basis=step_basis(here.around.library, applied.category.category, step, step.basis, look=applied.look),
        source=step.source,
    )


def _torques(applied: Applied, sheet: _Sheet, audit: list[tuple[TorqueShown, ...]]) -> tuple[TorqueShown, ...]:
    """The torques of a step; those of an audit are worked out once and kept in `audit`."""
    wrenches = sheet.at.bench.wrenches
    if applied.step.fastenings != "all":
        return torques_at(applied.here, applied.step.fastenings, wrenches) if applied.step.fastenings else ()
    if not audit:  # with part and place in the words: two cable anchors are told apart
        library, met = sheet.around.library, audit_torques(sheet.around, wrenches)
        audit.append(tuple(replace(each, title=f"{part_at(at, library)}: {each.title}") for at, each in met))
    return audit[0]


def _written(records: Iterable[StepRecord]) -> Mapping[tuple[str, str], Mapping[str, StepRecord]]:
    """What was written down, by step and fingerprint, then by its name."""
    met: dict[tuple[str, str], dict[str, StepRecord]] = {}
    for record in records:
        met.setdefault((record.step_id, record.fingerprint), {})[record.key] = record
    return met


def _because(i: int, sheet: _Sheet) -> tuple[str, ...]:
    applied = sheet.steps[i]
    said = list(applied.judged.because) if applied.step.when else []
    for key, givers in sheet.links.milestones[i].items():
        if key in sheet.around.library.milestones and any(j in sheet.open for j in givers):
            said.append(f"waits until {filled(sheet.around.library.milestones[key].title, applied.here)}")
    return tuple(said)


def _longest_chain(sheet: _Sheet) -> LongestChain:
    """The critical path over what is still open, in minutes from now."""
    order = [i for i in sheet.order if i in sheet.open]
    number = {i: n for n, i in enumerate(order)}
    before = [[number[j] for j in sheet.links.before[i] if j in number] for i in order]
    durations = [float(sheet.steps[i].step.minutes + sheet.steps[i].step.waits_minutes) for i in order]
    met = spans(durations, before, range(len(order)), [_not_before(i, sheet) for i in order])
    length, chain = longest_chain(met, before, range(len(order)))
    return LongestChain(round(length), tuple(sheet.steps[order[n]].id for n in chain))


def _not_before(i: int, sheet: _Sheet) -> float:
    """Minutes from now until the last of the step's parts arrives and what rests before it has rested."""
    arrivals = [placed.part.expected_on for placed in missing_parts(sheet.steps[i])]
    days = [(day - sheet.at.today).days for day in arrivals if day is not None]
    waits = [still_waiting(sheet.steps[j], sheet.marked[j], sheet.at.now) for j in sheet.links.before[i]]
    minutes = [(until - sheet.at.now).total_seconds() / 60 for until in waits if until is not None]
    return max([0.0, *(float(day * MINUTES_A_DAY) for day in days), *minutes])
