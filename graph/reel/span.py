"""Which frame of a master shows which frames of its reel, and what a person calls it."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from itertools import pairwise

from lamphouse.graph.reel.counters import counter
from lamphouse.graph.reel.records import Cue, Delivery, Reel
from lamphouse.graph.time.cadence import Cadence, running_rate
from lamphouse.graph.time.rate import parse_rate, video_rate
from lamphouse.graph.time.timecode import as_counted, can_drop, frame_of_timecode, timecode
from lamphouse.nodes.one_line import one_line

# What stands before the film, in this order: fields of a delivery, and what a sentence calls their frames.
LEAD_IN = {"bars": "bars", "slate": "slate", "countdown": "countdown", "black_before": "black"}
FIELDS = {"progressive": 1, "top-first": 2, "bottom-first": 2}


@dataclass(frozen=True)
class Span:
    """The frames `first` to `stop` of a reel, half-open, with what a delivery has before and after them.

    Frames of the reel are film frames; those of the master are numbers, and run at `rate`.
    """

    reel: Reel
    delivery: Delivery
    first: int
    stop: int

    @cached_property
    def rate(self) -> Fraction:
        """Frames a second of the master."""
        given = self.delivery.rate
        return parse_rate(self.reel.rate) if given is None else video_rate(given)

    @cached_property
    def cadence(self) -> Cadence:
        """How film frames become those of the master."""
        fields, film = FIELDS[self.delivery.scanning], parse_rate(self.reel.rate)
        return Cadence(running_rate(self.delivery.cadence, film, self.rate, fields), self.rate, fields)

    @property
    def before(self) -> int:
        """Frames of bars, slate, countdown and black before the picture."""
        return lead_in(self.delivery)

    @cached_property
    def film(self) -> range:
        """The frames of the master that show film."""
        return range(self.before, self.before + self.cadence.stop(self.stop - self.first))

    @property
    def frames(self) -> int:
        """Frames of the whole master."""
        return self.film.stop + self.delivery.black_after

    @property
    def is_one_for_one(self) -> bool:
        """Whether each frame of the master shows the next one of the reel."""
        return self.cadence.fields == 1 and self.cadence.running == self.rate

    @property
    def speed(self) -> str:
        """How fast the film runs in the master, as a sentence; nothing where it runs as the reel says."""
        film, running = parse_rate(self.reel.rate), self.cadence.running
        if running == film:
            return ""
        more = float(abs(running / film - 1)) * 100
        how = "faster" if running > film else "slower"
        return f"The film, of {film} frames a second, runs at {running}: {more:.3g} % {how}."

    def shown(self, number: int) -> tuple[int, ...]:
        """Return the frame of the reel that each picture of frame `number` shows: one, or one a field.

        Bars and black show none.
        """
        if number not in self.film:
            return ()
        return tuple(min(self.first + n, self.stop - 1) for n in self.cadence.shown(number - self.before))

    def frame(self, number: int) -> int | None:
        """Return the first frame of the reel that frame `number` shows; None for bars and black."""
        return next(iter(self.shown(number)), None)

    def number(self, frame: int) -> int:
        """Return the first frame of the master that shows `frame` of the reel, or one after it."""
        return self.before + self.cadence.number(frame - self.first)

    def numbers(self, first: int, stop: int) -> range:
        """Return the frames of the master that show any of the frames `first` to `stop` of the reel."""
        return range(self.number(first), self.before + self.cadence.stop(stop - self.first))

    def parts(self, numbers: range) -> list[range]:
        """Return a range of frames of the master, cut where bars, black and the rest meet; none is empty."""
        edges = (*self._starts, self.before, self.film.stop, self.frames)
        cut = (range(max(a, numbers.start), min(b, numbers.stop)) for a, b in pairwise(edges))
        return [part for part in cut if part]

    def section(self, number: int) -> str:
        """Return what frame `number` is of: `bars`, `slate`, `countdown`, `black` or `film`."""
        if number in self.film:
            return "film"
        part = bisect_right(self._starts, number) - 1
        return "black" if number >= self.before else tuple(LEAD_IN.values())[part]

    @cached_property
    def _starts(self) -> list[int]:
        """Where each part of what stands before the film begins."""
        lengths = [getattr(self.delivery, name) for name in LEAD_IN]
        return [sum(lengths[:index]) for index in range(len(lengths))]

    @property
    def drops(self) -> bool:
        """Whether the timecode of the master is drop-frame."""
        return can_drop(self.rate) and (self.delivery.counting or self.reel.counting) == "drop"

    def timecode(self, number: int) -> str:
        """Return the record timecode of frame `number` of the master: at the head mark it reads `start`."""
        return timecode(self._origin + number, self.rate, drops=self.drops)

    @cached_property
    def _origin(self) -> int:
        """The address, counted from 00:00:00:00, of frame 0 of the master."""
        film = counter(self.reel)
        start = as_counted(film.start, film.rate, self.rate, drops=film.drops, other_drops=self.drops)
        return frame_of_timecode(start, self.rate, drops=self.drops) - self.number(film.head_mark)

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
            return f", {self.section(number)}"
        cue = self.cue(number)
        name = (
            "before the first cue" if cue is None else f"cue {one_line(cue.name) or f'at frame {cue.frame}'}"
        )
        return f"{self._film_words(number)}, {name}"

    def _film_words(self, number: int) -> str:
        if self.is_one_for_one:
            return ""
        frames = tuple(dict.fromkeys(self.shown(number)))
        return (
            f", film frame {frames[0]}" if len(frames) == 1 else f", film frames {frames[0]} and {frames[1]}"
        )

    @cached_property
    def _cue_frames(self) -> list[int]:
        return [cue.frame for cue in self.reel.cues]


def lead_in(delivery: Delivery) -> int:
    """Return how many frames stand before the film."""
    return sum(getattr(delivery, name) for name in LEAD_IN)
