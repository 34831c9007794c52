"""The front half of a bicycle of the small library: enough to assemble and to brake."""

from typing import Any
from uuid import UUID

from tests.domain.bicycles import Workshop
from tests.domain.small_library import library

LIBRARY = library()


class Bike:
    """Frame, fork, one wheel and its brake; planned, or fitted."""

    def __init__(self, *, planned: bool = True) -> None:
        self.shop = Workshop(LIBRARY)
        self.put = self.shop.choose if planned else self.shop.fit
        self.frame = self.add("frame", brake_mount="flat", painted=True)
        self.fork = self.add("fork", brake_mount="post", steerer_mm=250)
        self.headset = self.add("headset", pressed=False)
        self.bottom = self.add("bottom-bracket")
        self.lever = self.add("brake-lever", "left", works_brake="front")
        self.calliper = self.add("cable-disc-caliper", "front", mount="post", moving_pads="one")
        self.pads = self.add("brake-pads", into=self.calliper)
        self.cable = self.add("brake-cable", "front")
        self.wheel = self.add("wheel", "front", built_by="home")
        self.hub, self.rim = self.add("hub", into=self.wheel), self.add("rim", into=self.wheel)
        self.tyre, self.rotor = self.add("tyre", into=self.wheel), self.add("rotor", into=self.wheel)

    def add(self, category: str, place: str = "", into: UUID | None = None, **specs: Any) -> UUID:
        part = self.shop.part(category, **specs)
        self.put(part, place, into)
        return part


def at(ids: set[str], name: str) -> bool:
    """Is there a step of this name at any place or part?"""
    return any(each == name or each.startswith((name + "@", name + ":")) for each in ids)
