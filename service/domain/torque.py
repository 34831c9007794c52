"""How tight: the range of each fastening from the makers' figures or the general one, and the wrench that covers it."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from uuid import UUID

from service.domain.bicycle import Placed, TorqueFigure, Wrench
from service.domain.bolt import ceiling_nm as ceiling_nm
from service.domain.condition import Answer, Fact, Judged, judge
from service.domain.memory import remembered
from service.domain.own import OWN, is_own
from service.domain.places import Here, Surroundings
from service.domain.procedure import Category, Fastening, Library
from service.domain.proviso import only_if

LOWEST_FIFTH = 0.2
"""A torque wrench is not to be trusted in the lowest fifth of its range: common practice, no source."""
LEAST_SETTING_NM = 1.0
"""Below it a joint is set by feel, never on a wrench: common practice, no source."""


@dataclass(frozen=True, slots=True)
class General:
    """The library's range for a fastening, N·m, whatever the makers say."""

    low_nm: float | None
    high_nm: float | None
    basis: str
    source: str | None


@dataclass(frozen=True, slots=True)
class TorqueShown:
    """One fastening of these parts: what it is tightened to, who says so, and with which of the owner's wrenches.

    No low: only a maximum is known. Neither: by `feel`. `settles`: facts that would decide whether this row of its key
    applies; `only_if`: in words, what they must turn out to be. `care`: makers that exclude one another, or a figure
    far from the general range.
    """

    fastening: str
    title: str
    bolts: int
    low_nm: float | None
    high_nm: float | None
    feel: str | None
    governs: str
    general: General
    wrench: str | None
    thread: str | None = None
    left_hand: bool = False
    dressing: str | None = None
    note: str | None = None
    care: str | None = None
    only_if: str | None = None
    excluded: bool = False
    settles: tuple[Fact, ...] = ()
    parts: tuple[UUID, ...] = ()
    by_maker: bool = False


@dataclass(frozen=True, slots=True)
class Figure:
    """A maker's figure with the words for whose it is."""

    whose: str
    printed: TorqueFigure


@dataclass(frozen=True, slots=True)
class Range:
    """A torque range in N·m with the words for who governs it; `excluded` where the makers leave no common range."""

    low_nm: float | None
    high_nm: float | None
    governs: str
    care: str | None = None
    excluded: bool = False
    by_maker: bool = False


def torque_range(fastening: Fastening, figures: Sequence[Figure], *, own: bool = False) -> Range:
    """The range that holds: the makers' where any joined part has one, else the general one.

    Of several makers the highest low and the lowest high count. A maximum alone takes the general low where that lies
    below it. Makers that exclude one another leave the lowest maximum as a ceiling and no low. `own`: the general range
    is one from a person's own folder.
    """
    if not figures:
        return Range(fastening.low_nm, fastening.high_nm, _general_words(fastening, own=own))
    high = min(figure.printed.high_nm for figure in figures)
    lows = [figure.printed.low_nm for figure in figures if figure.printed.low_nm is not None]
    words = "; ".join(dict.fromkeys(f"{each.whose}: {_as_printed(each.printed)}" for each in figures))
    if lows and max(lows) > high:
        care = f"The makers exclude one another ({words}): stay at or below {high:g} N·m and ask one of them."
        return Range(None, high, words, care, excluded=True, by_maker=True)
    general_low = fastening.low_nm if fastening.low_nm is not None and fastening.low_nm < high else None
    low = max(lows) if lows else general_low
    return Range(low, high, words, _far_off(fastening, low, high), by_maker=True)


def _as_printed(figure: TorqueFigure) -> str:
    return figure.as_printed.strip() or _range_words(figure.low_nm, figure.high_nm)


def _general_words(fastening: Fastening, *, own: bool) -> str:
    if fastening.low_nm is None and fastening.high_nm is None:
        return f"by feel, {OWN if own else fastening.basis}"
    return f"{OWN if own else f'general range, {fastening.basis}'}; the part maker's figure governs once it is entered"


def _far_off(fastening: Fastening, low: float | None, high: float) -> str | None:
    below = fastening.low_nm is not None and high < fastening.low_nm
    above = fastening.high_nm is not None and low is not None and low > fastening.high_nm
    if not below and not above:
        return None
    usual = _range_words(fastening.low_nm, fastening.high_nm)
    return f"Far from what is usual here, {usual}: read the maker's sheet again."


def _range_words(low: float | None, high: float | None) -> str:
    if low is None or high is None:
        return f"at most {high or low or 0:g} N·m"
    return f"{low:g} N·m" if low == high else f"{low:g} to {high:g} N·m"


def wrench_for(low_nm: float | None, high_nm: float | None, wrenches: Iterable[Wrench]) -> Wrench | None:
    """The smallest wrench with a setting that, its tolerance added and taken off, stays within the range; None if none.

    A range narrower than the tolerance (a single figure) wants a wrench that can be set to its middle.
    """
    if high_nm is None or high_nm < LEAST_SETTING_NM:
        return None
    fit = [wrench for wrench in wrenches if _covers(wrench, low_nm or 0.0, high_nm)]
    return min(
        fit, key=lambda wrench: (wrench.high_nm, wrench.tolerance_percent, wrench.title, wrench.id), default=None
    )


def _covers(wrench: Wrench, low_nm: float, high_nm: float) -> bool:
    part = wrench.tolerance_percent / 100
    least, most = low_nm / (1 - part), high_nm / (1 + part)
    if least > most:
        least = most = (low_nm + high_nm) / 2
    trusted = wrench.low_nm + LOWEST_FIFTH * (wrench.high_nm - wrench.low_nm)
    return max(least, trusted) <= min(most, wrench.high_nm)


def wrench_words(wrench: Wrench) -> str:
    """A wrench in words: "2 to 24 N·m, 4 %"."""
    return f"{wrench.low_nm:g} to {wrench.high_nm:g} N·m, {wrench.tolerance_percent:g} %"


@remembered
def fastenings_of(category: Category, library: Library) -> tuple[Fastening, ...]:
    """A category's own fastenings, and those it takes over from what it stands in for."""
    taken = [_taken(name, library) for name in category.takes]
    return (*category.fastenings, *(fastening for met in taken for fastening in met))


def _taken(name: str, library: Library) -> list[Fastening]:
    category, _, key = name.partition(".")
    other = library.categories.get(category)
    return [fastening for fastening in other.fastenings if fastening.key == key] if other else []


def torques_at(here: Here, names: Iterable[str], wrenches: Iterable[Wrench]) -> tuple[TorqueShown, ...]:
    """The fastenings that a step at this place names: "key" of its own part, or "category.key" of parts it meets.

    Of several rows of one key those that hold are shown; all that may hold where a fact is missing.
    """
    wrenches = tuple(wrenches)
    shown: list[TorqueShown] = []
    for name in names:
        category, dot, key = name.rpartition(".")
        spots = _spots(here, category) if dot else [here]
        shown.extend(torque for spot in spots for torque in _shown(spot, key, wrenches))
    return tuple(dict.fromkeys(shown))


def all_torques(around: Surroundings, wrenches: Iterable[Wrench]) -> tuple[TorqueShown, ...]:
    """Every fastening of the bicycle."""
    wrenches = tuple(wrenches)
    spots = [around.here(placed) for placed in around.placed]
    return tuple(torque for spot in spots for torque in _shown(spot, None, wrenches))


def audit_torques(around: Surroundings, wrenches: Iterable[Wrench]) -> Iterator[tuple[Placed, TorqueShown]]:
    """What a torque audit goes over once more, with the part that each belongs to."""
    wrenches = tuple(wrenches)
    return (
        (placed, torque)
        for placed in around.placed
        for row, torque in _rows(around.here(placed), wrenches)
        if (torque.high_nm is not None if row.audit is None else row.audit)
    )


def _spots(here: Here, category: str) -> list[Here]:
    own = here.placed
    if own is not None and category in here.roles:
        return [here]
    return [here.around.here(placed) for placed, _ in here.partners(category)]


def _shown(here: Here, key: str | None, wrenches: Sequence[Wrench]) -> Iterator[TorqueShown]:
    yield from (torque for row, torque in _rows(here, wrenches) if key in (None, row.key))


def _rows(here: Here, wrenches: Sequence[Wrench]) -> Sequence[tuple[Fastening, TorqueShown]]:
    own = here.placed
    if here.category is None or own is None:
        return ()
    return here.around.keep(("torques", here, tuple(wrenches)), lambda: list(_of_part(here, own, wrenches)))


def _of_part(here: Here, own: Placed, wrenches: Sequence[Wrench]) -> Iterator[tuple[Fastening, TorqueShown]]:
    """The fastenings of a part that hold or may hold, each as the library has it."""
    for row in fastenings_of(here.category, here.around.library) if here.category else ():
        judged = judge(row.when, here)
        if judged.answer is not Answer.NO:
            yield row, _one(here, own, row, wrenches, judged)


def _one(here: Here, own: Placed, fastening: Fastening, wrenches: Sequence[Wrench], judged: Judged) -> TorqueShown:
    joined = _joined(here, own, fastening)
    mine = _from_own_folder(fastening, own, here.around.library)
    held = torque_range(fastening, list(_figures(here, own, fastening, joined)), own=mine)
    wrench = wrench_for(held.low_nm, held.high_nm, wrenches)
    return TorqueShown(
        fastening=f"{own.slot}.{fastening.key}",
        title=fastening.title,
        bolts=fastening.count,
        low_nm=held.low_nm,
        high_nm=held.high_nm,
        feel=fastening.feel if held.high_nm is None else None,
        governs=held.governs,
        general=General(fastening.low_nm, fastening.high_nm, OWN if mine else fastening.basis, fastening.source),
        wrench=wrench_words(wrench) if wrench else None,
        thread=fastening.thread,
        left_hand=fastening.left_hand,
        dressing=_dressing(joined, fastening),
        note=fastening.note,
        care=held.care,
        only_if=only_if(fastening.when, here) if judged.answer is Answer.UNKNOWN else None,
        excluded=held.excluded,
        settles=judged.settles,
        parts=tuple(placed.part.id for placed in joined),
        by_maker=held.by_maker,
    )


def _from_own_folder(fastening: Fastening, own: Placed, library: Library) -> bool:
    owners = (own.slot, *_owners(fastening, own, library))
    return any(is_own(library, owner, "fastenings", fastening.key) for owner in owners)


def _joined(here: Here, own: Placed, fastening: Fastening) -> tuple[Placed, ...]:
    """The parts that a fastening holds together: its own one first."""
    met = [own]
    for role in fastening.between:
        if role == "host":
            met.extend(here.hosts())
        elif role not in here.roles:
            met.extend(placed for placed, certain in here.partners(role) if certain)
    return tuple({placed.part.id: placed for placed in met}.values())


def _figures(here: Here, own: Placed, fastening: Fastening, joined: Sequence[Placed]) -> Iterator[Figure]:
    if not any(placed.part.torque_figures for placed in joined):
        return
    library = here.around.library
    roles = dict.fromkeys([*here.roles, *_owners(fastening, own, library)])
    names = {f"{role}.{fastening.key}" for role in roles}
    for placed in joined:
        accepted = names | {fastening.key} if placed is own else names
        for figure in placed.part.torque_figures:
            if figure.fastening in accepted:
                yield Figure(_whose(placed, library), figure)


def _owners(fastening: Fastening, own: Placed, library: Library) -> list[str]:
    category = library.categories.get(own.slot)
    named = [name.partition(".") for name in (category.takes if category else ())]
    return [other for other, _, key in named if key == fastening.key]


def _whose(placed: Placed, library: Library) -> str:
    category = library.categories.get(placed.slot)
    return category.title.lower() if category else placed.slot


def _dressing(joined: Sequence[Placed], fastening: Fastening) -> str | None:
    printed = [
        figure.dressing
        for placed in joined
        for figure in placed.part.torque_figures
        if figure.dressing and figure.fastening.rpartition(".")[2] == fastening.key
    ]
    return "; ".join(dict.fromkeys(printed)) or fastening.dressing
