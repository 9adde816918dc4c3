"""The desk's working copy: looked for, made by a process apart while a person works, and read from."""

from __future__ import annotations

import time
from collections.abc import Callable
from threading import Lock, Thread
from typing import TYPE_CHECKING

from lamphouse.graph.media.working_copy.apart import Apart, Progress
from lamphouse.graph.media.working_copy.copy import NotInCopy, OpenCopy, WorkingCopy, working_copy_of
from lamphouse.graph.media.working_copy.wanted import Wanted
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.nodes.errors import BadInput
from lamphouse.viewer.models.copying import Copied, copied

if TYPE_CHECKING:
    from lamphouse.graph.media.scan.scan import Scan, Source


class Working:
    """The working copy of a reel's scan, while one is wanted. `wake` is called on another thread."""

    def __init__(self, opened: OpenedReel, wake: Callable[[], None]) -> None:
        self._opened, self._wake = opened, wake
        self._making: _Making | None = None
        self._known: WorkingCopy | None = None  # of before it was turned off
        self._shown = Copied()

    @property
    def copy(self) -> WorkingCopy | None:
        """The copy, of which there may be nothing yet; None where none is wanted. Any thread may ask."""
        making = self._making
        return None if making is None else making.copy

    def follow(self, wanted: Wanted, first: int) -> Copied:
        """Make the copy, from frame `first` on, or leave off; return how far it has come."""
        if wanted.is_on and self._making is None:
            self._making = _Making(self._opened, self._wake, first, wanted, self._known)
        elif not wanted.is_on:
            self.close()
        elif self._making is not None:
            self._making.go_on_from(first)
        self._shown = Copied() if self._making is None else self._making.told()
        return self._shown

    def has_news(self) -> bool:
        """Say whether it has come farther than `follow` said last."""
        return self._making is not None and self._making.told() != self._shown

    def close(self) -> None:
        """Leave off; what is made stays."""
        making, self._making = self._making, None
        if making is not None:
            self._known = making.copy
            making.close()


class _Making:
    """A copy that is being made. It is looked for on a thread, for its scan may lie on a slow disk."""

    def __init__(
        self,
        opened: OpenedReel,
        wake: Callable[[], None],
        first: int,
        wanted: Wanted,
        known: WorkingCopy | None,
    ) -> None:
        self._opened, self._wake, self._first, self._wanted = opened, wake, first, wanted
        self._known = known
        self.copy: WorkingCopy | None = None
        self._apart: Apart | None = None
        self._is_open, self._told = True, Copied()
        self._begun: tuple[float, int] | None = None  # when so many frames were done
        self._lock = Lock()
        Thread(target=self._begin, name="working copy's beginning", daemon=True).start()

    def told(self) -> Copied:
        """Return how far it has come."""
        return self._told

    def go_on_from(self, frame: int) -> None:
        """Have it made from where a person is by now."""
        if self._apart is not None:
            self._apart.go_on_from(frame)

    def close(self) -> None:
        """End the process."""
        with self._lock:  # and not until the scan has been looked for, which can take a while
            self._is_open = False
        if self._apart is not None:
            self._apart.close()

    def _begin(self) -> None:
        try:
            copy = working_copy_of(self._opened.reel.scan, self._opened.scan_path)
            if self._known is not None and self._known.folder == copy.folder:
                copy = self._known  # whoever reads it may have it open
            self.copy = copy
            if copy.made() < copy.frames:
                self._make(copy)
            else:
                self._say(Progress(copy.frames, copy.frames))
        except (BadInput, OSError) as error:
            self._say(Progress(0, self._opened.reel.scan.frames, str(error)))

    def _make(self, copy: WorkingCopy) -> None:
        with self._lock:
            if self._is_open:
                self._apart = Apart(copy, self._say, first=self._first, room=self._wanted.room)

    def _say(self, progress: Progress) -> None:
        if not self._is_open:
            return
        now, left = time.monotonic(), None
        since, done = self._begun = self._begun or (now, progress.done)
        if progress.done > done:
            left = (progress.frames - progress.done) * (now - since) / (progress.done - done)
        self._told = copied(progress.done, progress.frames, left, progress.reason)
        self._wake()


class FromEither:
    """Frames from a working copy as far as it has them, else from the scan itself, for one thread."""

    def __init__(self, open_scan: Callable[[], Scan], copy: Callable[[], WorkingCopy | None]) -> None:
        self._open_scan, self._copy_now = open_scan, copy
        self._scan: Scan | None = None
        self._copy: tuple[WorkingCopy, OpenCopy] | None = None

    def read_coded(self, frame: int) -> Source:
        """Return a frame as `Scan.read_coded` does, at the copy's raster where it is the copy's."""
        copy = self._copy_now()
        if copy is not None and copy.has(frame):
            try:
                return self._opened(copy).read_coded(frame)
            except NotInCopy:  # it was taken away in this moment
                pass
        if self._scan is None:
            self._scan = self._open_scan()
        return self._scan.read_coded(frame)

    def _opened(self, copy: WorkingCopy) -> OpenCopy:
        if self._copy is None or self._copy[0] is not copy:
            self._let_copy_go()
            self._copy = copy, copy.open()
        return self._copy[1]

    def _let_copy_go(self) -> None:
        if self._copy is not None:
            self._copy[1].close()
            self._copy = None

    def close(self) -> None:
        """Release both. Closing twice does nothing."""
        self._let_copy_go()
        if self._scan is not None:
            self._scan.close()
            self._scan = None
