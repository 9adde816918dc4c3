"""How like two pictures are when coarse shapes alone are looked at: for masters whose coding loses codes.

A lossy coding changes every code a little and the mean of an area hardly at all, while a wrong frame or a
wrong grade changes that of many.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

AREAS: Final = 8  # at most, across and down each plane
SIDE: Final = 16  # pixels at least of an area: fewer have no mean that a coding keeps
# Codes of 8 bits by which areas may be off, root of mean square. Measured on a photograph: H.264 at its
# coarsest 6, as a viewing copy 0.2; a grade with a tenth more gain 15, the next frame of a pan 11.
LIMIT: Final = 8.0

Means = tuple[NDArray[np.float32], ...]


def means_of(planes: Sequence[NDArray[Any]], bits: int) -> Means:
    """Return the mean of each area of each plane, in codes of 8 bits."""
    return tuple(_means(plane) * np.float32(2.0 ** (8 - bits)) for plane in planes)


def distance(one: Means, other: Means) -> float:
    """Return by how much the areas of the plane that differs most do: root of mean square."""
    return max(float(np.sqrt(np.mean((a - b) ** 2))) for a, b in zip(one, other, strict=True))


def _means(plane: NDArray[Any]) -> NDArray[np.float32]:
    for axis in (0, 1):
        size = plane.shape[axis]
        count = max(1, min(AREAS, size // SIDE))
        edges = np.arange(count) * size // count
        widths = np.diff(edges, append=size)
        plane = np.add.reduceat(plane, edges, axis, dtype=np.float64)
        plane /= widths[:, None] if axis == 0 else widths
    return plane.astype(np.float32)
