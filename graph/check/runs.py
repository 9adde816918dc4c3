"""Frames in runs: what goes on over many of them is one finding, with the worst frame named."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator, Mapping
from dataclasses import dataclass
from typing import Final

GAP: Final = 12  # frames: what stops for less goes on, as a flicker about a limit does


@dataclass(frozen=True, slots=True)
class Run:
    """Frames [first, stop), `count` of which are meant; the `worst` of them is so much off."""

    first: int
    stop: int
    count: int
    worst: int
    most: float


def runs_of(
    frames: Mapping[int, float], shot: Callable[[int], Hashable] = lambda _: None, gap: int = GAP
) -> Iterator[Run]:
    """Yield the runs of `frames`, in order by their numbers, each with how far it is off.

    A run ends where more than `gap` frames are not among them, and where the `shot` of the next is another.
    """
    run: Run | None = None
    for number, off in frames.items():
        if run is not None and number - run.stop <= gap and shot(number) == shot(run.first):
            run = _longer(run, number, off)
            continue
        if run is not None:
            yield run
        run = Run(number, number + 1, 1, number, off)
    if run is not None:
        yield run


def _longer(run: Run, number: int, off: float) -> Run:
    is_worse = off > run.most
    return Run(
        run.first, number + 1, run.count + 1, number if is_worse else run.worst, off if is_worse else run.most
    )
