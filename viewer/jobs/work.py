"""Work in a process of its own, as the desk has it in hand.

In a process a pass that crashes, or is killed, takes nothing with it; it shares no interpreter with the desk,
whose turns stay short; and whatever it leaves is what a killed command leaves, with which `--resume` goes on.
"""

from __future__ import annotations

import multiprocessing
from collections.abc import Callable
from contextlib import suppress
from queue import Empty, SimpleQueue
from threading import Thread
from typing import Final

from lamphouse.viewer.jobs.child import Order, work
from lamphouse.viewer.jobs.said import Ended, Message, Pair
from lamphouse.viewer.jobs.told import STOP

PATIENCE: Final = 20.0  # seconds in which work that is to stop may end in order


class Work:
    """A process that does what `order` asks for; when it says something `wake` is called, on a thread."""

    def __init__(self, order: Order, wake: Callable[[], None]) -> None:
        self._wake = wake
        context = multiprocessing.get_context("spawn")  # nothing of the window goes along
        self._wire, theirs = context.Pipe()
        self._process = context.Process(target=work, args=(order, theirs), name="lamphouse", daemon=True)
        self._process.start()
        theirs.close()
        self._said: SimpleQueue[Message] = SimpleQueue()
        self._pair: Pair | None = None  # the newest alone: pictures are large, and nobody may be looking
        self._listener = Thread(target=self._listen, name="work", daemon=True)
        self._listener.start()

    @property
    def process_id(self) -> int:
        """The number of the process."""
        return self._process.pid or 0

    def news(self) -> list[Message]:
        """Return what has been said since the last call; the last of all is an `Ended`."""
        found: list[Message] = []
        with suppress(Empty):
            while True:
                found.append(self._said.get_nowait())
        pair, self._pair = self._pair, None
        return [pair, *found] if pair is not None else found

    def stop(self) -> None:
        """Have it stop in order; what is done stays."""
        self.wish(STOP)

    def wish(self, what: object) -> None:
        """Wish for something of work that goes on; it gives the newest wish what it can."""
        with suppress(OSError):
            self._wire.send(what)

    def kill(self) -> None:
        """End it at once: for work of which nothing is half-made."""
        self._process.kill()
        self._listener.join(PATIENCE)

    def close(self) -> None:
        """Stop it and wait until it has ended; one that does not end is killed."""
        self.stop()
        self._process.join(PATIENCE)
        if self._process.is_alive():
            self._process.kill()
        self._listener.join(PATIENCE)

    def _listen(self) -> None:
        has_ended = False
        with suppress(EOFError, OSError):
            while not has_ended:
                message = self._wire.recv()
                has_ended = isinstance(message, Ended)
                if has_ended:
                    self._process.join(PATIENCE)  # only then has it let all locks go
                if isinstance(message, Pair):
                    self._pair = message
                else:
                    self._said.put(message)
                self._wake()
        if not has_ended:
            self._process.join()
            self._said.put(Ended("broken", _died(self._process.exitcode)))
            self._wake()
        self._wire.close()


def _died(status: int | None) -> str:
    how = f"signal {-status}" if status is not None and status < 0 else f"status {status}"
    return f"The process that was at work ended by itself ({how}); what it had written is kept: begin again."
