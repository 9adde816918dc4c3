"""Read-back of a master while it is written, on a thread of its own.

It reads the file under its working name, behind whoever writes it, and never past what has reached it; so it
sees what the system would give anybody else. Matroska, MXF and stills can be read so; the index of MOV and of
MP4 comes last, and there the reading waits for it.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import replace
from itertools import count, takewhile
from pathlib import Path
from threading import Condition, Thread
from typing import Any, Final, Self

import av

from lamphouse.graph.media.master.containers import CONTAINERS, is_movie
from lamphouse.graph.media.master.decoded import (
    Part,
    Picture,
    decoded_movie,
    decoded_stills,
    decoded_wave,
)
from lamphouse.graph.media.master.read_back import Comparison, Meant, ReadBack
from lamphouse.graph.media.master.stills_back import wave_of
from lamphouse.graph.media.master.stills_out import still_name
from lamphouse.graph.media.master.under_way import UnderWay
from lamphouse.nodes.errors import Stopped

LEAD: Final = 64 << 20  # bytes by which the writer may be ahead: at its own pace it would end long before
STILLS_LEAD: Final = 8  # the same, in stills
POLL: Final = 0.005  # seconds between looks at a file that others write

Watch = Callable[[int, Any], None]  # is handed each picture as it is read back, with its number


class Written:
    """How far a master has been written. What is asked of it waits until that is so, or until the end."""

    def __init__(self) -> None:
        self._changed = Condition()
        self._frames = 0
        self.waited = 0  # nanoseconds that the reader had nothing to do
        self.is_ended = False
        self.is_left = False  # nobody wants to know any more

    def add(self) -> None:
        """One more frame has been written."""
        with self._changed:
            self._frames += 1
            self._changed.notify_all()

    def end(self, *, left: bool = False) -> None:
        """All has been written, or nobody goes on writing."""
        with self._changed:
            self.is_ended, self.is_left = True, self.is_left or left
            self._changed.notify_all()

    def is_there(self, frame: int) -> bool:
        """Say whether `frame` has been written, once that is known."""
        self._wait(lambda: self._frames > frame or self.is_ended)
        return self._frames > frame and not self.is_left

    def wait_for_end(self) -> bool:
        """Say, at the end, whether it is a good one."""
        self._wait(lambda: self.is_ended)
        return not self.is_left

    def pause(self) -> None:
        """Wait a moment for more."""
        self._wait(lambda: self.is_ended, POLL)

    def _wait(self, until: Callable[[], bool], seconds: float | None = None) -> None:
        start = time.monotonic_ns()
        with self._changed:
            self._changed.wait_for(until, seconds)
        self.waited += time.monotonic_ns() - start


class Following:
    """The bytes of a file that is being written; reading waits for more until `written` has ended."""

    def __init__(self, path: Path, written: Written) -> None:
        self._file, self._written = path.open("rb", buffering=0), written
        self.place = 0

    def read(self, size: int) -> bytes:
        """Return up to `size` bytes: fewer where there are no more yet, none at the end."""
        while not self._written.is_left:
            is_ended = self._written.is_ended  # asked first: what is written before it is there then
            data = self._file.read(size)
            if data or is_ended:
                self.place += len(data)
                return data
            self._written.pause()
        return b""

    def close(self) -> None:
        """Let the file go."""
        self._file.close()


class Beside:
    """The read-back of the master under way at `part`. Use as a context manager: it holds a thread.

    The writer says `written` after each frame, which raises CheckFailed where one was found to differ, and
    waits where it is far ahead. `end` waits for the rest and returns what was found.
    """

    def __init__(
        self,
        way: UnderWay,
        container: str,
        meant: Meant,
        comparison: Comparison,
        *,
        watch: Watch | None = None,
    ) -> None:
        self._part, self._container, self._stem = way.part, container, way.master.name
        self._meant, self._comparison, self._watch = meant, comparison, watch
        self._written = Written()
        self._following: Following | None = None
        self._failure: BaseException | None = None
        self._frames = self._worked = 0
        self._thread = Thread(target=self._run, name="read-back", daemon=True)
        self._thread.start()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *error: object) -> None:
        self._written.end(left=True)
        self._thread.join()

    def written(self) -> int:
        """Say that one more frame has been written, and return how many have been found good by now."""
        self._frames += 1
        self._written.add()
        while self._is_behind() and self._thread.is_alive():
            self._thread.join(POLL)
        self._raise_failure()
        return self._comparison.frames

    def end(self, is_asked: Callable[[], bool]) -> ReadBack:
        """Wait for the rest and return what was found. Raises Stopped where `is_asked` says so meanwhile."""
        self._written.end()
        while self._thread.is_alive():
            if is_asked():
                raise Stopped(f"Stopped after {self._comparison.frames} frames were read back.")
            self._thread.join(0.1)
        self._raise_failure()
        return replace(self._comparison.end(), seconds=self._worked / 1e9)

    def _is_behind(self) -> bool:
        if not CONTAINERS[self._container].grows:
            return False
        if is_movie(self._container):
            place = self._following.place if self._following else 0
            return self._part.stat().st_size - place > LEAD
        return self._frames - self._comparison.frames > STILLS_LEAD

    def _raise_failure(self) -> None:
        if self._failure is not None:
            raise self._failure

    def _run(self) -> None:
        start = time.monotonic_ns()
        try:
            for part in self._parts():
                if self._watch is not None and isinstance(part, Picture):
                    self._watch(self._comparison.frames, part.codes)
                self._comparison.take(part)
        except (av.FFmpegError, OSError) as error:
            if not self._written.is_left:
                self._failure = self._comparison.undecodable(error)
        except BaseException as error:  # handed over to the thread that writes
            self._failure = error
        self._worked = time.monotonic_ns() - start - self._written.waited

    def _parts(self) -> Iterator[Part]:
        if not CONTAINERS[self._container].grows:
            if self._written.wait_for_end():
                yield from decoded_movie(self._part)
        elif is_movie(self._container):
            yield from self._growing()
        else:
            numbers = takewhile(self._written.is_there, count())
            yield from decoded_stills(((n, self._still(n)) for n in numbers), self._meant.kept)
            if self._written.wait_for_end() and (wave := wave_of(self._part)) is not None:
                yield from decoded_wave(wave)

    def _still(self, number: int) -> Path:
        return self._part / still_name(self._stem, number, self._container)

    def _growing(self) -> Iterator[Part]:
        if not self._written.is_there(0):
            return
        with closing(Following(self._part, self._written)) as self._following:
            yield from decoded_movie(self._following, self._meant.kept)
