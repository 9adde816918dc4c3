"""What estimates of one light have in common, and how far they differ."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.survey.starts.light import GREY_PIXELS, centred

Array = NDArray[np.float64]

# Half of the weight of others: it is led astray most by what happens to be in the picture.
WEIGHTS: Final = {GREY_PIXELS: 0.5}
SETTLED: Final = 0.05  # stops: nearer than this estimates are one (our choice)
TURNS: Final = 30


def agreed(colours: Mapping[str, Array]) -> tuple[Array, float]:
    """Return the geometric median of estimates, (3,), and their distance from it, in log2 of light.

    E. Weiszfeld, "Sur le point pour lequel la somme des distances de n points donnes est minimum" (1937).
    """
    points = np.array(list(colours.values()))
    weights = np.array([WEIGHTS.get(name, 1.0) for name in colours])
    middle = np.average(points, axis=0, weights=weights)
    for _ in range(TURNS):
        near = np.linalg.norm(points - middle, axis=1) + SETTLED
        middle = np.average(points, axis=0, weights=weights / near)
    apart = ((points - middle) ** 2).sum(axis=1)
    return centred(middle), float(np.sqrt(np.average(apart, weights=weights)))
