"""A count-down: figures that give way to one another at even times before a ground that stays.

That is what leaders with figures have in common, a foot or a second apart, with a hand that sweeps or without
(SMPTE ST 55 and the academy leader before it; from memory). How it is told is our choice.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.survey.changes.likeness import Array

LONGEST: Final = 300  # frames
FIGURES: Final = 5  # at least
APART: Final = (14, 50)  # frames: from a foot of 35 mm, 16, to two seconds, with room
SEEN: Final = 0.06  # of white, by which a cell changes with a figure
STAYS: Final = 0.2  # of the cells are always the same
SHARE: Final = 0.03  # of the cells, which a figure changes beside what changes in any frame


def is_countdown(picture: Array) -> bool:
    """Say whether pictures (frames, 3, rows, columns), one after the other, count."""
    if not FIGURES * APART[0] <= len(picture) <= LONGEST:
        return False
    usual = np.median(picture, axis=0)
    stays = (np.abs(picture - usual).max(axis=1) < SEEN).mean(axis=0) > 0.9
    if stays.mean() < STAYS:
        return False
    steps = (np.abs(np.diff(picture, axis=0)).max(axis=1) > SEEN).mean(axis=(1, 2))
    return _is_even(np.flatnonzero(steps > np.median(steps) + SHARE))


def _is_even(at: NDArray[np.intp]) -> bool:
    """Say whether things happen at even times; what happens a frame or two later is the same."""
    first = at[np.diff(at, prepend=-9) > 2]
    if len(first) < FIGURES - 1:
        return False
    gaps = np.diff(first)
    middle = float(np.median(gaps))
    return bool(APART[0] <= middle <= APART[1] and np.abs(gaps - middle).max() <= 1.5)
