"""What is asked of whoever reads, and what comes back."""

from __future__ import annotations

from dataclasses import dataclass, field

from lamphouse.viewer.models.scanned import Frame
from lamphouse.viewer.models.transport import Due


@dataclass(frozen=True, slots=True)
class Wish:
    """A frame to be read, at each of the rasters that `divides` makes of the file's, in both directions.

    `due` is the picture of the motion that it is read for; `ahead` are those that follow, each with the
    nanoseconds until it is due. While it `is_moving` a working copy's frame will do.
    """

    frame: int
    divides: tuple[int, ...] = (1,)
    due: Due | None = field(default=None, compare=False)
    is_moving: bool = False
    ahead: tuple[tuple[Due, int], ...] = field(default=(), compare=False)


@dataclass(frozen=True, slots=True)
class Answer:
    """What a wish brought: the frame, or why there is none."""

    wish: Wish
    found: Frame | None
    reason: str = ""
