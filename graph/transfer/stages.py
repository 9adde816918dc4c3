"""Which stage of a pass is the limit: each says how long it is at work."""

from __future__ import annotations

import time
from collections import defaultdict
from collections.abc import Iterator
from contextlib import contextmanager
from threading import Lock


class Stages:
    """Nanoseconds that each stage has been at work, whichever thread it is on."""

    def __init__(self) -> None:
        self._at_work: dict[str, int] = defaultdict(int)
        self._lock = Lock()

    @contextmanager
    def during(self, stage: str) -> Iterator[None]:
        """Count the time spent inside as that of `stage`."""
        start = time.monotonic_ns()
        try:
            yield
        finally:
            with self._lock:
                self._at_work[stage] += time.monotonic_ns() - start

    @property
    def limit(self) -> str:
        """The stage that has been at work longest: the others wait for it. Empty before any has been."""
        with self._lock:
            return max(self._at_work, key=self._at_work.__getitem__, default="")
