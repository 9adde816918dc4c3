"""A scan, or a master, read on a thread of its own. The newest wish wins, and an error is an answer."""

from __future__ import annotations

from collections.abc import Callable
from threading import Condition, Thread
from typing import TYPE_CHECKING, Protocol

from lamphouse.nodes.errors import BadInput
from lamphouse.viewer.models.scanned import Frame
from lamphouse.viewer.turn.wishes import Answer, Wish

if TYPE_CHECKING:
    from lamphouse.graph.media.scan.scan import Source


class NotThere(BadInput):
    """What is read is well, and has no such frame."""


class Opened(Protocol):
    """What frames are read from: a scan, or what answers like one."""

    def read_coded(self, frame: int) -> Source:
        """Return a frame, as `Scan.read_coded` does."""

    def close(self) -> None:
        """Let the file go."""


class Reader:
    """Reads frames of what `opened` opens. Both are called on the reader's thread; keep `answered` short."""

    def __init__(self, opened: Callable[[], Opened], answered: Callable[[Answer], None]) -> None:
        self._opened, self._answered = opened, answered
        self._wish: Wish | None = None
        self._is_open = True
        self._changed = Condition()
        self._thread = Thread(target=self._work, name="reader", daemon=True)
        self._thread.start()

    def ask(self, wish: Wish) -> None:
        """Take the newest wish; one that has not been begun is forgotten."""
        with self._changed:
            self._wish = wish
            self._changed.notify()

    def close(self, *, is_waited: bool = True) -> None:
        """Let the thread and the file go, and wait until that is done or not."""
        with self._changed:
            self._is_open = False
            self._changed.notify()
        if is_waited:
            self._thread.join()

    def _next(self) -> Wish | None:
        with self._changed:
            self._changed.wait_for(lambda: self._wish is not None or not self._is_open)
            wish, self._wish = self._wish, None
            return wish if self._is_open else None

    def _work(self) -> None:
        file: Opened | None = None
        while (wish := self._next()) is not None:
            try:
                # A file that was away and has come back is opened again.
                file = file or self._opened()
                found = Frame(file.read_coded(wish.frame), wish.divides)
                self._answered(Answer(wish, found))
            except NotThere as error:
                self._answered(Answer(wish, None, str(error)))
            except Exception as error:  # whatever a damaged file does, the desk lives on
                if file is not None:
                    file.close()
                    file = None
                self._answered(Answer(wish, None, _sentence(wish, error)))
        if file is not None:
            file.close()


def _sentence(wish: Wish, error: Exception) -> str:
    if isinstance(error, BadInput):
        return str(error)
    return f"Frame {wish.frame} cannot be read ({error}); look at its file."
