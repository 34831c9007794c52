"""What a bicycle may be loaded with: pressure of a tyre, mass of rider and luggage, load on the racks."""

from service.domain.bicycle import Placed
from service.domain.calculation import Case, Reckoned, Seen, calculation, reckon
from service.domain.condition import Answer
from service.domain.mass import masses_of
from service.domain.procedure import Library
from service.domain.span import SOME, Span, exactly, largest, said
from service.domain.tyre import HOOKLESS_KPA, ceiling

CLOSE_SHARE = 0.05
"""So near under a limit needs care (common practice)."""
WHEELS, BARS = ("wheel", "factory-wheel"), ("handlebar", "drop-bar", "one-piece-bar")
ASKED_OF = frozenset({*WHEELS, *BARS, "seatpost", "dropper-post", "saddle"})
"""Light ones of these are made with a limit, so that an unknown one needs care (common practice)."""
CLIPS_SHARE = 0.5
"""What a rack on clips carries of its printed load (common practice)."""
KG = 1000.0

TYRE_MAX, TYRE_MIN, PLANNED = "pressure_max_kpa", "pressure_min_kpa", "pressure_planned_kpa"
RIM_MAX, TAPE_MAX, TAPE_KIND = "rim.max_pressure_kpa", "rim-tape.pressure_max_kpa", "rim-tape.kind"


@calculation(
    reads=(TYRE_MAX, TYRE_MIN, PLANNED, "rim.bead", RIM_MAX, TAPE_MAX, TAPE_KIND),
    cares=("maximum-unknown", "close-under"),
)
def pressure_ceiling(seen: Seen) -> Reckoned:
    """The lowest maximum of tyre, rim and tape, 500 kPa on a hookless rim: over the tyre's least and what is planned.

    ISO 4210-1 (2.27). A maximum that nobody knows needs care: the lowest known one is used.
    """
    limits = {"tyre": seen.number(TYRE_MAX, asked=False), "rim": seen.number(RIM_MAX, asked=False)}
    strip = seen.says(TAPE_KIND, "tube_strip", asked=False)
    if seen.parts("rim-tape") and strip is not Answer.YES:  # a strip under a tube bears no limit
        limits["rim tape"] = seen.number(TAPE_MAX, asked=False)
    hookless = seen.says("rim.bead", "hookless")
    known = {who: kpa.low if kpa.known else None for who, kpa in limits.items()}
    found = ceiling(known, hookless=hookless is Answer.YES)
    most = SOME if found.kpa is None else Span(0.0 if found.not_known else found.kpa, found.kpa)
    planned, least = seen.number(PLANNED), seen.number(TYRE_MIN, asked=False)
    names = " and ".join(found.not_known)
    allowed = f"At most {found.kpa:g} kPa ({found.governs})" if found.kpa else "No maximum is known"
    asked, wanted = f"the tyre asks for {said(least, 'kPa')} at least", f"{said(planned, 'kPa')} are planned"
    too_much = [
        Case(_certain(least.over(most)), f"{allowed}, and {asked}."),
        Case(_certain(planned.over(most)), f"{allowed}, {wanted}."),
        Case(_certain(planned.under(least)), f"{wanted}, and {asked}."),
        Case(Answer.NO if planned.known else Answer.UNKNOWN, ""),
        Case(min(hookless, planned.over(HOOKLESS_KPA)), ""),
    ]
    unknown = f"{allowed}."
    close = exactly(most.high).times(1 - CLOSE_SHARE)
    cares = [
        Case(
            Answer.YES if found.not_known else Answer.NO,
            f"{allowed}; no mark of the {names} is known: look for one, and stay well under.",
            "maximum-unknown",
        ),
        Case(planned.over(close), f"{allowed}, {wanted}: no more than that, by a gauge you trust.", "close-under"),
    ]
    return reckon(too_much, cares, f"{allowed}, {wanted}.", unknown=unknown)


def _certain(answer: Answer) -> Answer:
    """A limit that nobody knows asks for care, not for a measurement: the lowest that is known is used."""
    return Answer.YES if answer is Answer.YES else Answer.NO


@calculation(
    reads=("*.max_rider_mass_kg", "*.max_system_mass_kg", "build.rider_mass_g", "build.load_g", "build.mass_weighed_g"),
    cares=("limit-unknown", "close"),
)
def mass_limit(seen: Seen) -> Reckoned:
    """The rider, and rider + bicycle + load, against the lowest limit of any part; within 5 % of it needs care.

    The bicycle's mass as weighed, else at least the sum of its parts' masses.
    """
    rider = seen.number("build.rider_mass_g").times(1 / KG)
    everything = rider + seen.number("build.load_g").times(1 / KG) + _bicycle_kg(seen)
    (most_rider, of_rider), (most_all, of_all) = _lowest(seen, "max_rider_mass_kg"), _lowest(seen, "max_system_mass_kg")
    shown = f"Rider {said(rider, 'kg')}, with bicycle and load {said(everything, 'kg')}"
    limits = _limits(of_rider, of_all)
    return reckon(
        [
            Case(rider.over(most_rider), f"{shown}; {limits}."),
            Case(everything.over(most_all), f"{shown}; {limits}."),
        ],
        [
            Case(
                Answer.YES if _unlimited(seen) else Answer.NO,
                f"{shown}; {limits}. Read the papers of these too: {', '.join(_unlimited(seen))}.",
                "limit-unknown",
            ),
            Case(rider.over(most_rider.times(1 - CLOSE_SHARE)), f"{shown}; {limits}: close under.", "close"),
            Case(everything.over(most_all.times(1 - CLOSE_SHARE)), f"{shown}; {limits}: close under.", "close"),
        ],
        f"{shown}; {limits}.",
        unknown=f"{shown}; {limits}.",
    )


def _limits(of_rider: str, of_all: str) -> str:
    named = [f"{limit} for {what}" for limit, what in ((of_rider, "the rider"), (of_all, "all together")) if limit]
    return f"allowed are at most {' and '.join(named)}" if named else "no limit of any part is known"


def _lowest(seen: Seen, key: str) -> tuple[Span, str]:
    """The lowest limit of this kind, and in words with the part that has it."""
    library = seen.gathering.around.library
    parts = [
        (seen.number(f"*.{key}", each, asked=False), each) for each in seen.every_part() if seen.declares(key, each)
    ]
    known = [(limit.low, _called(each, library)) for limit, each in parts if limit.known]
    if not known:
        return exactly(float("inf")), ""
    least, name = min(known)
    return exactly(least), f"{least:g} kg ({name})"


def _bicycle_kg(seen: Seen) -> Span:
    weighed = seen.number("build.mass_weighed_g", asked=False)
    if weighed.known:
        return weighed.times(1 / KG)
    masses = list(masses_of(tuple(seen.every_part())))
    known = sum(each.mass_g or 0.0 for each in masses) / KG
    if known and all(each.known_by != "not known" for each in masses):
        return exactly(known)
    seen.number("build.mass_weighed_g")
    return Span(known, float("inf"))


def _unlimited(seen: Seen) -> list[str]:
    """The parts made with a limit where it is light, of which none is known."""
    without = (each for each in seen.every_part() if each.slot in ASKED_OF and not _has_limit(seen, each))
    library = seen.gathering.around.library
    return list(dict.fromkeys(_called(each, library) for each in without))


def _called(placed: Placed, library: Library) -> str:
    """The part's own name, or its category's title where it has none."""
    category = library.categories.get(placed.slot)
    named = placed.part.name not in ("", placed.part.category)
    return placed.part.name if named or category is None else category.title.lower()


def _has_limit(seen: Seen, placed: Placed) -> bool:
    keys = [key for key in ("max_rider_mass_kg", "max_system_mass_kg") if seen.declares(key, placed)]
    return not keys or any(seen.number(f"*.{key}", placed, asked=False).known for key in keys)


@calculation(reads=("load_kg", "fixing", "build.load_g"), cares=("two-racks", "clips-half"))
def rack_load(seen: Seen) -> Reckoned:
    """The planned load against what all racks carry together, half of the printed load on clips (common practice)."""
    load = seen.number("build.load_g").times(1 / KG)
    carried = [_carries(seen, each) for each in seen.parts()]
    together = Span(sum(each.low for each in carried), sum(each.high for each in carried))
    clipped = [seen.says("fixing", "p_clips", of=each) for each in seen.parts()]
    shown = f"{said(load, 'kg')} are planned, the racks carry {said(together, 'kg')}"
    return reckon(
        [Case(load.over(together), f"{shown}.")],
        [
            Case(
                load.over(largest(carried)),
                f"{shown} only together, {said(largest(carried), 'kg')} at most on one: share it out, low down.",
                "two-racks",
            ),
            Case(max(clipped), f"{shown}: on clips half the printed load; look at them after each ride.", "clips-half"),
        ],
        f"{shown}.",
    )


def _carries(seen: Seen, rack: Placed) -> Span:
    printed = seen.number("load_kg", rack)
    on_clips = seen.says("fixing", "p_clips", of=rack)
    if on_clips is Answer.YES:
        return printed.times(CLIPS_SHARE)
    return printed if on_clips is Answer.NO else Span(printed.low * CLIPS_SHARE, printed.high)
