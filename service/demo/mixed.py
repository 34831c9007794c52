"""The mixed-surface bicycle of the demo: on the plan, its assembly begun, a visit to the shop ahead."""

from collections.abc import Callable
from datetime import timedelta
from uuid import UUID

from service.demo.mixed_parts import candidates, mixed_parts
from service.demo.scene import Scene, Stock, add_parts, plan, plan_all
from service.demo.tourer import Retired
from service.domain.steps import Checklist, ChecklistStep
from service.records import builds, checklists
from service.schemas.builds import BuildSent
from service.schemas.checklists import ChecklistStarted, MarkSent

BEGAN = 9
"""Days ago."""
MASSES_G = {
    "frame": 2140,
    "fork": 1060,
    "rim": 560,
    "hub": 310,
    "spokes": 118,
    "tyre": 590,
    "chain": 262,
    "saddle": 305,
}
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
            note="For gravel, and the way to work.",
        )
        build, _ = builds.add_build(scene.session, scene.who, sent)
    stock = add_parts(scene, mixed_parts(scene.day(0)))
    plan_all(scene, build.id, stock)
    for key in ("crankset", "pedals"):
        plan(scene, build.id, retired.stock[key])
    _plan_candidates(scene, build.id, stock)
    with scene.action():
        job, _ = checklists.start_job(
            scene.session,
            scene.who,
            build.id,
            ChecklistStarted(job="assemble"),
            library=scene.library,
            now=scene.at(BEGAN),
        )
    _tick_what_is_done(scene, job.id)
    return build.id, job.id


def _plan_candidates(scene: Scene, build_id: UUID, stock: Stock) -> None:
    for category, place, sent in candidates():
        into = stock[f"wheel@{place}"] if category == "tyre" else None
        held = add_parts(scene, {category: sent})
        plan(scene, build_id, held[category], "" if into else place, into=into, chosen=False)


def _tick_what_is_done(scene: Scene, job_id: UUID) -> None:
    """Each part taken in, the used frame and fork looked over, both wheels laced and the rear one trued."""
    _, _, checklist = checklists.draw(scene.session, scene.who, job_id, library=scene.library, now=scene.now)
    moment = scene.at(BEGAN)
    for wanted in (_at_the_bench, _looks, _lacing):
        while steps := _ready(checklist, wanted):
            marks = {}
            for step in steps:
                moment += timedelta(minutes=max(1, step.minutes))
                marks[step.id] = MarkSent(fingerprint=step.fingerprint, at=moment, records=_records(step))
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


def _records(step: ChecklistStep) -> dict[str, float | str]:
    """What was written down: a figure in the middle of what is right, and masses."""
    written: dict[str, float | str] = {}
    for each in step.records:
        if each.into == "mass" and step.category in MASSES_G:
            written[each.key] = MASSES_G[step.category]
        elif each.into.startswith("check:") and each.low is not None and each.high is not None:
            written[each.key] = round((each.low + each.high) / 2, 2)
    return written
