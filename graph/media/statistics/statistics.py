"""What was measured of a whole scan, as those who look for something in it read it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.media.statistics.measuring import LEVELS, SEGMENT, STILL, Measuring, Segment
from lamphouse.graph.media.statistics.row import Rows

if TYPE_CHECKING:
    from lamphouse.graph.media.scan.scan import Source

Picture = NDArray[np.float32]


class Statistics:
    """`rows` holds the record of each frame of a scan, (frames,), by the fields of `row.ROW`.

    `stills` gives the small pictures of a segment; they are asked for when they are needed.
    """

    def __init__(self, rows: Rows, stills: Callable[[int], NDArray[np.uint16]]) -> None:
        self.rows, self._stills = rows, stills

    @property
    def frames(self) -> int:
        """How many frames the scan has."""
        return len(self.rows)

    def pictures(self, first: int, stop: int, most: int = 8) -> list[tuple[int, Picture]]:
        """Return some frames of [first, stop), spread over it, each with its small picture.

        That is R'G'B' of the scan's own signal, float32 (3, 72, 96), of every 12th frame; of a shot that has
        none it is (3, 24, 32). Frames that could not be read are left out.
        """
        kept = [frame for frame in range(-(-first // STILL) * STILL, stop, STILL) if self.rows["ok"][frame]]
        if kept:
            return [(frame, self._still(frame)) for frame in spread(kept, most)]
        found = [frame for frame in range(first, stop) if self.rows["ok"][frame]]
        return [(frame, self.small(frame)) for frame in spread(found, most)]

    def small(self, frame: int) -> Picture:
        """Return the smallest picture of any frame, (3, 24, 32), in steps of 1/255."""
        return np.asarray(self.rows["small"][frame] / np.float32(255), np.float32)

    def stills(self) -> Iterator[tuple[int, Picture, NDArray[np.int16]]]:
        """Yield every 12th frame, its light and what is thin in it, each (72, 96).

        The light is the mean of R'G'B', from 0 to 1; what is thin stands out by so many levels of 255, below
        0 where it is dark.
        """
        for frame in range(0, self.frames, STILL):
            still = self._kept(frame)
            light = still[:3].mean(axis=0, dtype=np.float32) / np.float32(LEVELS)
            yield frame, light, still[3].view(np.int16)

    def _still(self, frame: int) -> Picture:
        return np.asarray(self._kept(frame)[:3] / np.float32(LEVELS), np.float32)

    def _kept(self, frame: int) -> NDArray[np.uint16]:
        segment, place = divmod(frame, SEGMENT)
        return np.asarray(self._stills(segment)[place // STILL])


def spread(found: Sequence[int], most: int) -> list[int]:
    """Return at most so many of some numbers, from the middle of as many equal parts."""
    count = min(most, len(found))
    return [found[(2 * part + 1) * len(found) // (2 * count)] for part in range(count)]


def measured(sources: Iterable[Source | None], frames: int) -> Statistics:
    """Return the statistics of so many frames, given in order, None for one that cannot be read."""
    segments: dict[int, Segment] = {}
    measuring = Measuring(frames, segments.__setitem__)
    for frame, source in enumerate(sources):
        measuring.feed(frame, source)
    return joined([segments[number] for number in range(len(segments))])


def joined(segments: Sequence[Segment]) -> Statistics:
    """Return the statistics that segments, in order, make up."""
    rows = np.concatenate([segment.rows for segment in segments])
    if (readable := np.flatnonzero(rows["ok"])).size:
        rows[: readable[0]] = rows[readable[0]]  # as if the first that could be read stood there too
        rows["ok"][: readable[0]] = 0
    return Statistics(rows, lambda number: segments[number].stills)
