"""How long a chain this bicycle wants, what of its chain is to be cut off, and whether the slack is taken up."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from service.domain.bicycle import Bicycle
from service.domain.chain import links_approximate, links_exact, links_past_derailleur, links_to_fit, slack_teeth
from service.domain.drive import Drive, read_drive
from service.domain.inputs import Input, NotKnown, Reader
from service.domain.places import surroundings
from service.domain.procedure import Library
from service.errors import Refusal

LEAST_TEETH = 6
ChainAnswer = Literal["long enough", "too short", "not known"]
SlackAnswer = Literal["taken up", "never ride small with small", "too much", "not known"]
CARE_TEETH = 4
"""So much beyond the derailleur's capacity can be lived with, small ring on small sprocket unused (common practice)."""


@dataclass(frozen=True, slots=True)
class ChainNeeded:
    """Links, half an inch each. `offcut_links` is what to take off the chain there is; less than nothing: it is short.

    The taut run is over the largest ring and sprocket, one inch comes on top of it with a derailleur.
    `slack_teeth` is what hangs loose on the smallest ring and sprocket, counted as a derailleur's capacity is, with a
    chain no longer than it must be; making it even adds up to four, which derailleurs are made for.
    """

    large_ring_teeth: int | None
    large_sprocket_teeth: int | None
    small_ring_teeth: int | None
    small_sprocket_teeth: int | None
    chainstay_mm: float | None
    derailleur: bool
    links_approximate: float | None
    links_exact: float | None
    links_needed_count: int | None
    links_there_count: int | None
    offcut_links_count: int | None
    answer: ChainAnswer
    slack_teeth: float | None
    capacity_teeth: int | None
    slack_answer: SlackAnswer
    cannot: str | None
    assumes: tuple[str, ...]
    inputs: tuple[Input, ...]
    not_known: tuple[NotKnown, ...]


@dataclass(frozen=True, slots=True)
class _Links:
    approximate: float
    exact: float
    needed: int
    slack: float


def chain_needed(bicycle: Bicycle, library: Library) -> ChainNeeded:
    """The chain with these parts; where ring and sprocket would overlap, `cannot` says so and no figure is given."""
    reader = Reader(surroundings(bicycle, library))
    drive = read_drive(reader)
    frame, chain = reader.one("frame"), reader.one("chain")
    if frame is None:
        reader.misses("frame", "chainstay_mm")
    stay_mm = reader.number(frame, "chainstay_mm", least=100)
    there = _links_there(reader, chain is not None)
    capacity = reader.whole(reader.one("rear-derailleur"), "capacity_teeth") if drive.derailleur else None
    found, cannot = _links(drive, stay_mm)
    needed = found.needed if found else None
    offcut = None if needed is None or there is None else there - needed
    slack = found.slack if found and drive.derailleur else None
    return ChainNeeded(
        large_ring_teeth=drive.rings[-1] if drive.every_ring else None,
        large_sprocket_teeth=drive.sprockets[-1] if drive.sprockets else None,
        small_ring_teeth=drive.rings[0] if drive.every_ring else None,
        small_sprocket_teeth=drive.sprockets[0] if drive.sprockets else None,
        chainstay_mm=stay_mm,
        derailleur=drive.derailleur,
        links_approximate=found.approximate if found else None,
        links_exact=found.exact if found else None,
        links_needed_count=needed,
        links_there_count=there,
        offcut_links_count=offcut,
        answer="not known" if offcut is None else "long enough" if offcut >= 0 else "too short",
        slack_teeth=slack,
        capacity_teeth=capacity,
        slack_answer=_slack_answer(slack, capacity),
        cannot=cannot,
        assumes=tuple(_assumes(reader, drive)),
        inputs=reader.inputs,
        not_known=reader.not_known,
    )


def _links_there(reader: Reader, fitted: bool) -> int | None:
    if reader.parts("belt"):
        return None
    if not fitted:
        reader.misses("chain", "links_count")
    return reader.whole(reader.one("chain"), "links_count")


def _links(drive: Drive, stay_mm: float | None) -> tuple[_Links | None, str | None]:
    if not drive.every_ring or not drive.sprockets or stay_mm is None:
        return None, None
    large, small = (drive.rings[-1], drive.sprockets[-1]), (drive.rings[0], drive.sprockets[0])
    if min(*large, *small) < LEAST_TEETH:
        return None, f"A chain wraps round {LEAST_TEETH} teeth or more: count the teeth again."
    try:
        exact = links_exact(*large, stay_mm)
        needed = links_past_derailleur(*large, stay_mm) if drive.derailleur else links_to_fit(exact)
        return _Links(links_approximate(*large, stay_mm), exact, needed, slack_teeth(exact + 2, *small, stay_mm)), None
    except Refusal as refusal:
        return None, str(refusal)


def _slack_answer(slack: float | None, capacity: int | None) -> SlackAnswer:
    if slack is None or capacity is None:
        return "not known"
    if slack <= capacity:
        return "taken up"
    return "never ride small with small" if slack <= capacity + CARE_TEETH else "too much"


def _assumes(reader: Reader, drive: Drive) -> Iterator[str]:
    if drive.derailleur:
        yield "Round the largest ring and the largest sprocket, past the derailleur, with one inch (two links) more."
    else:
        yield "A taut run over ring and sprocket; dropout, eccentric or tensioner takes up the rest."
    if reader.words(reader.one("frame"), "rear_suspension", asked=False) == "yes":
        yield "The rear suspension moves the axle away: measure the chainstay where it is longest."
