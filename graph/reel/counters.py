"""One place on a reel in its three readings, and back from what a person types."""

import re
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import Any, Literal

from lamphouse.graph.reel.records import Reel
from lamphouse.graph.time.footage import footage, frame_of_footage, frames_per_foot
from lamphouse.graph.time.rate import parse_rate
from lamphouse.graph.time.timecode import frame_of_timecode, frames_per_day, timecode
from lamphouse.nodes.errors import BadInput

Kind = Literal["timecode", "footage", "frame"]

_NUMBER = re.compile(r"-?[0-9]{1,12}")


@dataclass(frozen=True)
class Readings:
    """The three readings of one place: record timecode, feet+frames from the head mark, frame number."""

    timecode: str
    footage: str
    frame: int

    @property
    def columns(self) -> str:
        """All three, in columns for the lines of a terminal."""
        return f"{self.timecode}  {self.footage:>7}  {self.frame:>6}"


@dataclass(frozen=True)
class Counter:
    """The counters of a reel of `frames` frames, the first of which is number 0.

    At frame `head_mark` the record timecode reads `start` and the footage 0+00; where its rate has drop-frame
    counting and it `drops`, that is meant. Raises
    BadInput for an unknown gauge or start, for no frames, and for a reel of 24 hours
    or more, where two frames would share a timecode.
    """

    rate: Fraction
    gauge: str
    head_mark: int
    start: str
    frames: int
    drops: bool = True

    def __post_init__(self) -> None:
        frames_per_foot(self.gauge)
        self._address(self.start)
        if not 0 < self.frames < frames_per_day(self.rate, drops=self.drops):
            raise BadInput(
                f"A reel of {self.frames} frames cannot be counted; it needs 1 frame to under 24 hours."
            )

    def readings(self, frame: int) -> Readings:
        """Return the readings of any frame; before the head mark, earlier timecode and negative feet."""
        return Readings(
            timecode(self._origin() + frame, self.rate, drops=self.drops),
            footage(frame - self.head_mark, self.gauge),
            frame,
        )

    def find(self, text: str, *, end: bool = False) -> int:
        """Return the frame that `text` names: timecode, feet+frames or frame number.

        Its marks tell which: ':' or ';' timecode, '+' feet+frames, neither a frame number.
        With `end` the place just after the last frame is allowed too: an exclusive end.
        Raises BadInput for what cannot be read or lies outside the reel.
        """
        kind = _kind(text)
        frame = self._frame(text, kind)
        last = self.frames if end else self.frames - 1
        if not 0 <= frame <= last:
            first_place, last_place = (getattr(self.readings(place), kind) for place in (0, last))
            what = "Frame " if kind == "frame" else ""
            span = f"runs from {what.lower()}{first_place} to {what.lower()}{last_place}"
            raise BadInput(f"{what}{text.strip()} lies outside the reel, which {span}.")
        return frame

    def _frame(self, text: str, kind: Kind) -> int:
        if kind == "timecode":
            return (self._address(text) - self._origin()) % frames_per_day(self.rate, drops=self.drops)
        if kind == "footage":
            return self.head_mark + frame_of_footage(text, self.gauge)
        if not _NUMBER.fullmatch(text.strip()):
            first = self.readings(0)
            raise BadInput(
                f"'{text}' is not a place on the reel; write timecode ({first.timecode}), "
                f"feet+frames ({first.footage}) or a frame number."
            )
        return int(text)

    def _origin(self) -> int:
        """Return the address, counted from 00:00:00:00, of frame 0."""
        return self._address(self.start) - self.head_mark

    def _address(self, text: str) -> int:
        return frame_of_timecode(text, self.rate, drops=self.drops)


def counter(reel: Reel) -> Counter:
    """Return the counters of `reel`. Raises BadInput for a rate, gauge or start that is none."""
    counted = reel.gauge, reel.head_mark, reel.start, reel.scan.frames, reel.counting == "drop"
    return _counter(reel.rate, *counted)


@lru_cache(maxsize=16)  # the desk asks for dozens of readings in every turn
def _counter(rate: str, *counted: Any) -> Counter:
    return Counter(parse_rate(rate), *counted)


def _kind(text: str) -> Kind:
    """Return the name of the reading that `text` is written in, as `Readings` has it."""
    if ":" in text or ";" in text:
        return "timecode"
    return "footage" if "+" in text else "frame"
