"""The strip's small pictures: read once from the scan, corrected anew when the reel changes."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from dataclasses import replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.grade.grade import Grade
from lamphouse.graph.media.codes.placing import Placing, unplaced
from lamphouse.graph.media.codes.resample import resize
from lamphouse.graph.media.working_copy.copy import WorkingCopy, divide_of
from lamphouse.graph.reel.records import Reel
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.nodes.errors import BadInput
from lamphouse.viewer.colours import SURROUND_CODE
from lamphouse.viewer.models.monitors import MONITORS, SRGB, Monitor
from lamphouse.viewer.models.scanned import Frame
from lamphouse.viewer.picture.monitor import monitor_code
from lamphouse.viewer.picture.reader import Reader
from lamphouse.viewer.picture.smalls import Smalls
from lamphouse.viewer.picture.working import FromEither
from lamphouse.viewer.turn.wishes import Answer, Wish

HEIGHT: Final = 72  # pixels of a small picture
KEPT: Final = 512

Picture = NDArray[np.float32]


class FilmStrip:
    """Small pictures of a reel by frame. `changed` is called on another thread when there is a new one."""

    def __init__(
        self,
        opened: OpenedReel,
        changed: Callable[[], None],
        copy: Callable[[], WorkingCopy | None] = lambda: None,
    ) -> None:
        self._opened, self._changed = opened, changed
        scan = opened.reel.scan
        copied = divide_of(scan)  # a multiple of it, so that pictures of the working copy are as large
        self._divide = max(copied, scan.height // HEIGHT // copied * copied)
        self.height = scan.height // self._divide
        self.width = scan.width // self._divide
        self._read: OrderedDict[int, Picture | None] = OrderedDict()
        self._asked: int | None = None
        self.monitor = MONITORS[SRGB]  # that the pictures are shown on
        self._smalls = Smalls(opened, changed)
        self._reader = Reader(lambda: FromEither(opened.open_scan, copy), self._answered)

    def close(self) -> None:
        """Let the threads go."""
        self._reader.close()
        self._smalls.close()

    def drawn(self, reel: Reel, frames: tuple[int, ...]) -> NDArray[np.uint8]:
        """Return the pictures of `frames` side by side as the monitor shows them, (h, n * w, 4).

        What has not been read yet is asked for, and seen as it was measured; what was not, either, is grey.
        """
        texels = np.full((self.height, self.width * max(1, len(frames)), 4), SURROUND_CODE, np.uint8)
        texels[..., 3] = 255
        try:
            placing = self._placing(reel)
            with Grade(self._opened.with_reel(reel), threads=1) as grade:
                for index, frame in enumerate(frames):
                    small = self._read[frame] if frame in self._read else self._smalls.of(frame)
                    if small is not None:
                        graded = resize(grade.correct(frame, small), self.width, self.height, "triangle")
                        framed = placing.place(graded, grade.framing(frame))
                        shown = shown_codes(framed, self.monitor)
                        texels[:, index * self.width : (index + 1) * self.width, :3] = shown
        except BadInput:
            pass  # the picture itself says what is wrong with the chain
        self._ask(frames)
        return texels

    def _placing(self, reel: Reel) -> Placing:
        """Return how the picture lies in its own frame, at this size."""
        whole = unplaced(reel)
        small = replace(whole.scan, width=self.width, height=self.height)
        return replace(whole, scan=small, outer=small, filter_name="triangle")

    def lacks(self, frames: tuple[int, ...]) -> bool:
        """Say whether one of `frames` has not been read yet."""
        return any(frame not in self._read for frame in frames)

    def _ask(self, frames: tuple[int, ...]) -> None:
        unread = [frame for frame in frames if frame not in self._read]
        self._smalls.ask(unread)
        wanted = next(iter(unread), None)
        if wanted is not None and wanted != self._asked:
            self._asked = wanted
            self._reader.ask(Wish(wanted, (self._divide,)))

    def _answered(self, answer: Answer) -> None:
        found = answer.found
        self._read[answer.wish.frame] = None if found is None else found.picture(self._divide_of(found))
        if len(self._read) > KEPT:
            self._read.popitem(last=False)
        self._changed()

    def _divide_of(self, found: Frame) -> int:
        """Return what makes a small picture of a frame, which may be of the working copy's raster."""
        height: int = found.coded.shape[1]
        return self._divide // (self._opened.reel.scan.height // height)


def shown_codes(video: Picture, on: Monitor) -> NDArray[np.uint8]:
    """Return the codes (h, w, 3) of a monitor that shows a small picture (3, h, w) of video."""
    codes = np.clip(monitor_code(video.reshape(3, -1), on) * 255 + 0.5, 0, 255).astype(np.uint8)
    return np.moveaxis(codes.reshape(video.shape), 0, -1)
