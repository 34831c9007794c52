"""Ridden bicycles with wearing parts of the whole library, for tests of wear and what is due of it."""

from typing import Any
from uuid import UUID

from service.domain.due import Due
from tests.domain.garage import Garage, at
from tests.procedures import whole_library

GROWTH, GAUGE = "chain.elongation_percent", "chain.gauge_step"


def chain_bicycle(sprockets: int | None = 9, **more: Any) -> tuple[Garage, UUID, UUID]:
    """A garage, a new chain, a new cassette on the rear wheel."""
    garage = Garage(whole_library())
    wheel = garage.part("wheel")
    cassette, chain = garage.part("cassette", sprockets_count=sprockets), garage.part("chain", **more)
    garage.fit(wheel, at(0), "rear")
    garage.fit(cassette, at(0), "rear", into=wheel)
    garage.fit(chain, at(0))
    return garage, chain, cassette


def ride_daily(garage: Garage, days: range, km: float = 25, conditions: str = "dry") -> None:
    """A ride on each of these days, in the morning."""
    for day in days:
        garage.ride(at(day, 8), km, conditions)


def disc_bicycle(calliper: str = "hydraulic-disc-caliper", **pads: Any) -> tuple[Garage, dict[str, UUID]]:
    """A garage and, at both ends: wheel, tyre, rim, rotor, calliper, pads; and a chain. All new, on the first day."""
    garage = Garage(whole_library())
    named: dict[str, UUID] = {}
    for end in ("front", "rear"):
        wheel, brake = garage.part("wheel"), garage.part(calliper)
        garage.fit(wheel, at(0), end)
        garage.fit(brake, at(0), end)
        named |= {f"{end} wheel": wheel, f"{end} brake": brake}
        for name, host, specs in (
            ("tyre", wheel, {"tread": "touring"}),
            ("rim", wheel, {"rim_brake_track": calliper == "linear-pull-brake", "material": "aluminium"}),
            ("rotor", wheel, {"thickness_mm": 1.8}),
            ("brake-pads", brake, pads),
        ):
            named[f"{end} {name}"] = garage.part(name, **specs)
            garage.fit(named[f"{end} {name}"], at(0), end, into=host)
    named["chain"] = garage.part("chain")
    garage.fit(named["chain"], at(0))
    return garage, named


def of(garage: Garage, day: int, task: str) -> Due:
    """Where one task or dimension stands; of several places the first."""
    return next(each for key, each in sorted(garage.due(day).items()) if key.split("@")[0] == task)
