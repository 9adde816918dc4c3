"""How far long work has come: a live line on a terminal, plain lines elsewhere."""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Final, Protocol


class Step(Protocol):
    """What long work calls as it goes on."""

    def __call__(self, done: int, total: int, limit: str = "", /) -> None:
        """Take the frames done, the frames in all, and what holds the work up where that is known."""


FRAMES: Final = "frames"
SECONDS_BETWEEN_LINES: Final = 10.0


@contextmanager
def progress(what: str, counted: str = FRAMES) -> Iterator[Step]:
    """Yield a function to call with the frames done and the frames in all; it writes to standard error.

    `counted` is what they are called, where they are no frames.
    """
    if sys.stderr.isatty():
        with _live(what, counted) as step:
            yield step
    else:
        yield _PlainLines(what, counted)


def plain_progress(what: str) -> Step:
    """Return a function like that of `progress` that writes plain lines: for work that is seldom long."""
    return _PlainLines(what)


@contextmanager
def _live(what: str, counted: str) -> Iterator[Step]:
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeRemainingColumn

    columns = (
        TextColumn("{task.description}"),
        BarColumn(),
        TextColumn(f"{{task.completed:.0f}} of {{task.total}} {counted}, {{task.fields[rate]}}"),
        TimeRemainingColumn(),
        TextColumn("left{task.fields[limit]}"),
    )
    start = time.monotonic()
    with Progress(*columns, console=Console(stderr=True)) as bars:
        task = bars.add_task(what, total=None, rate="", limit="")

        def step(done: int, total: int, limit: str = "", /) -> None:
            rate = _rate(done, start, counted)
            bars.update(task, completed=done, total=total, rate=rate, limit=_limit(limit))

        yield step


class _PlainLines:
    def __init__(self, what: str, counted: str = FRAMES) -> None:
        self._what, self._counted = what, counted
        self._start = self._last = time.monotonic()
        self._is_over = False

    def __call__(self, done: int, total: int, limit: str = "", /) -> None:
        now = time.monotonic()
        if self._is_over or (done < total and now - self._last < SECONDS_BETWEEN_LINES):
            return
        self._last, self._is_over = now, done >= total
        left = _clock((now - self._start) / max(done, 1) * (total - done))
        rate = _rate(done, self._start, self._counted)
        line = f"{self._what}: {done} of {total} {self._counted}, {rate}, {left} left{_limit(limit)}"
        print(line, file=sys.stderr, flush=True)


def _rate(done: int, start: float, counted: str) -> str:
    unit = "fps" if counted == FRAMES else "a second"
    return f"{done / max(time.monotonic() - start, 1e-6):.1f} {unit}"


def _limit(limit: str) -> str:
    return f"; {limit} is the limit" if limit else ""


def _clock(seconds: float) -> str:
    whole = round(seconds)
    return f"{whole // 3600}:{whole // 60 % 60:02}:{whole % 60:02}"
