"""How many pictures a second are seen while the film runs, told over the last second."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final

from lamphouse.viewer.models.transport import SECOND, Transport

LEAST: Final = SECOND // 2  # of running before anything is told (our choice)
ALLOWED: Final = Fraction(97, 100)  # of what is wanted: a picture on the edge of the second is none missed


@dataclass(frozen=True, slots=True)
class Pace:
    """When pictures of one motion were seen, in nanoseconds, the oldest first."""

    motion: int = -1
    began: int = 0
    seen: tuple[int, ...] = ()

    def saw(self, motion: int, now: int) -> Pace:
        """Return the pace once another picture of a motion has been seen."""
        if motion != self.motion:
            return Pace(motion, now, (now,))
        return replace(self, seen=(*(at for at in self.seen if now - at < SECOND), now))

    def a_second(self, transport: Transport, now: int) -> float | None:
        """Return the pictures a second, or None where the film has hardly begun to run."""
        lasted = min(SECOND, now - self.began)
        if transport.motion != self.motion or not transport.is_moving(now) or lasted < LEAST:
            return None
        count = sum(1 for at in self.seen if now - at <= lasted)
        return min(count * SECOND / lasted, float(transport.wanted))

    def is_short(self, transport: Transport, now: int) -> bool:
        """Say whether pictures are missed."""
        found = self.a_second(transport, now)
        return found is not None and found < transport.wanted * ALLOWED
