"""What every bicycle must have: two brakes, a guarded chain, reflectors."""

from collections.abc import Iterable

from service.domain.bicycle import Placed
from service.domain.calculation import Case, Reckoned, Seen, calculation, reckon
from service.domain.condition import Answer

BY_LEVER = ("cable-disc-caliper", "hydraulic-disc-caliper", "linear-pull-brake", "cantilever-brake", "dual-pivot-brake")
UNDER_WAY = ("planned", "assembling")
REFLECTORS = {
    "lights-and-bell.front_reflector": ("a clear one in front", ("clear",)),
    "lights-and-bell.rear_reflector": ("a red one behind", ("red",)),
    "lights-and-bell.side_reflectors": ("both wheels from the side", ("spokes", "tyre_walls", "rims")),
    "pedals.reflectors": ("both faces of each pedal", ("yes",)),
}
"""What is seen at night, in words and as it is entered (16 CFR 1512.16; local rules govern)."""


@calculation(
    reads=("brake-lever.works_brake", "hub-brake.kind", "hub.brake_kind", "single-sprocket.kind"), cares=("fixed-gear",)
)
def two_brakes(seen: Seen) -> Reckoned:
    """One brake on each wheel, each worked by its own lever or by pedalling back (ISO 4210-2).

    A fixed sprocket in place of the rear brake is care: local rules. While the bicycle is planned or assembled there is
    nothing to judge before the first brake and the first lever.
    """
    brakes = [each for role in (*BY_LEVER, "hub-brake") for each in seen.parts(role)]
    back_pedal, fixed = _back_pedal(seen), _fixed(seen)
    rear_by_feet = max(back_pedal, fixed)
    if not seen.complete or (seen.build_state in UNDER_WAY and not (brakes and seen.parts("brake-lever"))):
        return Reckoned("not measured yet", "Brakes and their levers are not all there yet.")
    front = _brake_at(seen, "front", brakes)
    by_hand = _brake_at(seen, "rear", brakes)
    alone = min(front, _lever(seen, "front"))
    both = min(front, by_hand, _apart(seen))
    without_fixed = max(both, min(alone, back_pedal))
    in_all = max(without_fixed, min(alone, fixed))
    words = _words(front, max(by_hand, rear_by_feet), in_all)
    say = "The rear brake is the fixed sprocket: some countries ask for a second brake beside it. Local rules govern."
    no_other = min(Answer(2 - without_fixed), in_all)
    return reckon([Case(Answer(2 - in_all), words)], [Case(no_other, say, "fixed-gear")], "One on each wheel, apart.")


def _words(front: Answer, rear: Answer, in_all: Answer) -> str:
    if in_all is not Answer.NO:
        return ""
    lacking = [end for end, there in (("front", front), ("rear", rear)) if there is Answer.NO]
    if lacking:
        return f"No brake works on the {' and the '.join(lacking)} wheel."
    return "The two brakes do not have a lever each."


def _brake_at(seen: Seen, end: str, brakes: Iterable[Placed]) -> Answer:
    ends = seen.gathering.around.ends
    return max((_yes(end in ends(each).names and not _is_back_pedal(seen, each)) for each in brakes), default=Answer.NO)


def _yes(holds: bool) -> Answer:
    return Answer.YES if holds else Answer.NO


def _is_back_pedal(seen: Seen, brake: Placed) -> bool:
    return brake.slot == "hub-brake" and seen.says("hub-brake.kind", "coaster", of=brake) is Answer.YES


def _back_pedal(seen: Seen) -> Answer:
    answers = [seen.says("hub-brake.kind", "coaster", of=each) for each in seen.parts("hub-brake")]
    hubs = seen.parts("hub", end="rear")
    answers += [seen.says("hub.brake_kind", "coaster", of=each) for each in hubs]
    return max(answers, default=Answer.NO)


def _fixed(seen: Seen) -> Answer:
    sprockets = seen.parts("single-sprocket")
    return max((seen.says("single-sprocket.kind", "fixed", of=each) for each in sprockets), default=Answer.NO)


def _works(seen: Seen, lever: Placed) -> frozenset[str] | None:
    """The ends that a lever brakes; None where nobody said."""
    word = seen.word("brake-lever.works_brake", lever)
    return None if word is None else frozenset({"front", "rear"} if word == "both" else {word})


def _lever(seen: Seen, end: str) -> Answer:
    works = [_works(seen, each) for each in seen.parts("brake-lever")]
    return max((Answer.UNKNOWN if each is None else _yes(end in each) for each in works), default=Answer.NO)


def _apart(seen: Seen) -> Answer:
    """Is there a lever for each end, and not the same one?"""
    works = [_works(seen, each) for each in seen.parts("brake-lever")]
    pairs = [(a, b) for n, a in enumerate(works) for m, b in enumerate(works) if n != m]
    return max((min(_for(a, "front"), _for(b, "rear")) for a, b in pairs), default=Answer.NO)


def _for(works: frozenset[str] | None, end: str) -> Answer:
    return Answer.UNKNOWN if works is None else _yes(end in works)


@calculation(reads=("crankset.rings_count", "chain-guide.kind"), cares=("none-fitted",))
def chain_guard(seen: Seen) -> Reckoned:
    """One ring and one sprocket ask for a cover over the upper run and the ring (16 CFR 1512.9); without it: care."""
    rings = seen.number("crankset.rings_count")
    covers = [seen.says("chain-guide.kind", "cover", of=each) for each in seen.parts("chain-guide")]
    open_run = min(Answer(2 - rings.over(1)), Answer(2 - max(covers, default=Answer.NO)))
    say = "Nothing covers chain or belt: a trouser clip, laces tucked in, fingers away while it turns."
    return reckon([], [Case(open_run, say, "none-fitted")], "The chain is covered, or has more than one ring.")


@calculation(
    reads=(*REFLECTORS, "lights-and-bell.local_rules_checked"),
    cares=("local-rules", "some-missing"),
)
def reflectors(seen: Seen) -> Reckoned:
    """Clear in front, red behind, both wheels from the side, each pedal; then the local rules, which govern."""
    answers = {words: _shown(seen, name, right) for name, (words, right) in REFLECTORS.items()}
    if not seen.complete:
        return Reckoned("not measured yet", "")
    lacking = [words for words, there in answers.items() if there is Answer.NO]
    rules = seen.says("lights-and-bell.local_rules_checked", "yes") if seen.parts("lights-and-bell") else Answer.NO
    unread = "Nobody has read what the local rules ask for: lamps, colours, bell, when they must be on the bicycle."
    return reckon(
        [],
        [
            Case(Answer(2 - min(answers.values())), _unseen(lacking), "some-missing"),
            Case(Answer(2 - rules), unread, "local-rules"),
        ],
        "Front, rear, both wheels and the pedals are seen.",
    )


def _unseen(lacking: Iterable[str]) -> str:
    return f"Not there: {', '.join(lacking)}. Not seen at night from that side: fit them, as local rules ask."


def _shown(seen: Seen, name: str, right: tuple[str, ...]) -> Answer:
    parts = seen.parts(name.partition(".")[0])
    return max((seen.says(name, *right, of=each) for each in parts), default=Answer.NO)
