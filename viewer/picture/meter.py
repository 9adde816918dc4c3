"""The meter of a transition, worked out on a thread of its own: how visible the change is."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.grade.visibility import Visibility, of_transition, sampled
from lamphouse.graph.reel.records import Cue, Reel
from lamphouse.graph.reel_files.opened import OpenedReel


class Meter:
    """Measures one transition at a time; `ready` is called on its thread when there is something new."""

    def __init__(self, opened: OpenedReel, ready: Callable[[], None]) -> None:
        self._opened, self._ready = opened, ready
        self._pool = ThreadPoolExecutor(1, thread_name_prefix="meter")
        self._asked: tuple[Reel, int] | None = None
        self._work: Future[Visibility] | None = None
        self._reported: Future[Visibility] | None = None

    def close(self) -> None:
        """Let the thread go."""
        self._pool.shutdown(cancel_futures=True)

    def has_news(self) -> bool:
        """Say whether something was measured since the last call."""
        is_new = self._work is not None and self._work.done() and self._work is not self._reported
        if is_new:
            self._reported = self._work
        return is_new

    def of(self, reel: Reel, cue: Cue, picture: NDArray[np.float32]) -> Visibility | None:
        """Return how visible the transition to `cue` is, on the scanned `picture`; None until known."""
        key = (reel, cue.frame)
        is_new = self._asked is None or self._asked[0] is not reel or self._asked[1] != cue.frame
        if is_new and (self._work is None or self._work.done()):
            self._asked = key
            self._work = self._pool.submit(self._measured, reel, cue, sampled(picture))
            self._work.add_done_callback(lambda work: self._ready())
        if self._work is None or not self._work.done() or is_new or self._work.exception():
            return None
        return self._work.result()

    def _measured(self, reel: Reel, cue: Cue, pixels: NDArray[np.float32]) -> Visibility:
        return of_transition(self._opened.with_reel(reel), cue, pixels)
