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


@dataclass(frozen=True, slots=True)
class Clocks:
    """Both clocks as they stood."""

    wall: float
    cpu: float

    @classmethod
    def now(cls) -> Clocks:
        """Return them as they stand."""
        return cls(time.perf_counter(), time.process_time())

    def since(self) -> Spent:
        """Return what has been spent since."""
        return Spent(time.perf_counter() - self.wall, time.process_time() - self.cpu)


def spent(work: Callable[[], object], turns: int = 7) -> Spent:
    """Return the least wall time and the least CPU time of `work`, run once before to warm up."""
    work()
    taken = []
    for _ in range(turns):
        start = Clocks.now()
        work()
        taken.append(start.since())
    return Spent(min(t.wall for t in taken), min(t.cpu for t in taken))
