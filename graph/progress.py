"""How far long work has come: a live line on a terminal, plain lines elsewhere."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Final

Step = Callable[[int], None]  # called with the number of frames done

SECONDS_BETWEEN_LINES: Final = 10.0


@contextmanager
def progress(what: str, total: int) -> Iterator[Step]:
    """Yield a function to call with the number of frames done of `total`; it writes to standard error."""
    if sys.stderr.isatty():
        with _live(what, total) as step:
            yield step
    else:
        yield _PlainLines(what, total)


@contextmanager
def _live(what: str, total: int) -> Iterator[Step]:
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeRemainingColumn

    columns = (
        TextColumn("{task.description}"),
        BarColumn(),
        TextColumn("{task.completed:.0f} of {task.total:.0f} frames, {task.fields[rate]}"),
        TimeRemainingColumn(),
        TextColumn("left"),
    )
    start = time.monotonic()
    with Progress(*columns, console=Console(stderr=True)) as bars:
        task = bars.add_task(what, total=total, rate="")
        yield lambda done: bars.update(task, completed=done, rate=_rate(done, start))


class _PlainLines:
    def __init__(self, what: str, total: int) -> None:
        self._what = what
        self._total = total
        self._start = self._last = time.monotonic()

    def __call__(self, done: int) -> None:
        now = time.monotonic()
        if done < self._total and now - self._last < SECONDS_BETWEEN_LINES:
            return
        self._last = now
        left = (now - self._start) / max(done, 1) * (self._total - done)
        print(
            f"{self._what}: {done} of {self._total} frames, {_rate(done, self._start)}, {_clock(left)} left",
            file=sys.stderr,
            flush=True,
        )


def _rate(done: int, start: float) -> str:
    return f"{done / max(time.monotonic() - start, 1e-6):.1f} fps"


def _clock(seconds: float) -> str:
    whole = round(seconds)
    return f"{whole // 3600}:{whole // 60 % 60:02}:{whole % 60:02}"
