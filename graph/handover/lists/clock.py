"""Times of a list that came, as frames of the reel, or why they are none."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from lamphouse.graph.edits.arrivals import OUTSIDE, Place
from lamphouse.graph.reel.counters import Counter
from lamphouse.graph.time.rate import rate_words
from lamphouse.graph.time.timecode import can_drop, frame_of_timecode, frames_per_day
from lamphouse.nodes.errors import BadInput


@dataclass(frozen=True)
class Clock:
    """The counters of the reel that a list comes to."""

    counter: Counter

    def at_rate(self, rate: Fraction | None) -> str:
        """Return why times at `rate` cannot be those of the reel, or nothing."""
        if rate is None or rate == self.counter.rate:
            return ""
        said, own = rate_words(rate), rate_words(self.counter.rate)
        return f"its times run at {said} frames a second, and the reel at {own}"

    def address(self, text: str, *, drops: bool | None) -> int | str:
        """Return the address, counted from 00:00:00:00, that a time names; None: as the reel counts."""
        if drops is not None and drops != self._drops:
            return f"its times are {_counted(drops)}, and the reel's {_counted(self._drops)}"
        plain = text.replace(";", ":")
        try:
            return frame_of_timecode(plain, self.counter.rate, drops=self.counter.drops)
        except BadInput:
            return f"no time of {rate_words(self.counter.rate)} frames a second"

    def nearest(self, address: int) -> int:
        """Return the frame at an address, before the reel's first or after its last where that is nearer."""
        day = frames_per_day(self.counter.rate, drops=self.counter.drops)
        return (address - self.origin + day // 2) % day - day // 2

    def within(self, frame: int) -> Place:
        """Return `frame` where the reel has it."""
        if 0 <= frame < self.counter.frames:
            return frame
        ends = [self.counter.readings(at).timecode for at in (0, self.counter.frames - 1)]
        return f"{OUTSIDE}, which runs from {ends[0]} to {ends[1]}"

    @cached_property
    def origin(self) -> int:
        """The address of frame 0 of the reel."""
        first = self.counter.readings(0).timecode
        return frame_of_timecode(first, self.counter.rate, drops=self.counter.drops)

    @property
    def _drops(self) -> bool:
        return can_drop(self.counter.rate) and self.counter.drops


def _counted(drops: bool) -> str:
    return "drop-frame" if drops else "non-drop"
