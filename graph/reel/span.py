"""Which frame of a master shows which frame of its reel, and what a person calls it."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

from lamphouse.graph.reel.counters import Counter, counter
from lamphouse.graph.reel.records import Cue, Delivery, Reel
from lamphouse.nodes.one_line import one_line


@dataclass(frozen=True)
class Span:
    """The frames `first` to `stop` of a reel, half-open, with what a delivery has before and after them."""

    reel: Reel
    delivery: Delivery
    first: int
    stop: int

    @property
    def before(self) -> int:
        """Frames of bars and black before the picture."""
        return self.delivery.bars + self.delivery.black_before

    @property
    def frames(self) -> int:
        """Frames of the whole master."""
        return self.before + self.stop - self.first + self.delivery.black_after

    def frame(self, number: int) -> int | None:
        """Return the frame of the reel that frame `number` of the master shows; None for bars and black."""
        frame = self.first + number - self.before
        return frame if self.first <= frame < self.stop else None

    def parts(self, numbers: range) -> list[range]:
        """Return a range of frames of the master, cut where bars, black and film meet; none is empty."""
        film = self.before + self.stop - self.first
        edges = (0, self.delivery.bars, self.before, film, self.frames)
        cut = (range(max(a, numbers.start), min(b, numbers.stop)) for a, b in pairwise(edges))
        return [part for part in cut if part]

    def number(self, frame: int) -> int:
        """Return the frame of the master that shows `frame` of the reel."""
        return frame - self.first + self.before

    def timecode(self, number: int) -> str:
        """Return the record timecode of frame `number` of the master."""
        return self._counter.readings(self.first - self.before + number).timecode

    def cue(self, number: int) -> Cue | None:
        """Return the cue that holds at frame `number` of the master; None in bars and black."""
        frame = self.frame(number)
        index = -1 if frame is None else bisect_right(self._cue_frames, frame) - 1
        return self.reel.cues[index] if index >= 0 else None

    def words(self, number: int) -> str:
        """Return what a sentence calls frame `number`: `Frame 40 (10:00:01:15, cue Garden)`."""
        return f"Frame {number} ({self.timecode(number)}{self._what(number)})"

    def _what(self, number: int) -> str:
        if self.frame(number) is None:
            return ", bars" if number < self.delivery.bars else ", black"
        cue = self.cue(number)
        if cue is None:
            return ", before the first cue"
        return f", cue {one_line(cue.name) or f'at frame {cue.frame}'}"

    @cached_property
    def _counter(self) -> Counter:
        return counter(self.reel)

    @cached_property
    def _cue_frames(self) -> list[int]:
        return [cue.frame for cue in self.reel.cues]
