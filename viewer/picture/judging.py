"""The delivered picture of the frame at rest, judged on a thread of its own; the newest wish wins."""

from __future__ import annotations

from collections.abc import Callable
from queue import Empty, SimpleQueue
from threading import Condition, Thread

from lamphouse.graph.media.codes.decode_planes import to_rgb
from lamphouse.graph.media.codes.r103 import judge
from lamphouse.graph.media.scan.scan import Scan
from lamphouse.graph.reel_files.opened import OpenedReel
from lamphouse.graph.transfer.delivered import delivered
from lamphouse.nodes.errors import BadInput
from lamphouse.viewer.models.judged import Case, Judgement


class Judge:
    """Makes delivered pictures and judges them; `wake` is called on its thread when there is one."""

    def __init__(self, opened: OpenedReel, wake: Callable[[], None]) -> None:
        self._opened, self._wake = opened, wake
        self._case: Case | None = None
        self._asked: Case | None = None
        self._found: SimpleQueue[Judgement] = SimpleQueue()
        self._is_open, self._changed = True, Condition()
        self._came: Case | None = None
        self._thread: Thread | None = None

    def close(self) -> None:
        """Let the thread go."""
        with self._changed:
            self._is_open = False
            self._changed.notify()
        if self._thread is not None:
            self._thread.join()

    @property
    def is_settled(self) -> bool:
        """Whether what was asked for last has come."""
        return self._asked is None or self._came == self._asked

    def ask(self, case: Case | None) -> None:
        """Have a case judged; None: none any more."""
        if case == self._asked:
            return
        if self._thread is None:
            self._thread = Thread(target=self._work, name="judge", daemon=True)
            self._thread.start()
        with self._changed:
            self._asked = self._case = case
            self._changed.notify()

    def take(self) -> Judgement | None:
        """Return the newest that has come since the last call."""
        newest: Judgement | None = None
        while True:
            try:
                newest = self._found.get_nowait()
                self._came = newest.case
            except Empty:
                return newest

    def _next(self) -> Case | None:
        with self._changed:
            self._changed.wait_for(lambda: self._case is not None or not self._is_open)
            case, self._case = self._case, None
            return case if self._is_open else None

    def _work(self) -> None:
        scan: Scan | None = None
        while (case := self._next()) is not None:
            try:
                scan = scan or self._opened.open_scan()
                found = _judged(case, self._opened, scan)
            except Exception as error:  # whatever a file or a plug-in does, the desk lives on
                found = Judgement(case, reason=_sentence(error))
            self._found.put(found)
            self._wake()
        if scan is not None:
            scan.close()


def _judged(case: Case, opened: OpenedReel, scan: Scan) -> Judgement:
    picture = delivered(opened.with_reel(case.reel), case.delivery, scan, case.frame)
    found = judge(picture, is_interlaced=case.delivery.scanning != "progressive")
    return Judgement(case, to_rgb(picture), found.beyond, found.share)


def _sentence(error: Exception) -> str:
    if isinstance(error, BadInput):
        return str(error)
    return f"The delivered picture cannot be made ({error}); look at the delivery."
