"""One place for each frame, fitted to how far frames lie from others: neighbours, and such farther off.

So small errors do not add up: Govindu, "Combining two-view constraints for motion estimation" (2001). Pairs
that do not fit the others count less: Cauchy's weights, as in Holland and Welsch (1977).
"""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

APART: Final = (1, 3, 9, 27)  # frames between two that are held against each other
ROUNDS: Final = 3  # of weights found anew
WEAK: Final = 1e-9  # holds a path where nothing is known

Path = NDArray[np.float64]


class Pairs(NamedTuple):
    """How far each frame lies from that so many frames before, (n - apart,), and how much that counts."""

    apart: int
    steps: Path
    weights: Path


def fitted(count: int, pairs: list[Pairs], known: float) -> Path:
    """Return the places, (count,), that fit all pairs best, the first at 0; `known` is how well each is."""
    path, trust = np.zeros(count), [np.ones_like(each.weights) for each in pairs]
    for _ in range(ROUNDS):
        path = _solved(count, [Pairs(a, s, w * t) for (a, s, w), t in zip(pairs, trust, strict=True)])
        trust = [1 / (1 + ((path[a:] - path[:-a] - s) / (3 * known)) ** 2) for a, s, _ in pairs]
    return np.asarray(path - path[0])


def _solved(count: int, pairs: list[Pairs]) -> Path:
    from scipy.linalg import solveh_banded

    widest = max(apart for apart, _, _ in pairs)
    bands, right = np.zeros((widest + 1, count)), np.zeros(count)
    bands[widest] = WEAK
    for apart, shift, weight in pairs:
        known = weight + WEAK
        bands[widest, :-apart] += known
        bands[widest, apart:] += known
        bands[widest - apart, apart:] -= known
        right[apart:] += known * shift
        right[:-apart] -= known * shift
    return np.asarray(solveh_banded(bands, right, check_finite=False))
