"""Changes of a signal that oppose each other in turn, place by place: up, then down, then up again."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Grid = NDArray[np.float32]
Mask = NDArray[np.bool_]


class Swings:
    """Follows a signal over a grid. A change counts once it is as large as `change`, however slowly it grew.

    It is reckoned from the last peak or valley, and only where the valley lies below `darker`.
    """

    _low: Grid  # since the last change
    _high: Grid
    _marked: Mask  # whether that at `_high` was
    _way: NDArray[np.int8]  # of the last change: 1 up, -1 down

    def __init__(self, change: float, darker: float = float("inf")) -> None:
        self._change, self._darker = np.float32(change), np.float32(darker)
        self.forget()

    def forget(self) -> None:
        """Begin anew with the next that is taken."""
        self._begin(np.zeros((0, 0), np.float32), np.zeros((0, 0), bool))

    def take(self, value: Grid, marked: Mask | None = None) -> tuple[Mask, Mask]:
        """Return where `value` (rows, columns) has now risen, and where it has fallen.

        With `marked` a change counts only where the brighter of its two ends is marked.
        """
        marked = np.ones(value.shape, bool) if marked is None else marked
        if self._low.shape != value.shape:
            self._begin(value, marked)
        up = (self._way <= 0) & (value - self._low >= self._change) & (self._low < self._darker) & marked
        down = (self._way >= 0) & (self._high - value >= self._change) & (value < self._darker)
        down &= self._marked
        self._way[up], self._way[down] = 1, -1
        turned = up | down
        tops = turned | (value >= self._high)
        self._high, self._marked = np.where(tops, value, self._high), np.where(tops, marked, self._marked)
        self._low = np.where(turned, value, np.minimum(self._low, value))
        return up, down

    def _begin(self, value: Grid, marked: Mask) -> None:
        self._low, self._high, self._marked = value, value, marked
        self._way = np.zeros(value.shape, np.int8)
