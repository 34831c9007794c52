"""Every fastening of a bicycle on one sheet: range, who governs it, the wrench, its setting, what the bolt takes."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from uuid import UUID

from service.domain.bicycle import Bicycle, Wrench
from service.domain.bolt import ceiling_nm
from service.domain.inputs import Input, NotKnown
from service.domain.places import Surroundings, surroundings
from service.domain.procedure import Library
from service.domain.torque import TorqueShown, all_torques, wrench_for, wrench_words
from service.domain.wrench import extension_setting_nm

GENERAL_CLASS = "8.8"
"""The class of bolt that is reckoned with where nobody read one: the weakest steel that is usual on bicycles."""


@dataclass(frozen=True, slots=True)
class Extension:
    """What makes the owner's wrench longer: drive to the middle of the grip, drive to bolt, mm, and their angle."""

    wrench_mm: float
    extension_mm: float
    angle_deg: float = 0.0


@dataclass(frozen=True, slots=True)
class Tightening:
    """One fastening. N·m throughout; `set_low_nm`, `set_high_nm` is what to set with the extension on.

    `wrench` is one of the owner's that keeps within the range with its tolerance; with an extension, within what is
    set. `bolt_most_nm` is what a dry steel bolt of `bolt_class` takes in steel: the tapped part may take less.
    """

    fastening: str
    title: str
    place: str
    bolts_count: int
    thread: str | None
    left_hand: bool
    low_nm: float | None
    high_nm: float | None
    feel: str | None
    governs: str
    by_maker: bool
    wrench: str | None
    no_wrench: bool
    set_low_nm: float | None
    set_high_nm: float | None
    bolt_most_nm: float | None
    over_bolt: bool
    dressing: str | None
    note: str | None
    care: str | None
    only_if: str | None
    parts: tuple[UUID, ...]


@dataclass(frozen=True, slots=True)
class TorqueSheet:
    """Every fastening, and how many of them go by the library's general range until the maker's figure is entered."""

    fastenings: tuple[Tightening, ...]
    general_count: int
    without_wrench_count: int
    bolt_class: str
    assumes: tuple[str, ...]
    inputs: tuple[Input, ...]
    not_known: tuple[NotKnown, ...]


def torque_sheet(
    bicycle: Bicycle, library: Library, *, extension: Extension | None = None, bolt_class: str = GENERAL_CLASS
) -> TorqueSheet:
    """The sheet for these parts and the workshop's wrenches. Raises Refusal for an extension longer than its wrench."""
    _set(1.0, extension)  # what no fastening here would refuse is refused all the same
    around = surroundings(bicycle, library)
    wrenches = bicycle.bench.wrenches
    found = tuple(_one(each, around, wrenches, extension, bolt_class) for each in all_torques(around, wrenches))
    assumes = [f"Bolts are taken for class {bolt_class}, dry, steel in steel, to three quarters of their proof load."]
    if extension is not None:
        assumes.append("Every fastening is set with the extension on; where it is left off, the range itself is set.")
    return TorqueSheet(
        fastenings=found,
        general_count=sum(each.high_nm is not None and not each.by_maker for each in found),
        without_wrench_count=sum(each.no_wrench for each in found),
        bolt_class=bolt_class,
        assumes=tuple(assumes),
        inputs=tuple(_figures(bicycle)),
        not_known=tuple(_unread(each, around) for each in found if each.high_nm is not None and not each.by_maker),
    )


def _figures(bicycle: Bicycle) -> Iterator[Input]:
    """Every maker's figure that is entered at a part of the bicycle."""
    for placed in bicycle.placed:
        for figure in placed.part.torque_figures:
            printed = figure.as_printed or f"at most {figure.high_nm:g} N·m"
            name, slot = figure.fastening, placed.slot
            yield Input(placed.part.id, slot, placed.place, name, "Maker's torque", figure.high_nm, printed, "maker")


def _unread(row: Tightening, around: Surroundings) -> NotKnown:
    own = around.by_part.get(row.parts[0]) if row.parts else None
    slot = own.slot if own is not None else row.fastening.partition(".")[0]
    how = "On the part or in its leaflet; until it is entered the general range is all there is."
    part = own.part.id if own is not None else None
    return NotKnown(part, slot, row.place, row.fastening, f"{row.title}: the maker's torque", how)


def _one(
    torque: TorqueShown,
    around: Surroundings,
    wrenches: Iterable[Wrench],
    extension: Extension | None,
    bolt_class: str,
) -> Tightening:
    low, high = (_set(torque.low_nm, extension), _set(torque.high_nm, extension))
    wrench = wrench_for(low, high, wrenches)
    most = ceiling_nm(torque.thread, bolt_class) if torque.thread else None
    placed = around.by_part.get(torque.parts[0]) if torque.parts else None
    return Tightening(
        fastening=torque.fastening,
        title=torque.title,
        place=placed.place if placed is not None else "",
        bolts_count=torque.bolts,
        thread=torque.thread,
        left_hand=torque.left_hand,
        low_nm=torque.low_nm,
        high_nm=torque.high_nm,
        feel=torque.feel,
        governs=torque.governs,
        by_maker=torque.by_maker,
        wrench=wrench_words(wrench) if wrench is not None else None,
        no_wrench=torque.high_nm is not None and wrench is None,
        set_low_nm=low if extension is not None else None,
        set_high_nm=high if extension is not None else None,
        bolt_most_nm=most,
        over_bolt=most is not None and torque.high_nm is not None and torque.high_nm > most,
        dressing=torque.dressing,
        note=torque.note,
        care=torque.care,
        only_if=torque.only_if,
        parts=torque.parts,
    )


def _set(torque_nm: float | None, extension: Extension | None) -> float | None:
    if torque_nm is None or extension is None:
        return torque_nm
    return extension_setting_nm(torque_nm, extension.wrench_mm, extension.extension_mm, extension.angle_deg)
