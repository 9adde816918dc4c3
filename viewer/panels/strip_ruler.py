"""Frames of the reel to pixels of the strip and back, and which cues the strip spans."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Sequence

from lamphouse.graph.reel.records import Cue
from lamphouse.viewer.models.panels import Strip as View


class Ruler:
    """The strip's part of the window: from `left` over `width`, from `top` over `height`, in pixels."""

    def __init__(
        self, view: View, frames: int, corner: tuple[float, float], size: tuple[float, float]
    ) -> None:
        self.view, self.frames = view, frames
        self.left, self.top = corner
        self.width, self.height = size
        if view.span[1] <= view.span[0] + 1:
            view.span = (0.0, float(frames))

    @property
    def bottom(self) -> float:
        """The pixel below the last row."""
        return self.top + self.height

    @property
    def per_pixel(self) -> float:
        """Frames under one pixel."""
        start, stop = self.view.span
        return (stop - start) / self.width

    def x(self, frame: float) -> float:
        """Return where a frame begins."""
        return self.left + (frame - self.view.span[0]) / self.per_pixel

    def exact(self, x: float) -> float:
        """Return the place of the reel at a pixel, between frames and also outside the reel."""
        return self.view.span[0] + (x - self.left) * self.per_pixel

    def frame(self, x: float) -> int:
        """Return the frame at a pixel, within the reel."""
        return int(max(0, min(self.exact(x), self.frames - 1)))

    def spanned(self, cues: Sequence[Cue]) -> Iterator[Cue]:
        """Give the cues that the strip spans, in order of frame, and the next, whose ramp may reach in.

        Where several would fall on one pixel, the first of them: thousands of cues cost no more than pixels.
        """
        start, stop = self.view.span
        index = bisect_left(cues, start, key=_frame)
        while index < len(cues):
            cue = cues[index]
            yield cue
            if cue.frame >= stop:
                return
            index = max(index + 1, bisect_left(cues, cue.frame + self.per_pixel, lo=index, key=_frame))


def foot(cue: Cue) -> int:
    """Return the frame at which a cue takes effect: its own where it begins with a cut."""
    return cue.frame - cue.length if cue.begins == "transition" else cue.frame


def _frame(cue: Cue) -> int:
    return cue.frame
