"""A finished master that the picture is compared with, read on a thread of its own."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from queue import Empty, SimpleQueue

from lamphouse.graph.reel.records import Reel
from lamphouse.viewer.models.seen import FULL, OtherPicture
from lamphouse.viewer.picture.finished import Finished
from lamphouse.viewer.picture.reader import Reader
from lamphouse.viewer.turn.compared import MasterFrame
from lamphouse.viewer.turn.wishes import Answer, Wish


class MasterReader:
    """Reads the master that is asked for, by frames of `reel`; `wake` is called when there is news."""

    def __init__(self, reel: Reel, wake: Callable[[], None]) -> None:
        self._reel, self._wake = reel, wake
        self._open: _Open | None = None

    def close(self) -> None:
        """Let the thread go."""
        if self._open is not None:
            self._open.close(is_waited=True)

    @property
    def is_settled(self) -> bool:
        """Whether the picture that was asked for has come."""
        return self._open is None or self._open.wish is None or self._open.is_here

    def take(self) -> MasterFrame | None:
        """Return the newest that has come since the last call."""
        return self._open.take() if self._open is not None else None

    def ask(self, master: Path | None, wish: Wish | None) -> None:
        """Have a frame of a master read; with None nothing is any more."""
        if master is None or wish is None:
            if self._open is not None:
                self._open.wish = None
            return
        if self._open is None or self._open.path != master:
            if self._open is not None:
                self._open.close(is_waited=False)
            self._open = _Open(master, self._reel, self._wake)
        self._open.ask(wish)


class _Open:
    """One master, and the newest of its frames."""

    def __init__(self, path: Path, reel: Reel, wake: Callable[[], None]) -> None:
        self.path = path
        self.wish: Wish | None = None
        self._came: Wish | None = None
        self._frames: SimpleQueue[tuple[Wish, MasterFrame]] = SimpleQueue()
        self._finished: Finished | None = None

        def opened() -> Finished:
            self._finished = Finished(path, reel)
            return self._finished

        def answered(answer: Answer) -> None:
            self._frames.put((answer.wish, self._frame(answer)))
            wake()

        self._reader = Reader(opened, answered)

    def _frame(self, answer: Answer) -> MasterFrame:
        part = self._finished.part if self._finished is not None else FULL
        if answer.found is None:
            return MasterFrame(self.path, None, answer.reason)
        return MasterFrame(self.path, OtherPicture(answer.found.finest, part, answer.wish.frame))

    def close(self, *, is_waited: bool) -> None:
        self._reader.close(is_waited=is_waited)

    @property
    def is_here(self) -> bool:
        return self._came == self.wish

    def ask(self, wish: Wish) -> None:
        if wish != self.wish:
            self.wish = wish
            self._reader.ask(wish)

    def take(self) -> MasterFrame | None:
        newest: MasterFrame | None = None
        while True:
            try:
                self._came, newest = self._frames.get_nowait()
            except Empty:
                return newest
