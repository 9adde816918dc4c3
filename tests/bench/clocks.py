"""Time measured: the least of several turns, of the whole process, so that threads of libraries count."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Spent:
    """Seconds on the wall and of processors."""

    wall: float
    cpu: float


def spent(work: Callable[[], object], turns: int = 7) -> Spent:
    """Return the least wall time and the least CPU time of `work`, run once before to warm up."""
    work()
    walls, cpus = [], []
    for _ in range(turns):
        wall, cpu = time.perf_counter(), time.process_time()
        work()
        walls.append(time.perf_counter() - wall)
        cpus.append(time.process_time() - cpu)
    return Spent(min(walls), min(cpus))
