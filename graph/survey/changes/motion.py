"""Whether one picture is another one moved: what a camera that turns does, and a change of shot does not."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.survey.changes.likeness import NOISE, Array

CHANCE: Final = 0.4  # of what tells two pictures apart, which some movement explains by chance (our choice)
FAR: Final = (8, 10)  # rows and columns that a picture may have moved, of 24 and 32 (our choice)


def moved(before: Array, after: Array, far: tuple[int, int] = FAR) -> Array:
    """Return how much of what tells pictures from others a movement explains: 0 nothing, 1 all.

    `before` and `after` (pictures, rows, columns). Both are correlated where they overlap, at every shift by
    whole cells up to `far` (block matching over one block: the frame).
    """
    at_rest = _likeness(before, after)
    best = at_rest.copy()
    for down in range(-far[0], far[0] + 1):
        for right in range(-far[1], far[1] + 1):
            best = np.maximum(best, _likeness(shifted(before, down, right), shifted(after, -down, -right)))
    return np.asarray((best - at_rest) / np.maximum(1 - at_rest, 1e-3))


def shifted(pictures: NDArray[Any], down: int, right: int) -> NDArray[Any]:
    """Return what of `pictures` (n, rows, columns) lies on others that are moved by so many cells.

    Of those others it is what lies on these at the opposite shift.
    """
    rows, columns = pictures.shape[1:]
    return pictures[:, max(0, down) : rows + min(0, down), max(0, right) : columns + min(0, right)]


def _likeness(first: Array, second: Array) -> Array:
    one = first - first.mean(axis=(1, 2), keepdims=True)
    other = second - second.mean(axis=(1, 2), keepdims=True)
    cells = one[0].size
    floor = NOISE * NOISE
    product = np.einsum("nij,nij->n", one, other) / cells
    energy = np.einsum("nij,nij->n", one, one) * np.einsum("nij,nij->n", other, other)
    return np.asarray((product + floor) / (np.sqrt(energy) / cells + floor))
