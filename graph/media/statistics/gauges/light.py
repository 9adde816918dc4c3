"""How much light there is and where: means, a picture of few cells, the shares of each level."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.media.statistics.view import View

SMALL_ROWS, SMALL_COLUMNS = 24, 32
BINS: Final = 64  # of a histogram, from 0 to 1; what lies outside counts in the first and the last
SHARES: Final = 65535  # what a whole frame counts as in a histogram

FIELDS: Final[list[Any]] = [
    ("mean", "f4", 3),
    ("small", "u1", (3, SMALL_ROWS, SMALL_COLUMNS)),
    ("histogram", "u2", (3, BINS)),
]


def measure(row: NDArray[np.void], before: View | None, here: View, after: View | None) -> None:
    """Fill the fields of one frame."""
    _, high, wide = here.picture.shape
    cells = here.picture.reshape(3, SMALL_ROWS, high // SMALL_ROWS, SMALL_COLUMNS, wide // SMALL_COLUMNS)
    small = cells.mean(axis=(2, 4))
    row["mean"] = small.mean(axis=(1, 2))
    row["small"] = np.clip(small * 255 + 0.5, 0, 255)
    row["histogram"] = [_shares(channel) for channel in here.samples]


def _shares(channel: NDArray[np.float32]) -> NDArray[np.float64]:
    bins = np.clip(channel.ravel() * BINS, 0, BINS - 1).astype(np.intp)
    counts = np.bincount(bins, minlength=BINS)
    return np.asarray(counts * (SHARES / bins.size) + 0.5)
