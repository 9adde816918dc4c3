"""A finished master by the frames of its reel: which of its pictures belongs to which frame, and where in it.

A master is found by its timecode, against the counters of the reel. Where it has none, its first picture is
the first frame of the reel, after the bars and the black of a delivery of the reel that is as long. Where it
shows film in another cadence than frame for frame, its record says which frame it is.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

from lamphouse.graph.grade.grade import Shown
from lamphouse.graph.media.codes.placing import placing_of, unplaced
from lamphouse.graph.media.codes.raster import Shape
from lamphouse.graph.media.master.colour import colour_of_pass
from lamphouse.graph.media.master.record import MasterRecord, load_record_file, record_path
from lamphouse.graph.media.scan.open import open_scan
from lamphouse.graph.media.scan.scan import STILLS
from lamphouse.graph.reel.counters import counter
from lamphouse.graph.reel.records import Reel
from lamphouse.graph.reel.span import Span, lead_in
from lamphouse.graph.time.rate import rate_words
from lamphouse.graph.time.timecode import frame_of_timecode, frames_per_day, timecode
from lamphouse.nodes.colour_encoding import WORKING, ColourEncoding
from lamphouse.nodes.errors import BadInput
from lamphouse.viewer.picture.reader import NotThere

if TYPE_CHECKING:
    from lamphouse.graph.media.scan.scan import Source

Part = tuple[float, float, float, float]


class Finished:
    """A master open for reading, by frames of `reel`. Raises BadInput where it cannot be opened.

    `part` is where all of the reel's scan, unframed, lies in the master's picture: left, top, width, height
    in shares of it.
    """

    def __init__(self, path: Path, reel: Reel) -> None:
        self.path, self._reel, self._counter = path, reel, counter(reel)
        self._open()

    def _open(self) -> None:
        self._stamp = _stamp(self.path)
        self._master = open_scan(self.path)
        self._record = _record_of(self.path)
        self._shown = None if self._colour == WORKING else Shown(self._colour)
        self._span = self._cadence()
        try:
            self._check_rate()
            self.part = self._part()
        except BadInput:
            self.close()
            raise
        self._start = self._first_address()
        self._lead = self._lead_in() if self._start is None else 0

    def read_coded(self, frame: int) -> Source:
        """Return the master's picture of a frame of the reel as video signal, or in codes of that.

        Raises NotThere where the master does not reach that far, and BadInput where it cannot be read.
        """
        if self._stamp != _stamp(self.path):  # an insert puts another file in its place
            self.close()
            self._open()
        number = self._number(frame)
        if not 0 <= number < self._master.frames:
            raise NotThere(self._lacks(frame))
        try:
            found = self._master.read_coded(number)
            return found if self._shown is None else self._shown.of(found)
        except BadInput as error:
            raise BadInput(str(error).replace("scan it again", "transfer it again")) from error

    def close(self) -> None:
        """Let the file go."""
        self._master.close()
        if self._shown is not None:
            self._shown.close()

    def _cadence(self) -> Span | None:
        """Return which frame shows which, where a master of this reel does not show it frame for frame."""
        if self._record is None or self._record.span.is_one_for_one:
            return None
        made_of, reel = self._record.reel, self._reel
        is_ours = (made_of.rate, made_of.scan.frames) == (reel.rate, reel.scan.frames)
        return self._record.span if is_ours else None

    def _check_rate(self) -> None:
        rate = self._master.rate
        if rate is not None and rate != self._counter.rate and self._span is None:
            raise BadInput(
                f"{self.path} runs at {rate_words(rate)} frames a second and the reel at "
                f"{rate_words(self._counter.rate)}; choose a master of this reel."
            )

    def _part(self) -> Part:
        if self._record is not None:
            return placing_of(self._record.delivery, self._reel).part
        master, scan = self._master, self._reel.scan
        width, height = master.width, master.height
        aspect = Fraction(scan.pixel_aspect)
        # Some stills cannot say how wide their pixels are.
        is_open_to_doubt = self.path.is_dir() or self.path.suffix.lower() in STILLS
        if (width, height) == (scan.width, scan.height) and (
            is_open_to_doubt or master.pixel_aspect == aspect
        ):
            return 0.0, 0.0, 1.0, 1.0
        outer = Shape(width, height, master.pixel_aspect)
        return replace(unplaced(self._reel), outer=outer).part

    @property
    def _colour(self) -> ColourEncoding:
        """What its codes mean, by its record, else by its tags."""
        if self._record is None:
            return self._master.stated.colour
        return colour_of_pass(self._record.delivery, self._record.reel.scan)

    def _first_address(self) -> int | None:
        try:
            return frame_of_timecode(self._master.timecode or "", self._counter.rate)
        except BadInput:
            return None

    def _lead_in(self) -> int:
        """Return the frames before the film of the delivery whose master of the whole reel is this long."""
        more = self._master.frames - self._reel.scan.frames
        for made in self._reel.deliveries.values():
            before = lead_in(made)
            if more and before + made.black_after == more:
                return before
        return 0

    def _number(self, frame: int) -> int:
        if self._span is not None:
            return self._span.number(frame) if self._span.first <= frame < self._span.stop else -1
        if self._start is None:
            return self._lead + frame
        rate = self._counter.rate
        address = frame_of_timecode(self._counter.readings(frame).timecode, rate)
        return (address - self._start) % frames_per_day(rate)

    def _lacks(self, frame: int) -> str:
        last = self._master.frames - 1
        if self._span is not None:
            shown = f"shows frames {self._span.first} to {self._span.stop - 1} of the reel"
            return f"{self.path.name} {shown}; frame {frame} is not in it."
        if self._start is None:
            return (
                f"{self.path.name} has no timecode and is taken from the reel's start; it ends at frame "
                f"{last - self._lead}, before frame {frame}."
            )
        first, end = (timecode(self._start + n, self._counter.rate) for n in (0, last))
        place = self._counter.readings(frame).timecode
        return f"{self.path.name} runs from {first} to {end}; {place} is not in it."


def _record_of(master: Path) -> MasterRecord | None:
    try:
        return load_record_file(record_path(master))
    except BadInput:
        return None


def _stamp(path: Path) -> tuple[int, int, int]:
    try:
        found = path.stat()
    except OSError:
        return 0, 0, 0
    return found.st_mtime_ns, found.st_size, found.st_ino
