"""Some frames of a shot measured for sharpness, on a thread of their own, as long as somebody asks."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from threading import Condition, Thread
from typing import Final

from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.viewer.models.sharpness import Sharpness, ShotSharpness, luma_of, samples_of, sharpness
from lamphouse.viewer.picture.reader import Opened

KEPT: Final = 400  # frames: some hundred kilobytes each at 4K
Shot = tuple[int, int]


class FocusSearch:
    """Measures the frame that is asked for, then samples of its shot; calls `ready` on its thread."""

    def __init__(self, opened: OpenedReel, ready: Callable[[], None]) -> None:
        self._opened, self._ready = opened, ready
        self._changed = Condition()
        self._wish: tuple[int, ...] = ()
        self._measured: OrderedDict[int, Sharpness | None] = OrderedDict()
        self._is_open, self._has_news = True, False
        self._thread: Thread | None = None

    def close(self) -> None:
        """Let the thread and the file go."""
        with self._changed:
            self._is_open = False
            self._changed.notify()
        if self._thread is not None:
            self._thread.join()

    def has_news(self) -> bool:
        """Say whether another frame was measured since the last call."""
        with self._changed:
            is_new, self._has_news = self._has_news, False
        return is_new

    def of(self, shot: Shot | None, frame: int) -> ShotSharpness | None:
        """Return what is known of a shot, and have the rest measured; with None nothing is any more."""
        samples = () if shot is None else samples_of(shot)
        with self._changed:
            self._wish = () if shot is None else (frame, *samples)
            self._changed.notify()
            known = {n: self._measured[n] for n in self._wish if n in self._measured}
        if shot is None:
            return None
        if self._thread is None:
            self._thread = Thread(target=self._work, name="focus", daemon=True)
            self._thread.start()
        return ShotSharpness(samples, known)

    def _next(self) -> int | None:
        """Return the next frame to be measured, once there is one; None at the end."""
        with self._changed:
            self._changed.wait_for(lambda: not self._is_open or self._lacking() is not None)
            return self._lacking() if self._is_open else None

    def _lacking(self) -> int | None:
        return next((frame for frame in self._wish if frame not in self._measured), None)

    def _work(self) -> None:
        scan: Opened | None = None
        while (frame := self._next()) is not None:
            found = None
            try:
                scan = scan or self._opened.open_scan()
                found = sharpness(luma_of(scan.read_coded(frame)))
            except Exception:  # the picture itself says what is wrong with a frame
                if scan is not None:
                    scan.close()  # a file that was away and has come back is opened again
                scan = None
            self._take(frame, found)
        if scan is not None:
            scan.close()

    def _take(self, frame: int, found: Sharpness | None) -> None:
        with self._changed:
            self._measured[frame] = found
            while len(self._measured) > KEPT:
                self._measured.popitem(last=False)
            self._has_news = True
        self._ready()
