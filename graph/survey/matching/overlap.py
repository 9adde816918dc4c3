"""Which colours two pictures have in common: what only one of them shows says nothing of their light.

Colours are counted in cells of CIELAB, softened, and a pixel counts by how much of its cell the other
picture has as well. So what is carried from one to the other is a part of either, as in partial transport
(Caffarelli and McCann, "Free boundaries in optimal transport", 2010); the counting is our choice.
"""

from __future__ import annotations

from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.survey.matching.distance import Array, Lab

CELL: Final = 5.0  # of CIELAB
LOW: Final = np.array([0.0, -60.0, -60.0])
CELLS: Final = (24, 24, 24)
LEAST: Final = 0.02  # that a pixel counts, so that two pictures with nothing in common are still brought near


def shared(lab: Lab, other: Lab, soft: float) -> tuple[Array, Array]:
    """Return how much each pixel of either picture, (n, 3), counts: 1 where the other has as much of it.

    `soft` is the spread, in cells, by which colours are taken for one another.
    """
    mine, places = _counted(lab, soft)
    theirs, others = _counted(other, soft)
    both = np.minimum(mine, theirs)
    return _weights(both, mine, places), _weights(both, theirs, others)


def common(weights: Array) -> float:
    """Return the share of a picture, 0 to 1, that another shows as well, by what its pixels count."""
    return float(np.mean(weights))


def _counted(lab: Lab, soft: float) -> tuple[Array, NDArray[Any]]:
    from scipy.ndimage import gaussian_filter

    cells = np.clip((lab - LOW) // CELL, 0, np.array(CELLS) - 1).astype(int)
    places = np.ravel_multi_index(tuple(cells.T), CELLS)
    counts = np.bincount(places, minlength=int(np.prod(CELLS))) / len(lab)
    return gaussian_filter(counts.reshape(CELLS), soft, mode="constant").ravel(), places


def _weights(both: Array, own: Array, places: NDArray[Any]) -> Array:
    return np.asarray(np.maximum(both[places] / np.maximum(own[places], 1e-12), LEAST))
