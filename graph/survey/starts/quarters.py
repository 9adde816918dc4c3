"""Whether all parts of a picture see the light that the whole does: what fills one part fools no other.

A sunset, a lamp in a dark room, grass below a sky: what estimators take for light there is what a part of
the picture shows, and they may well agree on it. A cast lies over every part.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.survey.starts.agreement import agreed
from lamphouse.graph.survey.starts.light import Pictures, colours_of_light, unclipped

Array = NDArray[np.float64]

SAID: Final = 0.25  # share of the pixels of a quarter that are unclipped: with fewer it says nothing
SMALL: Final = 0.2  # stops from grey: of a cast no larger no part can be expected to see much (our choice)


def least_seen(pictures: Pictures, cast: Array) -> float:
    """Return how much of `cast` the quarter of pictures (3, h, w) sees that sees least: 1 is all, 0 nothing.

    `cast` is log2 of light about 0, (3,). Estimators are asked of parts of a picture as in A. Gijsenij, R. Lu
    and T. Gevers, "Color constancy for multiple light sources" (2012), from memory.
    """
    seen = [float(agreed(colours_of_light(quarter))[0] @ cast) for quarter in _quarters(pictures)]
    return (min(seen, default=0.0) + SMALL**2) / (float(cast @ cast) + SMALL**2)


def _quarters(pictures: Pictures) -> Iterator[list[NDArray[Any]]]:
    for rows in (0, 1):
        for columns in (0, 1):
            parts = [_half(_half(picture, 1, rows), 2, columns) for picture in pictures]
            if np.mean([unclipped(part).mean() for part in parts]) > SAID:
                yield parts


def _half(picture: NDArray[Any], axis: int, which: int) -> NDArray[Any]:
    return np.array_split(picture, 2, axis)[which]
