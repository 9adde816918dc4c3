"""Frames decoded on one thread while the last ones are graded on another."""

from collections.abc import Generator
from queue import SimpleQueue
from threading import Event, Semaphore, Thread

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.media.scan import Scan

Read = tuple[int, NDArray[np.float32] | BaseException]


def read_ahead(
    scan: Scan, frames: range, depth: int = 4
) -> Generator[tuple[int, NDArray[np.float32]], None, None]:
    """Yield (frame, picture) for `frames`, at most `depth` pictures decoded ahead of their use.

    An error in reading a frame is raised when that frame's turn comes. Nobody else may read the
    scan until the iterator is spent or closed; closing it early ends its thread.
    """
    ready: SimpleQueue[Read] = SimpleQueue()  # unbounded, so that the thread never waits to hand over
    room, stop = Semaphore(depth), Event()
    thread = Thread(target=_fill, args=(scan, frames, ready, room, stop), name="read-ahead", daemon=True)
    thread.start()
    try:
        for _ in frames:
            frame, read = ready.get()
            if isinstance(read, BaseException):
                raise read
            yield frame, read
            room.release()
    finally:
        stop.set()
        room.release()
        thread.join()


def _fill(scan: Scan, frames: range, ready: SimpleQueue[Read], room: Semaphore, stop: Event) -> None:
    for frame in frames:
        room.acquire()
        if stop.is_set():
            return
        try:
            ready.put((frame, scan.read(frame)))
        except BaseException as error:  # whatever it is, the consumer is the one to hear of it
            ready.put((frame, error))
            return
