"""A library of a dozen categories, small enough to follow by hand, for worked cases of the checklist."""

from collections.abc import Mapping
from typing import Any

from service.domain.lists import Milestone, Stage, Tool
from service.domain.order import reference_order, with_taken
from service.domain.procedure import (
    Category,
    Consumable,
    Fastening,
    Join,
    Library,
    Record,
    SmallPart,
    SpecField,
    Step,
    Task,
    Wear,
)

STAGES = ("bench", "frame", "wheels", "trial", "cut", "cockpit", "brakes", "drive", "inspect")
MILESTONES = {
    "laid-out": "part",
    "frame-passed": "bicycle",
    "shell-cut": "bicycle",
    "bb-in": "bicycle",
    "position-set": "bicycle",
    "fork-held": "bicycle",
    "levers-on": "end",
    "calliper-hung": "end",
    "cable-in": "end",
    "brake-set": "end",
    "wheel-in": "end",
    "tyre-on": "end",
    "rotor-on": "end",
}


def step(key: str, minutes: int = 5, **more: Any) -> Step:
    """A step with a title made from its key."""
    more.setdefault("title", key.replace("-", " ").capitalize())
    more.setdefault("text", "Do it well.")
    return Step(key=key, minutes=minutes, **more)


def number(key: str, **more: Any) -> SpecField:
    """A number field."""
    return SpecField(key=key, title=key, kind="number", measure=f"Measure {key}.", **more)


def choice(key: str, *choices: str) -> SpecField:
    """A choice field."""
    return SpecField(
        key=key, title=key, kind="choice", measure=f"Look at {key}.", choices={each: each for each in choices}
    )


def yes_no(key: str) -> SpecField:
    """A yes-no field."""
    return SpecField(key=key, title=key, kind="yes-no", measure=f"See whether {key}.")


FRAME = Category(
    category="frame",
    title="Frame",
    into=("build",),
    stage="frame",
    wanted="always",
    specs=(
        choice("brake_mount", "flat", "post"),
        yes_no("painted"),
        number("post_mm", nominal=(27.0, 27.2), snap=0.09),
    ),
    used=(step("look", gives=("frame-passed",)),),
    steps=(step("pass", fits=True, needs=("laid-out",), gives=("frame-passed",)),),
)
FORK = Category(
    category="fork",
    title="Fork",
    into=("build",),
    end="front",
    stage="frame",
    specs=(
        choice("brake_mount", "flat", "post"),
        number("steerer_mm"),
        SpecField(key="wanted_mm", title="Wanted", kind="number", measure="By position.", decided=True),
    ),
    steps=(
        step("mark", stage="cut", after=(), needs=("position-set",), when={"steerer_mm": {"min": 200}}),
        step(
            "cut", stage="cut", where="shop", home_with=("hacksaw",), cuts=True, needs=("position-set",),
            when={"steerer_mm": {"min": 200}}, tools=("hacksaw",),
        ),
    ),
)  # fmt: skip
HEADSET = Category(
    category="headset",
    title="Headset",
    into=("build",),
    stage="trial",
    specs=(yes_no("pressed"),),
    disturbs=("position-set",),
    steps=(
        step("press", where="shop", needs=("frame-passed",), when={"pressed": False}, works_on=("headset", "frame")),
        step("trial", fits=("headset", "fork"), needs=("laid-out",), touches=("frame",)),
        step("build", stage="cockpit", needs=("position-set",), gives=("fork-held",), touches=("fork", "frame")),
    ),
)
BOTTOM = Category(
    category="bottom-bracket",
    title="Bottom bracket",
    into=("build",),
    stage="frame",
    steps=(
        step("chase", where="shop", when={"frame.painted": True}, works_on=("frame",), needs=("frame-passed",),
             gives=("shell-cut",)),
        step("wash", where="anywhere", works_on=("frame",), after=("chase",)),
        step("fit", fits=True, needs=("shell-cut",), gives=("bb-in",), touches=("frame",), after=("wash",)),
        step("cure", 0, waits_minutes=720),
    ),
)  # fmt: skip
SEATPOST = Category(
    category="seatpost",
    title="Seat post",
    into=("build",),
    stage="trial",
    specs=(number("diameter_mm", nominal=(27.0, 27.2), snap=0.09),),
    steps=(step("fit", fits=True, touches=("frame",), needs=("frame-passed",)),),
)
LEVER = Category(
    category="brake-lever",
    title="Brake lever",
    into=("build",),
    places=("left", "right"),
    stage="cockpit",
    specs=(choice("works_brake", "front", "rear", "both", "none"),),
    steps=(
        step("fit", fits=True, title="Slide the {end} lever on", needs=("fork-held",), gives=("levers-on",)),
        step("tie", when={"works_brake": "rear"}),
    ),
)
COMBINED = Category(
    category="combined-lever",
    title="Combined lever",
    into=("build",),
    places=("left", "right"),
    stage="cockpit",
    specs=(choice("works_brake", "front", "rear", "none"), choice("works_gear", "front", "rear", "none")),
    stands_in_for={"brake-lever": "works_brake", "shifter": "works_gear"},
    takes=("brake-lever.tie",),
    steps=(step("slide", fits=True, needs=("fork-held",), gives=("levers-on",)),),
)
SHIFTER = Category(
    category="shifter",
    title="Shifter",
    into=("build",),
    places=("left", "right"),
    stage="cockpit",
    specs=(choice("works_gear", "front", "rear", "none"),),
    steps=(step("fit", fits=True),),
)
CALLIPER = Category(
    category="cable-disc-caliper",
    title="Cable disc calliper",
    into=("build",),
    places=("front", "rear"),
    host={"front": "fork", "rear": "frame"},
    stage="brakes",
    wanted={"host.brake_mount": ["flat", "post"]},
    wanted_because="the {end} mount is there for one",
    small_parts=(SmallPart(what="caliper-bolt", amount=2, when={"mount": "post"}),),
    specs=(choice("mount", "flat", "post"), choice("moving_pads", "one", "both")),
    fastenings=(
        Fastening(
            key="bolt", title="Bolts", between=("cable-disc-caliper", "host"), count=2, low_nm=6, high_nm=8,
            basis="from memory",
        ),
    ),
    used=(step("look-over", about="part", reject="A crack."),),
    steps=(
        step("face", stage="frame", where="shop", home_with=("facer",), tools=("facer",), works_on=("host",),
             when={"host.painted": True}, needs=("frame-passed",)),
        step("hang", fits=True, title="Hang the {end} calliper", needs=("fork-held",), gives=("calliper-hung",),
             touches=("host",), tools=("hex:5",)),
        step("set-fixed", one_of="pads", jobs=("assemble", "service"), when={"moving_pads": "one"},
             needs=("cable-in",)),
        step("centre", one_of="pads", jobs=("assemble", "service"), when={"moving_pads": "both"}, after=("hang",),
             needs=("cable-in",)),
        step(
            "tighten", 8, jobs=("assemble", "service"), safety=True, cautions=("The {end} rotor burns.",),
            gives=("brake-set",), fastenings=("bolt",), touches=("rotor",),
            records=(Record(into="check:travel_percent", title="Travel", low=30, high=60),),
            consumables=(Consumable(what="grease", amount=1, unit="dab"),),
        ),
    ),
    tasks=(
        Task(key="take-up", title="Take up", steps=("set-fixed", "centre", "tighten"), done_by=("adjusted",),
             weight="safety", basis="common practice"),
    ),
)  # fmt: skip
PADS = Category(
    category="brake-pads",
    title="Brake pads",
    into=("cable-disc-caliper",),
    stage="brakes",
    disturbs=("brake-set",),
    steps=(
        step("put-in", jobs=("assemble", "replace"), fits=True,
             records=(Record(into="wear:lining_mm", title="Lining"),)),
    ),
    wear=(
        Wear(key="lining_mm", title="Lining", places=("inner", "outer"), direction="shrinks", measure="Calliper.",
             limits=()),
    ),
)  # fmt: skip
CABLE = Category(
    category="brake-cable",
    title="Brake cable",
    into=("build",),
    places=("front", "rear"),
    stage="brakes",
    steps=(
        step("draw", fits=True, needs=("levers-on", "calliper-hung", "position-set"), gives=("cable-in",),
             touches=("brake-lever", "cable-disc-caliper"), cuts=True),
    ),
)  # fmt: skip
WHEEL = Category(
    category="wheel",
    title="Wheel",
    into=("build",),
    places=("front", "rear"),
    stage="wheels",
    specs=(choice("built_by", "home", "factory"),),
    steps=(
        step("lace", 60, about="part", fits=("hub", "rim"), when={"built_by": "home"}),
        step("true", 40, about="part", touches=("hub", "rim"), when={"built_by": "home"}),
        step("in", fits=True, needs=("tyre-on", "rotor-on"), gives=("wheel-in",), touches=("fork",)),
    ),
)
HUB = Category(category="hub", title="Hub", into=("wheel",), stage="wheels", specs=(number("old_mm"),))
RIM = Category(
    category="rim", title="Rim", into=("wheel",), stage="wheels", specs=(number("bsd_mm"),),
    wear=(Wear(key="wall_mm", title="Wall", direction="shrinks", measure="Calliper.", limits=()),),
)  # fmt: skip
TYRE = Category(
    category="tyre",
    title="Tyre",
    into=("wheel",),
    stage="wheels",
    steps=(step("fit", fits=True, about="part", gives=("tyre-on",), touches=("rim",)),),
)
ROTOR = Category(
    category="rotor",
    title="Rotor",
    into=("wheel",),
    stage="wheels",
    specs=(number("thickness_mm"),),
    steps=(
        step("fit", fits=True, about="part", gives=("rotor-on",), touches=("hub",), waits_minutes=1440),
        step("true-up", stage="brakes", needs=("wheel-in",), after=("fit",)),
    ),
)
BICYCLE = Category(
    category="whole-bicycle",
    title="The whole bicycle",
    stage="inspect",
    steps=(
        step("bench", stage="bench", after=(), jobs=("assemble",)),
        step("lay-out", 2, stage="bench", for_each="part", after=("bench",), gives=("laid-out",), jobs=("assemble",)),
        step("weigh", 1, stage="bench", for_each="part", after=("lay-out",), jobs=("assemble",),
             records=(Record(into="mass", title="Mass"),)),
        step("position", 60, stage="cut", after=("weigh",), needs=("wheel-in", "bb-in"), gives=("position-set",),
             touches=("frame", "fork", "headset", "seatpost"), jobs=("assemble",), safety=True,
             records=(Record(into="set-up:saddle_height_mm", title="Saddle height"),
                      Record(into="fork.spec:wanted_mm", title="Steerer wanted"))),
        step("baseline", after=("position",), records="all-wear", jobs=("assemble",)),
        step("audit", after=("position",), needs=("brake-set",), touches=("*",), fastenings="all",
             jobs=("assemble", "check"), safety=True),
        step("second-look", where="shop", after=("audit",), touches=("*",), jobs=("assemble",), safety=True,
             when={"checklist": ["safety skipped", "finding accepted"]}),
        step("ride", after=("audit", "second-look"), touches=("*",), jobs=("assemble",)),
    ),
    tasks=(
        Task(key="monthly", title="Monthly look", steps=("audit",), done_by=("inspected",), weight="safety",
             basis="common practice"),
    ),
)  # fmt: skip
POST_JOIN = Join(
    key="bore", title="Post and bore", with_=("frame",), say="Too loose.", acceptable=True, basis="from memory",
    meets_if=({"mine": "diameter_mm", "is": "equal", "theirs": "frame.post_mm"},),
)  # fmt: skip
ALL = (
    FRAME, FORK, HEADSET, BOTTOM, SEATPOST, LEVER, COMBINED, SHIFTER, CALLIPER, PADS, CABLE, WHEEL, HUB, RIM, TYRE,
    ROTOR, BICYCLE,
)  # fmt: skip


def library(categories: tuple[Category, ...] = ALL, **more: Any) -> Library:
    """The small library, or another set of categories under the same stages and milestones."""
    named: Mapping[str, Category] = {category.category: category for category in categories}
    stages = {key: Stage(key=key, title=key) for key in STAGES}
    milestones = {key: Milestone(key=key, title=f"{key} is reached", per=per) for key, per in MILESTONES.items()}  # type: ignore[arg-type]
    whole = {name: with_taken(category, named) for name, category in named.items()}
    met = reference_order(whole, milestones, stages)
    assert not met.cycles, met.cycles
    return Library(
        categories=named,
        milestones=milestones,
        stages=stages,
        tools={"hex": Tool(title="Hex keys", sizes=("4", "5")), "facer": Tool(title="Facing tool")},
        consumables={},
        sources={},
        factors={},
        symptoms={},
        order={(node.category, node.step, node.place): rank for rank, node in enumerate(met.nodes)},
        digest="small",
        **more,
    )
