"""Where parts meet: whether they do, need care, conflict, or what must be measured before that can be said."""

import hashlib
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any
from uuid import UUID

from service.domain.bicycle import Acceptance, Bicycle, Placed
from service.domain.calculation import JoinAnswer as JoinAnswer
from service.domain.calculation import Reckoned, Seen
from service.domain.calculations import CALCULATIONS
from service.domain.comparison import Read, Tested, Verdict, all_hold, one_holds
from service.domain.condition import Answer, Fact, Judged, judge, one_of_them
from service.domain.meetings import WHOLE, Gathering, Meeting, gatherings, meetings
from service.domain.places import Here, Surroundings, familiar, surroundings
from service.domain.procedure import CareCase, Join, Library
from service.domain.readings import spec_field
from service.domain.wording import asked, decided

OF_THE_BUILD = {
    "rider_mass_g": ("Rider's mass", "Bathroom scale, dressed for riding."),
    "load_g": ("Luggage that is planned", "Scale: bags, lock, water and what is in them."),
    "mass_weighed_g": ("Bicycle's mass", "Hanging scale; or enter the mass of every part."),
    "front_brake_hand": ("Hand of the front brake", "Ask the rider."),
}
"""Facts of the build: what they are called, and how to find them out."""


@dataclass(frozen=True, slots=True)
class Compared:
    """A fact that a finding rests on: number or words, neither where it is not entered; no part for a build's own."""

    part_id: UUID | None
    category: str
    field: str
    number: float | None
    words: str | None
    known_by: str


@dataclass(frozen=True, slots=True)
class ToMeasure:
    """A fact that would settle a finding, and how to measure it."""

    part_id: UUID | None
    category: str
    field: str
    title: str
    how: str


@dataclass(frozen=True, slots=True)
class Finding:
    """The answer on one join at one place: "category.key@place", with ":PART" where several partners meet there.

    `care` is the key of the alternative that works with care. The fingerprint names the fittings and the facts.
    """

    join: str
    title: str
    answer: JoinAnswer
    care: str | None
    say: str
    facts: tuple[Compared, ...]
    measure: tuple[ToMeasure, ...]
    acceptable: bool
    accepting_adds: str | None
    basis: str
    source: str | None
    fingerprint: str
    parts: tuple[UUID, ...]
    place: str = ""
    ends: frozenset[str] = frozenset()
    acceptance: Acceptance | None = None

    @property
    def key(self) -> str:
        """The join without its place: "category.key"."""
        return self.join.partition("@")[0].partition(":")[0]


@dataclass(frozen=True, slots=True)
class _Outcome:
    answer: JoinAnswer
    case: CareCase | None = None
    tested: tuple[Tested, ...] = ()
    settles: tuple[Fact, ...] = ()


def findings(bicycle: Bicycle, library: Library) -> tuple[Finding, ...]:
    """The findings on every join of these parts."""
    kept = {(each.join, each.fingerprint): each for each in bicycle.acceptances}
    around = familiar(with_joins(surroundings(bicycle, library)))
    met = around.keep(("findings",), lambda: findings_around(around))
    if not kept:
        return met
    return tuple(replace(each, acceptance=kept.get((each.join, each.fingerprint))) for each in met)


def findings_around(
    around: Surroundings, asked_for: Callable[[str, Join], bool] = lambda owner, join: True
) -> tuple[Finding, ...]:
    """The same, for parts that may exist nowhere, without what was accepted; of the joins asked for, all by default."""
    joins = (each for each in _joins(around) if asked_for(*each))
    met = (each for owner, join in joins for each in _findings_of(around, owner, join))
    return tuple(sorted(met, key=lambda finding: finding.join))


def _findings_of(around: Surroundings, owner: str, join: Join) -> Iterator[Finding]:
    if join.by is not None:
        yield from _calculated(around, owner, join)
        return
    for meeting in meetings(around, owner, join):
        judged = judge(join.when, meeting.here)
        if judged.answer is not Answer.NO:
            yield _found(meeting, judged)


def _calculated(around: Surroundings, owner: str, join: Join) -> Iterator[Finding]:
    """One finding for all parts that meet together; none for a name that no calculation has, which `check` reports."""
    found = CALCULATIONS.get(join.by or "")
    if found is not None:
        for gathering in gatherings(around, owner, join):
            yield _reckoned(gathering, *found.reckon(gathering))


def _joins(around: Surroundings) -> Iterator[tuple[str, Join]]:
    for name in (*around.by_role, WHOLE):
        category = around.library.categories.get(name)
        for join in category.joins if category else ():
            yield name, join


def _outcome(meeting: Meeting) -> _Outcome:
    """meets, or care where an alternative says so even then; care for a label nobody knows; else the alternatives."""
    join = meeting.join
    verdict, tested = all_hold(join.meets_if, meeting.read)
    alternatives = [(case, *_alternative(case, meeting)) for case in join.care_if]
    by_verdict = {each: [case for case, got, _ in alternatives if got is each] for each in Verdict}
    if verdict is Verdict.YES:
        even_so = [case for case in by_verdict[Verdict.YES] if case.even_if_meets]
        return _Outcome("needs care", even_so[0], tested) if even_so else _Outcome("meets", None, tested)
    workable = by_verdict[Verdict.YES] + by_verdict[Verdict.CARE]
    if verdict is Verdict.CARE and any(each.verdict is Verdict.CARE and _by_mark(each) for each in tested):
        return _Outcome("needs care", None, tested)
    if verdict is Verdict.CARE or (verdict is Verdict.NO and workable):
        return _Outcome("needs care", workable[0] if workable else None, tested)
    if verdict is Verdict.NO and len(by_verdict[Verdict.NO]) == len(alternatives):
        return _Outcome("conflicts", None, tested)
    every = (*tested, *(each for _, _, more in alternatives for each in more))
    return _Outcome("not measured yet", None, tested, _missing(every))


def _alternative(case: CareCase, meeting: Meeting) -> tuple[Verdict, tuple[Tested, ...]]:
    if case.bridged_by is not None and meeting.part_in(case.bridged_by) is None:
        return Verdict.NO, ()
    verdict, tested = all_hold(case.tests, meeting.read)
    if not case.any:
        return verdict, tested
    either, more = one_holds(case.any, meeting.read)
    return min(verdict, either), (*tested, *more)


def _missing(tested: Iterable[Tested]) -> tuple[Fact, ...]:
    open_ones = [each for each in tested if each.verdict in (Verdict.UNKNOWN, Verdict.CARE)]
    return tuple(
        dict.fromkeys(fact for each in open_ones for side in (each.mine, each.theirs) for fact in side.missing)
    )


def _found(meeting: Meeting, judged: Judged) -> Finding:
    join = meeting.join
    outcome = _outcome(meeting)
    settles = (*judged.settles, *outcome.settles, *meeting.ends_unknown())
    if (outcome.answer != "meets" and judged.answer is Answer.UNKNOWN) or not meeting.certain:
        outcome = _Outcome("not measured yet", None, outcome.tested)
    facts = _compared(outcome.tested)
    case = outcome.case
    return Finding(
        join=meeting.id,
        title=join.title,
        answer=outcome.answer,
        care=case.key if case else None,
        say=" ".join([_say(meeting, outcome), *_still_to_decide(meeting.here.around, outcome.answer, settles)]),
        facts=facts,
        measure=_measures(meeting.here.around, settles) if outcome.answer == "not measured yet" else (),
        acceptable=join.acceptable and outcome.answer == "conflicts",
        accepting_adds=join.accepting_adds if join.acceptable else None,
        basis=(case.basis if case and case.basis else join.basis),
        source=(case.source if case and case.source else join.source),
        fingerprint=_fingerprint(meeting.placed(), facts),
        parts=tuple(placed.part.id for placed in meeting.placed()),
        place=meeting.place,
        ends=meeting.here.ends.names,
    )


def _reckoned(gathering: Gathering, reckoned: Reckoned, seen: Seen) -> Finding:
    join = gathering.join
    unsure = gathering.judged.answer is Answer.UNKNOWN and reckoned.answer != "meets"
    if unsure or not gathering.certain:
        reckoned = Reckoned("not measured yet", "")
    placed = tuple({each.part.id: each for each in (*gathering.placed(), *seen.parts_read.values())}.values())
    facts = tuple(dict.fromkeys(_as_fact(side, value) for side in seen.facts for value in (side.values or (None,))))
    settles = (*gathering.judged.settles, *seen.missing)
    return Finding(
        join=gathering.id,
        title=join.title,
        answer=reckoned.answer,
        care=reckoned.care,
        say=" ".join([_say_reckoned(join, reckoned), *_still_to_decide(gathering.around, reckoned.answer, settles)]),
        facts=facts,
        measure=_measures(gathering.around, settles) if reckoned.answer == "not measured yet" else (),
        acceptable=join.acceptable and reckoned.answer == "conflicts",
        accepting_adds=join.accepting_adds if join.acceptable else None,
        basis=join.basis,
        source=join.source,
        fingerprint=_fingerprint(placed, facts),
        parts=tuple(each.part.id for each in placed),
        place=gathering.place,
        ends=gathering.heres[0].ends.names,
    )


def _say_reckoned(join: Join, reckoned: Reckoned) -> str:
    """The numbers of the calculation, and what the library says of a conflict."""
    match reckoned.answer:
        case "meets":
            words = f"{join.title}: they meet. {reckoned.say}"
        case "not measured yet":
            words = f"{join.title}: not measured yet. {reckoned.say}"
        case "conflicts":
            words = f"{reckoned.say} {join.say}"
        case _:
            words = reckoned.say
    return words.strip()


def _compared(tested: Iterable[Tested]) -> tuple[Compared, ...]:
    sides = [side for each in tested for side in (each.mine, each.theirs) if side.field and not side.absent]
    facts = [_as_fact(side, value) for side in sides for value in (side.values or (None,))]
    return tuple(dict.fromkeys(facts))


def _as_fact(side: Read, value: Any) -> Compared:
    number = float(value) if isinstance(value, int | float) and not isinstance(value, bool) else None
    words = None if value is None or number is not None else shown(value)
    return Compared(side.part_id, side.category, side.field, number, words, side.known_by)


def shown(value: Any) -> str:
    """A value in words, without its unit."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:g}" if isinstance(value, int | float) else str(value)


def _still_to_decide(around: Surroundings, answer: JoinAnswer, settles: Iterable[Fact]) -> Iterator[str]:
    """What no measurement settles but a decision does, and who decides it."""
    if answer == "not measured yet":
        for fact in dict.fromkeys(each for each in settles if decided(each, around)):
            ask = asked(fact, around)
            yield f"Still to be decided: {ask.title}. {ask.how}"


def _by_mark(tested: Tested) -> bool:
    return bool(tested.mine.within or tested.theirs.within)


def _say(meeting: Meeting, outcome: _Outcome) -> str:
    title, marked = meeting.join.title, any(map(_by_mark, outcome.tested))
    if outcome.answer == "meets":
        return f"{title}: they meet{', by what is marked' if marked else ''}."
    if outcome.answer == "not measured yet":
        return f"{title}: not measured yet."
    mine, theirs = _sides(outcome.tested)
    if outcome.case is None and outcome.answer == "needs care":
        if marked:
            return (
                f"{title}: {mine} against {theirs} by what is marked, too close to tell. Measure before relying on it."
            )
        return f"{title}: the marks do not tell whether they match. Try them together before relying on it."
    words = outcome.case.say if outcome.case else meeting.join.say
    said = words.replace("{mine}", mine).replace("{theirs}", theirs)
    said = _NAMED.sub(lambda found: _words(meeting.read(found[1], False)), said)
    return f"{said} This is by what is marked: measured, it decides." if marked else said


_NAMED = re.compile(r"\{([a-z0-9_.-]+)\}")
"""Any fact of the parts that meet, "spec" or "category.spec", in the words of a join."""


def _sides(tested: Sequence[Tested]) -> tuple[str, str]:
    """What {mine} and {theirs} stand for: the facts of the first failed test of two facts, else of the first test."""
    pairs = [each for each in tested if each.two_facts]
    failed = [each for each in pairs if each.verdict is not Verdict.YES]
    first = next(iter((*failed, *pairs, *tested)), None)
    if first is None:
        return "not known", "not known"
    return _words(first.mine), _words(first.theirs)


def _words(side: Read) -> str:
    return " or ".join(shown(value).replace("_", " ") for value in side.values) or "not known"


def _measures(around: Surroundings, settles: Iterable[Fact]) -> tuple[ToMeasure, ...]:
    met = []
    for fact in dict.fromkeys(settles):
        category = around.library.categories.get(_slot_of(fact, around))
        spec = spec_field(category, fact.key) if category else None
        if spec is not None and spec.decided:
            continue
        plainly = OF_THE_BUILD.get(fact.key, (fact.key.replace("_", " "), ""))
        title, how = (spec.title, spec.measure) if spec else plainly
        met.append(ToMeasure(fact.part_id, fact.category, fact.key, title, how))
    return tuple(met)


def _slot_of(fact: Fact, around: Surroundings) -> str:
    placed = around.by_part.get(fact.part_id) if fact.part_id else None
    return placed.slot if placed else fact.category


def _fingerprint(parts: Iterable[Placed], facts: Iterable[Compared]) -> str:
    fittings = sorted(placed.fitting_id.hex[-8:] for placed in parts)
    read = sorted(f"{fact.part_id}.{fact.field}={fact.number}/{fact.words}" for fact in facts)
    return hashlib.sha256("\n".join([*fittings, *read]).encode()).hexdigest()[:12]


def look(here: Here, name: str, alternative: str | None) -> Judged:
    """Does the join ("category.key", or with "@place") need care, by this alternative or by any (`places.JoinReader`)?

    Without a place the findings at the own end count. Not known where no calculation has the name that it gives.
    """
    key, at, place = name.partition("@")
    owner, _, join_key = key.partition(".")
    category = here.around.library.categories.get(owner)
    join = next((each for each in category.joins if each.key == join_key), None) if category else None
    if join is None or (join.by is not None and join.by not in CALCULATIONS):
        return Judged(Answer.UNKNOWN if join else Answer.NO)
    return one_of_them(
        _cares(each, alternative)
        for each in _kept_findings(here.around, owner, join)
        if (place in (each.place, *each.ends) if at else _same_end(each, here))
    )


def _kept_findings(around: Surroundings, owner: str, join: Join) -> tuple[Finding, ...]:
    """The findings on one join, worked out once however many steps ask for it."""
    return around.keep(("findings of", owner, join.key), lambda: tuple(_findings_of(around, owner, join)))


def _same_end(finding: Finding, here: Here) -> bool:
    return not finding.ends or not here.ends.names or bool(finding.ends & here.ends.names)


def _cares(finding: Finding, alternative: str | None) -> Judged:
    if finding.answer == "not measured yet":
        # what is yet to be decided is measured by nobody, but settles it all the same
        facts = [Fact(each.category, each.field, each.part_id) for each in finding.measure]
        left_open = (each for each in finding.facts if each.number is None and each.words is None)
        facts += [Fact(each.category, each.field, each.part_id) for each in left_open]
        return Judged(Answer.UNKNOWN, settles=tuple(dict.fromkeys(facts)))
    yes = finding.answer == "needs care" and alternative in (None, finding.care)
    return Judged(Answer.YES if yes else Answer.NO, because=(f"{finding.title}: {finding.answer}",))


def with_joins(around: Surroundings) -> Surroundings:
    """The same surroundings, whose conditions can ask for findings."""
    return replace(around, look_at_join=look)


def accepted_ones(found: Iterable[Finding]) -> Mapping[str, Finding]:
    """The conflicts that somebody accepted for exactly these fittings and facts, by their id."""
    return {each.join: each for each in found if each.answer == "conflicts" and each.acceptance is not None}
