"""Readings drawn into each picture of a viewing copy, so that who looks at it can name a place."""

from __future__ import annotations

from collections.abc import Sequence

from lamphouse.graph.media.codes.encode_planes import Blank
from lamphouse.graph.media.master.ink import write
from lamphouse.graph.media.master.leader import SAFE
from lamphouse.graph.media.master.lettering import fitting
from lamphouse.graph.reel.counters import counter
from lamphouse.graph.reel.records import Reading
from lamphouse.graph.reel.span import Span

SHARE = 24  # a letter is at most so much of the picture's height
GAP = "  "


class Burned:
    """The readings `wanted` of the frames of `span`, which show film, of the reel that is called `reel`."""

    def __init__(self, wanted: Sequence[Reading], span: Span, reel: str) -> None:
        self._wanted, self._span, self._reel = wanted, span, reel
        self._counter = counter(span.reel)
        ends = [self._readings(number) for number in (span.film[0], span.film[-1])]
        self._widths = [max(map(len, pair)) for pair in zip(*ends, strict=True)]

    def text(self, number: int) -> str:
        """Return what is drawn into frame `number`; it is as long for each."""
        pairs = zip(self._readings(number), self._widths, strict=True)
        return GAP.join(f"{reading:>{width}}" for reading, width in pairs)

    def height(self, width: int, height: int) -> int:
        """Return the height of the letters in a picture of that raster."""
        return fitting(self.text(self._span.film[0]), max(1, height // SHARE), round(width * SAFE))

    def into(self, blank: Blank, number: int) -> None:
        """Draw them into frame `number`, at the foot of the safe area."""
        rows, columns = blank.planes[0].shape
        foot = round(rows * (1 + SAFE) / 2)
        write(blank, self.text(number), self.height(columns, rows), foot=foot)

    def _readings(self, number: int) -> list[str]:
        film = self._counter.readings(self._span.shown(number)[0])
        said = {
            "timecode": self._span.timecode(number),
            "footage": film.footage,
            "frame": str(film.frame),
            "reel": self._reel,
        }
        return [said[reading] for reading in self._wanted]
