"""A working copy made by another process, which asks for nothing but what others leave of the processors.

What is missing of the scan's statistics is measured in the same pass.

A thread of the desk would hold Python's lock when the picture wants it. The process lives as long as its
standard input is open, so that it ends with the desk, however that ends.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import asdict, dataclass
from pathlib import Path
from threading import Thread
from typing import IO, Any, Final

from lamphouse.graph.files.locks import Held
from lamphouse.graph.files.record import gather, spread
from lamphouse.graph.media.scan.open import open_scan
from lamphouse.graph.media.statistics.kept import KeptStatistics
from lamphouse.graph.media.statistics.make import missing_measured
from lamphouse.graph.media.working_copy.copy import SEGMENT, WorkingCopy, working_copy_of
from lamphouse.graph.media.working_copy.make import make_working_copy
from lamphouse.graph.media.working_copy.room import Room
from lamphouse.graph.reel.records import ScanRef
from lamphouse.nodes.errors import BadInput

LOWEST: Final = 19  # of POSIX: the most that a process can give way
SOME: Final = 10  # a tenth of what others get where all is wanted: somebody waits for it (our choice)
ANOTHER: Final = 2.0  # seconds between two looks at a copy that another process makes
PATIENCE: Final = 0.5  # seconds that `close` waits: one that is to run last may end late


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a copy has come; `reason` is why it goes no farther, where it does not."""

    done: int
    frames: int
    reason: str = ""

    @property
    def is_over(self) -> bool:
        """Whether no more is to come."""
        return bool(self.reason) or self.done >= self.frames


class Apart:
    """The process that makes a copy. `said` is called on a thread of its own until `close`."""

    def __init__(
        self,
        copy: WorkingCopy,
        said: Callable[[Progress], None],
        *,
        first: int = 0,
        room: Room = Room(),  # noqa: B008 (frozen)
    ) -> None:
        order = {"scan": spread(copy.scan), "path": str(copy.path), "room": asdict(room)}
        self._said, self._is_open, self._first = said, True, first // SEGMENT
        self._process = subprocess.Popen(
            [sys.executable, "-m", __spec__.name],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            bufsize=0,
            **_unheeded(),
        )
        self._tell(json.dumps(order))
        _never_waits(self._process.stdin)
        self._tell(str(first))
        self._thread = Thread(target=self._listen, name="working copy", daemon=True)
        self._thread.start()

    @property
    def pid(self) -> int:
        """The number of the process."""
        return self._process.pid

    def go_on_from(self, frame: int) -> None:
        """Have the copy made from another frame on."""
        if frame // SEGMENT != self._first:
            self._first = frame // SEGMENT
            self._tell(str(frame))

    def _tell(self, line: str) -> None:
        assert self._process.stdin is not None
        with suppress(OSError, ValueError):  # it has ended: its standard output says so
            self._process.stdin.write(f"{line}\n".encode())

    def _listen(self) -> None:
        assert self._process.stdout is not None
        last = Progress(0, 1)
        for line in self._process.stdout:
            with suppress(ValueError, TypeError):
                last = Progress(**json.loads(line))
                self._said(last)
        self._process.stdout.close()
        if self._process.wait() and self._is_open and not last.is_over:
            reason = "The process that makes the working copy has ended; turn it off and on again."
            self._said(Progress(last.done, last.frames, reason))

    def close(self) -> None:
        """End the process, at once: what is made stays, and what is half-made is of no use to anyone."""
        self._is_open = False
        with suppress(OSError):
            if self._process.stdin is not None:
                self._process.stdin.close()
        self._process.kill()
        self._thread.join(PATIENCE)


def _never_waits(pipe: IO[bytes] | None) -> None:
    """Have what is written be lost where its reader is behind by a whole pipe, and not waited for."""
    if pipe is not None and sys.platform != "win32":  # there only from Python 3.12 on
        os.set_blocking(pipe.fileno(), False)


def _unheeded() -> dict[str, Any]:
    """Return what keeps signals of the terminal from the process, which ends otherwise."""
    if sys.platform == "win32":
        return {"creationflags": subprocess.CREATE_NEW_PROCESS_GROUP | subprocess.IDLE_PRIORITY_CLASS}
    return {"process_group": 0}  # and no session of its own: Linux would give that an equal share


def main() -> None:
    """Make the copy that the first line of standard input asks for; say on standard output how it goes.

    Each other line is the frame from which to go on.
    """
    order, first = json.loads(sys.stdin.readline()), _First()
    Thread(target=first.follow, daemon=True).start()
    give_way()
    copy = working_copy_of(gather(order["scan"], ScanRef), Path(order["path"]))
    try:
        _make(copy, first, Room(**order["room"]))
    except BadInput as error:
        _say(Progress(copy.made(), copy.frames, str(error)))


class _First:
    """The frame from which to go on, as standard input says; with its end this process ends."""

    def __init__(self) -> None:
        self._frame = 0

    def __call__(self) -> int:
        return self._frame

    def follow(self) -> None:
        """Read what it says."""
        while line := sys.stdin.readline():
            self._frame = int(line)
        os._exit(0)


def _make(copy: WorkingCopy, first: Callable[[], int], room: Room) -> None:
    scan = copy.scan
    seen = missing_measured(KeptStatistics(scan, copy.path))
    while True:
        try:
            make_working_copy(
                copy,
                lambda: open_scan(copy.path, matrix=scan.matrix, range_=scan.range),
                first=first,
                said=lambda done, frames: _say(Progress(done, frames)),
                seen=seen,
                room=room,
            )
            return
        except Held:  # if the other one ends, this one goes on
            _say(Progress(copy.made(), copy.frames))
            if copy.made() >= copy.frames:
                return
            time.sleep(ANOTHER)


def give_way(by: int = LOWEST) -> None:
    """Let this process run `by` levels behind others, by the most only when nothing else wants to.

    As far as the system knows that.
    """
    if by == LOWEST and hasattr(os, "sched_setscheduler") and hasattr(os, "SCHED_IDLE"):
        with suppress(OSError):
            os.sched_setscheduler(0, os.SCHED_IDLE, os.sched_param(0))
            return
    if hasattr(os, "nice"):
        os.nice(by)


def _say(progress: Progress) -> None:
    print(json.dumps(asdict(progress)), flush=True)


if __name__ == "__main__":
    main()
