"""The end of the wire that is in the process which works: what it says, and whether it is to stop.

It is said on a thread of its own. Of what is overtaken before it could be sent only the newest goes out, so
that nobody works slower because somebody listens slowly.
"""

from __future__ import annotations

import time
from collections import deque
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import replace
from multiprocessing.connection import Connection
from threading import Condition, Thread
from typing import Any, Final

import av

from lamphouse.graph.media.codes.encode_planes import Blank, PlaneCoding, component_planes
from lamphouse.graph.progress import Step
from lamphouse.viewer.jobs.said import Ended, Given, Message, Noted, Pair, Progress
from lamphouse.viewer.jobs.small import Small, small

PERIOD: Final = 0.5  # seconds between pictures that are shown, and HELD of them wait to come back (ours)
HELD: Final = 12
BETWEEN: Final = 0.5  # seconds between words of how far it is (ours)
STOP: Final = "stop"
PATIENCE: Final = 5.0  # seconds that the last words may take


class Told:
    """Says over `wire` how work goes on, and hears there whether it is to stop. It is an `Onlooker`."""

    def __init__(self, wire: Connection) -> None:
        self._wire, self._asked = wire, False
        self._wish: object = None  # the newest that has not been taken
        self.so_far = Progress("", 0, 0)
        self._held: dict[int, Small] = {}
        self._next = self._came_at = 0.0
        self._coding: PlaneCoding | None = None
        self._cut = 0
        self.number: int | None = None  # the frame that came back last
        self._changed = Condition()
        self._news: dict[type, Message] = {}
        self._words: deque[Message] = deque()
        self._speaker = Thread(target=self._speak, name="speaker", daemon=True)
        self._speaker.start()
        Thread(target=self._hear, name="listener", daemon=True).start()

    def is_asked(self) -> bool:
        """Say whether it is to stop: because it was told to, or since nobody listens any more."""
        return self._asked

    def has_wish(self) -> bool:
        """Say whether something is wished for that `wishes` has not given yet, or it is to stop."""
        return self._asked or self._wish is not None

    def wishes(self) -> Iterator[Any]:
        """Wait for what is wished for while it works, and give the newest of it, until it is to stop."""
        while True:
            with self._changed:
                self._changed.wait_for(self.has_wish)
                wish, self._wish = self._wish, None
            if self._asked:
                return
            yield wish

    def give(self, what: object) -> None:
        """Give out something, after all that was given before."""
        self._say(Given(what))

    @contextmanager
    def stage(self, what: str) -> Iterator[Step]:
        """Yield a function to call with how far this stage has come."""

        def step(done: int, total: int, limit: str = "", /) -> None:
            good = self.number or 0
            self.so_far = Progress(what, done, total, limit, good, self._cut)
            self._put(self.so_far)

        step(0, 0)
        yield step

    def note(self, sentence: str) -> None:
        """Say what a person should know."""
        self._say(Noted(sentence))

    def end(self, ended: Ended) -> None:
        """Say how it ended, and nothing after that."""
        self._say(ended)
        self._speaker.join(PATIENCE)

    def sent(self, number: int, filled: Blank) -> None:
        """Take a few of the pixels of a picture now and then, until it comes back; else show it as it is."""
        self._cut += sum(filled.cut)
        now = time.monotonic()
        if now < self._next:
            return
        self._next, self._coding = now + PERIOD, filled.coding
        taken = small(filled.planes, filled.coding)
        if len(self._held) < HELD:
            self._held[number] = taken
        else:
            self._put(Pair(number, taken, None))

    def came(self, number: int, codes: Any) -> None:
        """Say how a picture came back of which some pixels were taken, or any where none is for long."""
        self.number, now = number, time.monotonic()
        sent, coding = self._held.pop(number, None), self._coding
        if coding is not None and (sent is not None or now > self._came_at + 2 * PERIOD):
            planes = component_planes(codes, coding.layout) if isinstance(codes, av.VideoFrame) else codes
            self._came_at = now
            self._put(Pair(number, sent, small(planes, coding)))
        if self.so_far.done >= self.so_far.total:  # the rest is read back once all is written
            self._put(replace(self.so_far, good=number))

    def _put(self, message: Message) -> None:
        with self._changed:
            self._news[type(message)] = message
            self._changed.notify_all()

    def _say(self, message: Message) -> None:
        with self._changed:
            self._words.append(message)
            self._changed.notify_all()

    def _next_messages(self) -> list[Message]:
        with self._changed:
            self._changed.wait_for(lambda: self._news or self._words)
            found = [*self._news.values(), *self._words]
            self._news.clear()
            self._words.clear()
            return found

    def _speak(self) -> None:
        with suppress(OSError):  # nobody listens any more
            while True:
                for message in self._next_messages():
                    self._wire.send(message)
                    if isinstance(message, Ended):
                        return
                with self._changed:  # whoever listens draws anew at each word
                    self._changed.wait_for(lambda: self._words, BETWEEN)

    def _hear(self) -> None:
        with suppress(EOFError, OSError):
            while (heard := self._wire.recv()) != STOP:
                self._wake(wish=heard)
        self._asked = True
        self._wake()

    def _wake(self, wish: object = None) -> None:
        """Wake who waits for a wish."""
        with self._changed:
            self._wish = wish or self._wish
            self._changed.notify_all()
