"""Frames decoded on one thread while the last ones are graded on another."""

from collections.abc import Callable, Generator
from queue import SimpleQueue
from threading import Event, Semaphore, Thread
from typing import TypeVar

P = TypeVar("P")  # a picture, as `read` gives it


def read_ahead(
    read: Callable[[int], P], frames: range, depth: int = 2
) -> Generator[tuple[int, P], None, None]:
    """Yield (frame, picture) for `frames`, at most `depth` pictures decoded ahead of their use.

    `read` is called with each frame on a thread of its own: `Scan.read_coded`, or what calls it. An error
    in it is raised when that frame's turn comes. Nobody else may read the scan
    until the iterator is spent or closed; closing it early ends its thread.
    """
    ready: SimpleQueue[tuple[int, P | BaseException]] = (
        SimpleQueue()
    )  # unbounded, so that the thread never waits to hand over
    room, stop = Semaphore(depth), Event()
    thread = Thread(target=_fill, args=(read, frames, ready, room, stop), name="read-ahead", daemon=True)
    thread.start()
    try:
        for _ in frames:
            frame, found = ready.get()
            if isinstance(found, BaseException):
                raise found
            yield frame, found
            room.release()
    finally:
        stop.set()
        room.release()
        thread.join()


def _fill(
    read: Callable[[int], P],
    frames: range,
    ready: SimpleQueue[tuple[int, P | BaseException]],
    room: Semaphore,
    stop: Event,
) -> None:
    for frame in frames:
        room.acquire()
        if stop.is_set():
            return
        try:
            ready.put((frame, read(frame)))
        except BaseException as error:  # whatever it is, the consumer is the one to hear of it
            ready.put((frame, error))
            return
