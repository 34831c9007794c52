"""The mixed-surface bicycle of the demo: on the plan, its assembly begun, a visit to the shop ahead."""

from collections.abc import Callable, Mapping
from datetime import timedelta
from uuid import UUID

from service.demo.mixed_parts import candidates, mixed_parts
from service.demo.scene import Scene, Stock, add_parts, plan, plan_all
from service.demo.tourer import Retired
from service.domain.steps import Checklist, ChecklistStep
from service.records import builds, checklists, expenses, views
from service.records.accepting import accept
from service.schemas.builds import AcceptanceSent, BuildSent
from service.schemas.checklists import ChecklistStarted, MarkSent
from service.schemas.fields import Money
from service.schemas.worth import ExpenseKind, ExpenseSent

BEGAN = 9
"""Days ago."""
MASSES_G: Mapping[str, float] = {
    "frame": 2140,
    "fork": 1060,
    "bottom-bracket": 94,
    "cassette": 372,
    "chain": 262,
    "rear-derailleur": 296,
    "shifter": 128,
    "crankset": 812,
    "pedals": 418,
    "hub@front": 196,
    "hub@rear": 372,
    "rim": 560,
    "spokes": 118,
    "rim-tape": 14,
    "tyre": 590,
    "axle": 61,
    "cable-disc-caliper": 191,
    "brake-lever": 92,
    "stem": 148,
    "handlebar": 286,
    "seatpost": 274,
    "saddle": 305,
    "grips": 88,
}
"""What the scale said; the rest nobody put on it."""
FAMILIES = "shifter.shift-index@right"
"""Shifter and rear derailleur are not marked for one another."""
Wanted = Callable[[ChecklistStep], bool]


def begin_to_assemble(scene: Scene, retired: Retired) -> tuple[UUID, UUID]:
    """Enters parts and plan, starts the job and ticks what was done so far; answers the build and the job."""
    with scene.action():
        sent = BuildSent(
            name="Grey all-road",
            use="mixed",
            rider_mass_g=78000,
            load_g=12000,
            front_brake_hand="left",
            compare_price=Money(minor=149000, currency="EUR"),
            note="For gravel, and the way to work.",
        )
        build, _ = builds.add_build(scene.session, scene.who, sent)
    stock = add_parts(scene, mixed_parts(scene.day(0)))
    plan_all(scene, build.id, stock)
    for key in ("crankset", "pedals"):
        plan(scene, build.id, retired.stock[key])
    _plan_candidates(scene, build.id, stock)
    _accept(scene, build.id)
    _spend(scene, build.id)
    with scene.action():
        job, _ = checklists.start_job(
            scene.session,
            scene.who,
            build.id,
            ChecklistStarted(job="assemble"),
            library=scene.library,
            now=scene.at(BEGAN),
        )
    weighed: dict[UUID, float] = {}
    for key, part_id in (*retired.stock.ids.items(), *stock.ids.items()):
        grams = MASSES_G.get(key) or MASSES_G.get(key.partition("@")[0])
        weighed |= {part_id: grams} if grams else {}
    _tick_what_is_done(scene, job.id, weighed)
    return build.id, job.id


def _plan_candidates(scene: Scene, build_id: UUID, stock: Stock) -> None:
    for category, place, sent in candidates():
        into = stock[f"wheel@{place}"] if category == "tyre" else None
        held = add_parts(scene, {category: sent})
        plan(scene, build_id, held[category], "" if into else place, into=into, chosen=False)


def _accept(scene: Scene, build_id: UUID) -> None:
    """The one conflict: accepted with a reason, which adds a step."""
    found = views.findings_of(scene.session, scene.who, build_id, scene.library)
    reason = "They shifted ten sprockets together on the bicycle that they came from."
    for each in found:
        if each.join.startswith(FAMILIES) and each.answer == "conflicts":
            sent = AcceptanceSent(reason=reason, fingerprint=each.fingerprint)
            with scene.action():
                accept(
                    scene.session, scene.who, build_id, each.join, sent, library=scene.library, now=scene.at(BEGAN, 17)
                )


def _spend(scene: Scene, build_id: UUID) -> None:
    spent: tuple[tuple[ExpenseKind, int, int, str], ...] = (
        ("consumable", 2180, 11, "Grease, sealant, tape"),
        ("tool", 1890, 10, "Spoke ruler, nipple driver"),
        ("carriage", 690, 4, "Headset"),
    )
    for kind, minor, ago, note in spent:
        sent = ExpenseSent(kind=kind, amount=Money(minor=minor, currency="EUR"), day=scene.day(ago), note=note)
        with scene.action():
            expenses.add_expense(scene.session, scene.who, build_id, sent, now=scene.now)


def _tick_what_is_done(scene: Scene, job_id: UUID, weighed: Mapping[UUID, float]) -> None:
    """Each part taken in, the used frame and fork looked over, both wheels laced and the rear one trued."""
    _, _, checklist = checklists.draw(scene.session, scene.who, job_id, library=scene.library, now=scene.now)
    moment = scene.at(BEGAN)
    for wanted in (_at_the_bench, _looks, _lacing):
        while steps := _ready(checklist, wanted):
            marks = {}
            for step in steps:
                moment += timedelta(minutes=max(1, step.minutes))
                marks[step.id] = MarkSent(fingerprint=step.fingerprint, at=moment, records=_records(step, weighed))
            with scene.action():
                checklist = checklists.tick_steps(
                    scene.session, scene.who, job_id, marks, library=scene.library, now=scene.now
                )
        moment += timedelta(days=2)


def _at_the_bench(step: ChecklistStep) -> bool:
    return step.stage == "bench" or step.id.startswith(("whole-bicycle.clean-used:", "whole-bicycle.wipe-used:"))


def _looks(step: ChecklistStep) -> bool:
    verdicts = ("whole-bicycle.used-verdict", "fork.inspect", "frame.inspect")
    return step.id in verdicts or (step.look and step.category in ("frame", "fork", "hub"))


def _lacing(step: ChecklistStep) -> bool:
    name, _, place = step.id.partition("@")
    both = ("wheel.measure", "wheel.check-spokes", "wheel.lace")
    return name in both or (place == "rear" and name in ("wheel.true-and-dish", "wheel.relieve"))


def _ready(checklist: Checklist, wanted: Wanted) -> list[ChecklistStep]:
    """The open steps of this kind that nothing holds up."""
    return [step for step in checklist.steps if step.state == "open" and wanted(step) and not step.blocked_by]


def _records(step: ChecklistStep, weighed: Mapping[UUID, float]) -> dict[str, float | str]:
    """What was written down: a figure in the middle of what is right, and masses."""
    written: dict[str, float | str] = {}
    for each in step.records:
        if each.into == "mass" and step.parts and step.parts[0] in weighed:
            written[each.key] = weighed[step.parts[0]]
        elif each.into.startswith("check:") and each.low is not None and each.high is not None:
            written[each.key] = round((each.low + each.high) / 2, 2)
    return written
