"""The RGB parade and the histogram: how much of each channel stands at which level, and where."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.scopes.levels import HIGHEST, LEVELS, LOWEST, bins
from lamphouse.graph.scopes.region import Picture, Region, counted

COLUMNS: Final = 256


@dataclass(frozen=True, slots=True)
class Counts:
    """Pixels counted, and of how many rows one was taken.

    Of a parade (3, columns, levels): red, green, blue; the lowest level first.
    """

    counts: NDArray[np.intp]
    every: int


def parade(
    picture: Picture, region: Region | None = None, columns: int = COLUMNS, levels: int = LEVELS
) -> Counts:
    """Count the levels, -0.1 to 1.1 of signal, of each channel of `picture` (3, h, w) across its width.

    A picture narrower than `columns` has a column a pixel. Beyond 270 000 pixels rows are left out.
    """
    part = counted(picture, region)
    width = part.pixels.shape[2]
    columns = min(columns, width)
    first = np.arange(width, dtype=np.intp) * columns // width * levels
    each = [_count(channel, first, columns * levels, levels) for channel in part.pixels]
    return Counts(np.reshape(each, (3, columns, levels)), part.every)


def histogram(parade: Counts) -> NDArray[np.intp]:
    """Return how much of each channel stands at which level, wherever that is: (3, levels)."""
    counts: NDArray[np.intp] = parade.counts.sum(axis=1)
    return counts


def _count(channel: NDArray[Any], first: NDArray[np.intp], size: int, levels: int) -> NDArray[np.intp]:
    found = bins(channel, LOWEST, HIGHEST, levels)
    found += first
    return np.bincount(found.ravel(), minlength=size)
