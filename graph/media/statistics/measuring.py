"""Frames fed in order become the records of whole segments: each is measured beside its neighbours."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.media.statistics.row import ROW, Rows, row_of
from lamphouse.graph.media.statistics.view import GRID, View

if TYPE_CHECKING:
    from lamphouse.graph.media.scan.scan import Source

SEGMENT: Final = 96  # frames that are kept together: what a kill costs at most
STILL: Final = 12  # of so many frames one is kept as a small picture
LEVELS: Final = 65535  # of its codes, from 0 to 1
PLANES: Final = 4  # of it: R', G', B', and what is thin, as int16


class Segment(NamedTuple):
    """The records of some frames, and the small pictures of some of them, uint16 (n, PLANES, 72, 96)."""

    rows: Rows
    stills: NDArray[np.uint16]


def frames_of(segment: int, frames: int) -> range:
    """Return the frames of a segment of a scan."""
    return range(segment * SEGMENT, min(frames, (segment + 1) * SEGMENT))


class Measuring:
    """Measures frames that are fed in order. `keep` is given each segment all of whose frames were measured.

    Feeding may begin anywhere and leap: the first frame of each run is then but a neighbour of the next,
    unless it is the scan's first.
    """

    def __init__(self, frames: int, keep: Callable[[int, Segment], None]) -> None:
        self._frames, self._keep = frames, keep
        self._began = self._at = -1
        self._before: View | None = None
        self._here: View | None = None
        self._is_read = False
        self._segment = _Filling(0, frames)

    def feed(self, frame: int, source: Source | None) -> None:
        """Take the next frame; None where it cannot be read: the one before it stands in its place."""
        if frame != self._at + 1 or self._at < 0:
            self._before = self._here = None
            self._began = frame
        after = self._here if source is None else View(source)
        if frame > self._began:
            self._measure(after)
        self._before, self._here, self._at = self._here, after, frame
        self._is_read = source is not None
        if frame == self._frames - 1:
            self._measure(None)

    def _measure(self, after: View | None) -> None:
        if self._at == self._began and self._at > 0:
            return  # what lies before it was not seen
        segment = self._at // SEGMENT
        if self._segment.number != segment:
            self._segment = _Filling(segment, self._frames)
        if self._here is not None:
            rows = row_of(self._before, self._here, after)
            rows["ok"] = self._is_read
            self._segment.put(self._at, rows, self._here)
        else:  # nothing before it could be read either
            self._segment.put(self._at, np.zeros(1, ROW), None)
        if self._segment.is_whole:
            self._keep(segment, self._segment.made)


class _Filling:
    """A segment that is being filled."""

    def __init__(self, number: int, frames: int) -> None:
        self.number, self._frames = number, frames_of(number, frames)
        self._missing = set(self._frames)
        stills = len(range(self._frames.start, self._frames.stop, STILL))
        self.made = Segment(np.zeros(len(self._frames), ROW), np.zeros((stills, PLANES, *GRID), np.uint16))

    @property
    def is_whole(self) -> bool:
        return not self._missing

    def put(self, frame: int, rows: Any, view: View | None) -> None:
        place = frame - self._frames.start
        self.made.rows[place] = rows[0]
        if view is not None and place % STILL == 0:
            still = self.made.stills[place // STILL]
            still[:3] = np.clip(view.picture * LEVELS + 0.5, 0, LEVELS)
            still[3] = view.thin.view(np.uint16)
        self._missing.discard(frame)
