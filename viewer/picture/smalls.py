"""The smallest pictures of a scan, as it was measured once: there long before its frames are read."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Iterable
from concurrent.futures import Future, ThreadPoolExecutor
from typing import Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.media.statistics.kept import KeptStatistics
from lamphouse.graph.media.statistics.measuring import SEGMENT
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.nodes.errors import BadInput

HELD: Final = 64  # segments of 96 frames, 220 kB each (our choice)
WHITE: Final = np.float32(255)

Codes = NDArray[np.uint8]  # (frames, 3, rows, columns)


class Smalls:
    """Small pictures by frame, read on a thread. `changed` is called there once there are more."""

    def __init__(self, opened: OpenedReel, changed: Callable[[], None]) -> None:
        self._opened, self._changed = opened, changed
        self._kept: KeptStatistics | None = None
        self._held: OrderedDict[int, Codes] = OrderedDict()
        self._pool = ThreadPoolExecutor(1, thread_name_prefix="smalls")
        self._work: Future[None] | None = None

    def close(self) -> None:
        """Let the thread go."""
        self._pool.shutdown(cancel_futures=True)

    def of(self, frame: int) -> NDArray[np.float32] | None:
        """Return a frame's picture, R'G'B' of the scan, (3, rows, columns); None where it is not known."""
        segment, place = divmod(frame, SEGMENT)
        codes = self._held.get(segment)
        return None if codes is None or place >= len(codes) else codes[place] / WHITE

    def ask(self, frames: Iterable[int]) -> None:
        """Have the pictures of these frames read, unless others are being read."""
        wanted = sorted({frame // SEGMENT for frame in frames} - set(self._held))
        if wanted and (self._work is None or self._work.done()):
            self._work = self._pool.submit(self._read, wanted)

    def _read(self, segments: list[int]) -> None:
        try:
            if self._kept is None:  # which looks at the scan's files
                self._kept = KeptStatistics(self._opened.reel.scan, self._opened.scan_path)
            found = {number: self._kept.read(number) for number in segments}
        except BadInput:  # whoever reads the scan itself says so
            return
        for number, segment in found.items():
            if segment is not None:
                self._held[number] = np.ascontiguousarray(segment.rows["small"])
        while len(self._held) > HELD:
            self._held.popitem(last=False)
        if any(segment is not None for segment in found.values()):
            self._changed()
