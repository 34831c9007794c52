"""How every benchmark measures: work and floor in turn, in the same process, as a ratio, with what else ran beside."""

import gc
import json
import math
import os
import statistics
import time
from collections.abc import Callable
from pathlib import Path

SERIES = 5
IDLE_CORES = 0.3
Work = Callable[[], object]


def others_while(work: Work) -> float:
    """Cores that were busy with something that is not ours while `work` ran."""
    begun, busy, own = time.perf_counter(), _busy_seconds(), _own_seconds()
    work()
    taken = time.perf_counter() - begun
    return max(0.0, (_busy_seconds() - busy - (_own_seconds() - own)) / taken) if taken else 0.0


def _busy_seconds() -> float:
    """Seconds all cores have been busy since the machine started; 0 where the system does not tell."""
    stat = Path("/proc/stat")
    if not stat.exists():
        return 0.0
    user, nice, system, _idle, _wait, irq, soft = (int(each) for each in stat.read_text().split()[1:8])
    return (user + nice + system + irq + soft) / os.sysconf("SC_CLK_TCK")


def _own_seconds() -> float:
    spent = os.times()
    return spent.user + spent.system + spent.children_user + spent.children_system


def wait_until_idle(seconds: float = 20) -> bool:
    """Waits for an idle machine, so long; says whether it came."""
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        if others_while(lambda: time.sleep(0.5)) < IDLE_CORES:
            return True
    return False


def compare(name: str, work: Work, floor: Work, *, goal: float, runs: int = 30) -> bool:
    """Prints one line of JSON for `work` against `floor`; answers whether its ratio keeps the goal.

    Five series of so many runs, the floor just before the work in each; the ratio is the median of their ratios of
    medians.
    """
    idle = wait_until_idle()
    work()
    floor()
    gc.collect()
    gc.freeze()  # as the service does at its start: a full collection would fall into one run and not into another
    ratios: list[float] = []
    works: list[float] = []
    floors: list[float] = []

    def measure() -> None:
        for _ in range(SERIES):
            low = [_milliseconds(floor) for _ in range(runs)]
            high = [_milliseconds(work) for _ in range(runs)]
            ratios.append(statistics.median(high) / statistics.median(low))
            floors.extend(low)
            works.extend(high)

    others = others_while(measure)
    ratio = statistics.median(ratios)
    said = _shown(works) | {"floor_ms": round(statistics.median(floors), 3), "ratio": round(ratio, 2), "goal": goal}
    print(json.dumps({"name": name} | said | {"others": round(others, 2), "idle": idle}), flush=True)
    return ratio <= goal


def _milliseconds(work: Work) -> float:
    begun = time.perf_counter()
    work()
    return (time.perf_counter() - begun) * 1000


def _shown(taken: list[float]) -> dict[str, float]:
    ranked = sorted(taken)
    return {
        "ms": round(statistics.median(ranked), 3),
        "p95": round(ranked[math.ceil(0.95 * len(ranked)) - 1], 3),
        "p99": round(ranked[math.ceil(0.99 * len(ranked)) - 1], 3),
    }


def within(name: str, found: float, unit: str, *, goal: float) -> bool:
    """Prints one line of JSON for a size; answers whether it keeps the goal."""
    print(json.dumps({"name": name, unit: round(found, 1), "goal": goal}), flush=True)
    return found <= goal
