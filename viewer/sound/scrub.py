"""The sound of one frame, heard once as a hand goes to it: stepping, dragging on the strip, moving the sound.

A device that has rested begins late, so a frame's sound is reckoned from when it is first asked for, with all
of it there, and not from when the hand moved: it is never cut at its head.
"""

from __future__ import annotations

from dataclasses import dataclass

from lamphouse.graph.media.sound.read import Places
from lamphouse.viewer.models.transport import Transport
from lamphouse.viewer.sound.pieces import Pieces
from lamphouse.viewer.sound.segment import Segment


@dataclass(frozen=True, slots=True)
class Scrub:
    """A frame to be heard, forwards (`way` 1) or, where that is how it was come to, backwards (-1)."""

    frame: int
    way: int
    number: int

    def segment(self, places: Places, into: int = 0) -> Segment:
        """Return what is left of its sound after so many samples; its number stands for a motion's."""
        start, stop = places.at(self.frame), places.at(self.frame + 1)
        first, ends = (start, stop) if self.way > 0 else (stop, start)
        sample = first + self.way * min(into, stop - start)
        return Segment(sample, self.way, -self.number, begins=places.starts_at, ends=ends)


def scrubbed(before: Transport | None, now: Transport, is_moved: bool, number: int) -> Scrub | None:
    """Return the frame to be heard because a reel that stands was taken to it, or its sound `is_moved`.

    None while the film moves, and where it only came to a stop.
    """
    if before is None or now.speed != 0:
        return None
    came_from = before.due(now.began).frame if now.motion != before.motion else now.frame
    if came_from == now.frame and not is_moved:
        return None
    return Scrub(now.frame, -1 if now.frame < came_from else 1, number)


class Scrubbing:
    """How much of a frame has been heard. Used on the device's thread; `heard` is read on another.

    Samples are counted and not the time: a device that asks early or late would make it a few more or less.
    """

    def __init__(self) -> None:
        self.heard = 0  # the number of the last frame that was heard to its end
        self._number = self._into = (
            0  # the frame that is heard, and how many samples of it have been asked for
        )

    def due(self, scrub: Scrub, count: int, places: Places, pieces: Pieces) -> Segment | None:
        """Return what the next `count` samples are of a frame; None before it is there, and after."""
        whole = scrub.segment(places)
        low, high = sorted((whole.sample, whole.sample + scrub.way * (whole.room or 0)))
        if self._number != scrub.number:
            if pieces.fetch(low, high) is None:
                return None
            self._number, self._into = scrub.number, 0
        if self._into >= high - low:
            self.heard = scrub.number
            return None
        segment = scrub.segment(places, self._into)
        self._into += count
        return segment
