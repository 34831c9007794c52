"""A small library whose tasks have every way of running, and a bicycle of one part, for tests of what is due."""

from typing import Any
from uuid import UUID

from service.domain.lists import Factors
from service.domain.procedure import Span
from tests.domain.garage import Garage, at, category, choice, library, task

EVERY = Span(km=1000, days=200)
SELDOM = Span(km=2000, days=180)
SHOP = library(
    category("whole-bicycle", tasks=(
        task("monthly", every=Span(km=500, days=30, wet_days=14), weight="safety", restarts=("chain.clean",)),
        task("after-crash", after=("crash",), weight="safety", done_by=("inspected",)),
        task("after-wet", after=("wet",)),
        task("after-storage", after=("stored",), weight="safety"),
        task("after-travel", after=("travelled",), weight="safety"),
    )),
    category("frame"),
    category("bar", tasks=(task("look", every=Span(days=365), after=("crash",), weight="safety"),)),
    category("wheel", places=("front", "rear"), tasks=(task("retention", after=("refitted",), weight="safety"),)),
    category("tyre", into=("wheel",), tasks=(task("tread", every=Span(km=1000), factors="tyre"),)),
    category("chain", tasks=(
        task("lubricate", every=Span(km=300), done_by=("lubricated",)),
        task("clean", every=Span(km=500), restarts=("chain.lubricate",), done_by=("cleaned",)),
    )),
    category("cassette", into=("wheel",), tasks=(
        task("look", every=Span(parts=3, parts_of="chain")),
        task("skip-test", after=("swapped:chain",), weight="safety"),
        task("clean", every=Span(km=2000)),
    )),
    category("calliper", places=("front", "rear"), tasks=(
        task("take-up", first=Span(km=100), every=Span(km=400), weight="safety", done_by=("adjusted",)),
    )),
    category("pads", into=("calliper",), tasks=(
        task("bed-in", first=Span(km=20), restarts=("calliper.take-up",)),
        task("look", every=EVERY, done_by=("inspected",), restarts=("calliper.take-up",)),
    )),
    category("stem", tasks=(
        task("torque", first=Span(km=50, overdue_km=200, overdue_days=30), every=SELDOM, weight="safety"),
        task("regrease", every=Span(days=365), done_by=("lubricated",)),
    )),
    category("clamp", tasks=(
        task("torque", first=Span(km=50), every=Span(km=2000), after=("done:post.grease",), weight="safety"),
    )),
    category("post", tasks=(task("grease", first=Span(days=180), every=Span(days=180), done_by=("lubricated",)),)),
    category("fork", tasks=(task("lowers", every=Span(hours=50), needs_shop=True),)),
    category("sealant", tasks=(task("top-up", every=Span(days=120), in_bin=True),)),
    category("hub", specs=(choice("bearing", "loose", "sealed"),), tasks=(
        task("regrease", every=Span(days=365), when={"bearing": "loose"}, in_bin=True),
    )),
    factors={"tyre": Factors(indoor=0.0, wet=1.0, gritty=2.0, basis="from memory")},
)  # fmt: skip


def one(name: str, **more: Any) -> tuple[Garage, UUID]:
    """A bicycle with one part, fitted on the first day."""
    garage = Garage(SHOP)
    part = garage.part(name, **more)
    garage.fit(part, at(0))
    return garage, part


def rides(garage: Garage, km: float, day: int = 1, conditions: str = "dry") -> None:
    """A distance ridden on one day, in rides of at most 200 km."""
    while km > 0:
        garage.ride(at(day, 10), min(km, 200), conditions)
        km -= 200
