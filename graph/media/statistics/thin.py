"""What is thin in a frame, by place: a hair in the gate stays where it is while the pictures change.

A pixel of a thin thing is darker, or brighter, than those on both of its sides, across or down: the same as a
line's ridge (`gauges/lines.py`), asked of every place and two ways. Kept for few frames, as a hair lasts.
"""

from __future__ import annotations

from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

ASIDE: Final = 1 / 80  # of the width, to either side: what is thin is less than twice as wide (our choice)

Levels = NDArray[np.uint8]


def thin(levels: Levels, starts: tuple[NDArray[np.intp], NDArray[np.intp]]) -> NDArray[np.int16]:
    """Return how far what is thin stands out at most in each cell of a grid, below 0 where it is dark.

    `levels` are whole numbers up to 255; `starts` the rows and the columns where the cells begin.
    """
    far = max(2, round(ASIDE * levels.shape[1]))
    if min(levels.shape) <= 2 * far:
        return np.zeros(tuple(map(len, starts)), np.int16)
    bright, dark = (_most(side, starts).astype(np.int16) for side in _standing_out(levels, far))
    return np.asarray(np.where(bright > dark, bright, -dark), np.int16)


def _standing_out(levels: Levels, far: int) -> tuple[Levels, Levels]:
    """Return how far each pixel is above, and how far below, those on both sides of it, across or down."""
    above, below = np.zeros_like(levels), np.zeros_like(levels)
    for axis in (0, 1):
        here, one, other, inner, outer = (
            _cut(each, axis, far, by)
            for each, by in ((levels, 0), (levels, -far), (levels, far), (above, 0), (below, 0))
        )
        most, least = np.maximum(one, other), np.minimum(one, other)
        np.maximum(inner, np.maximum(here, most) - most, out=inner)
        np.maximum(outer, least - np.minimum(here, least), out=outer)
    return above, below


def _cut(levels: Levels, axis: int, far: int, by: int) -> Levels:
    """Return what lies `by` beside all that is at least `far` from both ends of an axis."""
    part: list[Any] = [slice(None), slice(None)]
    part[axis] = slice(far + by, levels.shape[axis] - far + by)
    return np.asarray(levels[tuple(part)])


def _most(levels: Levels, starts: tuple[NDArray[np.intp], NDArray[np.intp]]) -> Levels:
    """Return the most in each cell; cells that are smaller than others reach into the next."""
    rows, columns = starts
    return np.asarray(_most_down(_most_down(levels, rows).T, columns).T)


def _most_down(levels: Levels, starts: NDArray[np.intp]) -> Levels:
    many = int(np.diff(starts, append=len(levels)).max())
    places = np.minimum(starts + np.arange(many)[:, None], len(levels) - 1)
    return np.asarray(levels[places].max(axis=0), np.uint8)
