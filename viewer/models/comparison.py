"""What the picture is compared with, and how: seen by turns, side by side, or beyond the edge of a wipe."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path
from typing import Final

GRADED, OTHER, WIPE, SIDE = "graded", "other", "wipe", "side by side"
SCANNED, COPIED, STILL, MASTER = "as scanned", "copied cue", "stored still", "master"
UNTAKEN = "not taken"  # the reel as it is, while something else is previewed
MIDDLE: Final = (0.5, 0.5)
FAR: Final = 1e3  # heights of the picture: an edge there is out of sight
TAP: Final = 333_000_000  # nanoseconds of a tap at most; a key held longer goes back when let go (ours)

Edge = tuple[float, float, float]


@dataclass(slots=True)
class Comparison:
    """How the picture is compared. Nothing of it is saved or undone.

    The edge of a wipe runs through `middle`, in shares of the picture, and is turned by `angle` from upright,
    in radians with the clock; what is compared with lies to its right then.
    """

    way: str = GRADED
    kind: str = SCANNED
    middle: tuple[float, float] = MIDDLE
    angle: float = 0.0
    copied: int | None = None  # the frame of the cue that was copied, to compare with
    other: int | None = None  # that of the cue whose settings others take; None: the one before
    master: Path | None = None
    before: str = GRADED  # the way to go back to
    pressed_at: int | None = None

    def flick(self, now: int | None = None) -> None:
        """Show what the picture is compared with alone, or go back; `now` where a key may be held for it."""
        if self.way == OTHER:
            self.way = self.before
        else:
            self.before, self.way = self.way, OTHER
        self.pressed_at = now

    def let_go(self, now: int) -> None:
        """Go back where the key that flicked was held for longer than a touch."""
        if self.pressed_at is not None and now - self.pressed_at > TAP:
            self.flick()
        self.pressed_at = None

    def choose_master(self, master: Path) -> None:
        """Compare the picture with a finished master, and show that."""
        self.master, self.kind = master, MASTER
        if self.way == GRADED:
            self.way = WIPE

    def upright(self, middle: tuple[float, float] = MIDDLE) -> None:
        """Put the edge of the wipe upright again."""
        self.middle, self.angle = middle, 0.0

    def edge(self, shape: float) -> Edge:
        """Return the direction beyond the edge and how far off the picture's middle it is, in its heights.

        `shape` is the width of the picture for a height of 1, as it is seen.
        """
        if self.way != WIPE:
            return 1.0, 0.0, -FAR if self.way == OTHER else FAR
        across, down = math.cos(self.angle), math.sin(self.angle)
        x, y = (self.middle[0] - 0.5) * shape, self.middle[1] - 0.5
        return across, down, x * across + y * down

    def beyond(self, point: tuple[float, float], shape: float) -> float:
        """Return how far beyond the edge a point, in shares of the picture, is, in heights of the picture."""
        across, down, off = self.edge(shape)
        return (point[0] - 0.5) * shape * across + (point[1] - 0.5) * down - off
