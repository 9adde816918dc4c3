"""Encoding on a thread of its own, so that correction never waits for it."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from queue import Queue
from threading import Thread
from typing import Final, TypeVar

Item = TypeVar("Item")

DEPTH: Final = 2  # items waiting; bounds memory whatever the length of the reel


def write_behind(items: Iterable[Item], write: Callable[[Item], None], depth: int = DEPTH) -> None:
    """Call `write` for each of `items` in order on another thread, while the next is being made.

    At most `depth` items wait. An error in `write` stops the items and is raised here; an
    error in `items` is raised after what was made before it has been written.
    """
    queue: Queue[Item | None] = Queue(depth)
    failures: list[BaseException] = []

    def run() -> None:
        while (item := queue.get()) is not None:
            if failures:
                continue  # keeps emptying the queue, so that the maker never waits on a full one
            try:
                write(item)
            except BaseException as error:  # handed over to the maker's thread
                failures.append(error)

    writer = Thread(target=run, name="encode", daemon=True)
    writer.start()
    try:
        for item in items:
            if failures:
                break
            queue.put(item)
    finally:
        queue.put(None)
        writer.join()
    if failures:
        raise failures[0]
