"""The loupe's own state: how much it magnifies, what it is over, and where that is sharpest in the shot."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from lamphouse.viewer.models.desk import Desk

SIDE: Final = 240.0  # pixels at scale 1
MOST: Final = 0.5  # of the picture's part, either way
TIMES: Final = (0, 2, 4, 8)


def side_of(part: tuple[int, int], scale: float) -> int:
    """Return the side of the loupe in a picture's part of the window, in pixels of that."""
    return round(min(SIDE * scale, MOST * min(part)))


@dataclass(slots=True)
class LoupeView:
    """How many pixels of the monitor one of the scan is, none while it is away, and its place in the scan."""

    times: int = 0
    place: tuple[float, float] = (0.5, 0.5)
    is_left: bool = False  # whether it lies to the left, for a click on it changes sides
    sharpest: int | None = None  # the frame of the shot that is sharpest there, as far as is known

    def turn(self) -> None:
        """Magnify more, or put the loupe away after the most."""
        self.times = TIMES[(TIMES.index(self.times) + 1) % len(TIMES)]

    def go(self, desk: Desk, now: int) -> None:
        """Go to the frame of the shot that is sharpest under the loupe."""
        if self.sharpest is None:
            desk.troubles.say("Hold the loupe over something first, until the shot has been looked at.")
        else:
            desk.go_to(self.sharpest, now)
