"""How far two pictures are from each other in what colours they hold, wherever in them these lie.

The sliced Wasserstein distance: the colours are laid out along many directions of CIELAB, and along each the
quantiles of one are held against those of the other. Its unit is that of CIELAB: a picture that is lighter
than another by 5 of L* everywhere is about 3 from it.
Source: Rabin, Peyre, Delon and Bernot, "Wasserstein Barycenter and Its Application to Texture Mixing" (2011);
colour along projections: Pitie, Kokaram and Dahyot, "Automated colour grading using colour distribution
transfer" (2007).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Lab = NDArray[np.float64]  # (n, 3)

DIRECTIONS: Final = 16
QUANTILES: Final = 24  # of each direction (our choice)
LEFT_OUT: Final = 0.02  # of the colours at either end of a direction: specks, the gate's edge (our choice)


def _directions(count: int) -> Array:
    """Return unit vectors spread evenly over half a sphere, (count, 3): Vogel's spiral (1979)."""
    steps = np.arange(count) + 0.5
    along = 1 - steps / count
    turn = np.pi * (1 + 5**0.5) * steps
    around = np.sqrt(1 - along**2)
    return np.stack([along, around * np.cos(turn), around * np.sin(turn)], axis=1)


TOWARD: Final = _directions(DIRECTIONS)
SHARES: Final = LEFT_OUT + (1 - 2 * LEFT_OUT) * (np.arange(QUANTILES) + 0.5) / QUANTILES
COUNT: Final = DIRECTIONS * QUANTILES


@dataclass(frozen=True, slots=True, eq=False)
class Slices:
    """Which pixels are the quantiles of a picture along each direction, each between two of them."""

    lower: NDArray[Any]  # (DIRECTIONS, QUANTILES) places of pixels
    upper: NDArray[Any]
    share: Array

    def of(self, lab: Lab) -> Array:
        """Return the values of these pixels along their directions, (COUNT,), in a picture (n, 3)."""
        found = lab[self.lower] * (1 - self.share)[..., None] + lab[self.upper] * self.share[..., None]
        return np.asarray(np.einsum("dqc,dc->dq", found, TOWARD).ravel(), np.float64)


def slices(lab: Lab, weights: Array) -> Slices:
    """Return the quantiles of a picture (n, 3) whose pixels count by `weights` (n,)."""
    order = np.argsort(TOWARD @ lab.T, axis=1)
    sums = np.cumsum(weights[order], axis=1)
    places = (sums - weights[order] / 2) / sums[:, -1:]
    at = np.stack([np.interp(SHARES, row, np.arange(len(lab))) for row in places])
    lower = np.floor(at).astype(int)
    upper = np.minimum(lower + 1, len(lab) - 1)
    return Slices(np.take_along_axis(order, lower, 1), np.take_along_axis(order, upper, 1), at - lower)


def distance(lab: Lab, other: Lab, weights: Array | None = None, others: Array | None = None) -> float:
    """Return the sliced Wasserstein distance of two pictures (n, 3), in units of CIELAB.

    Pixels count by their weights (n,), or all alike.
    """
    apart = _quantiles(lab, weights) - _quantiles(other, others)
    return float(np.sqrt(np.mean(apart**2)))


def _quantiles(lab: Lab, weights: Array | None) -> Array:
    return slices(lab, np.ones(len(lab)) if weights is None else weights).of(lab)
