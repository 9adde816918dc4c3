"""Where the shadows, the middle tones and the highlights of a frame lie on the plane of Cb and Cr.

The balance pads show it live: when what ought to be neutral lies in the middle, it is.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.media.codes.ycbcr import encode_matrix
from lamphouse.graph.scopes.region import Picture, Region, counted
from lamphouse.graph.scopes.vectorscope import plane_of, weighted

# The darkest and the brightest hundredth are dust, scratches and lamps, not the picture (our choice).
ENDS: Final = (1, 99)
MOST_PIXELS: Final = 65_536  # of a mean over a third of the picture, more would tell nothing


@dataclass(frozen=True, slots=True)
class Tone:
    """The mean of some of the pixels: luma (0 to 1), Cb and Cr (-0.5 to 0.5)."""

    luma: float
    cb: float
    cr: float


@dataclass(frozen=True, slots=True)
class Tones:
    """The means of a frame's tones; None where it has no pixel of them."""

    shadows: Tone | None
    middle: Tone | None
    highlights: Tone | None


def tones(picture: Picture, matrix: str = "bt709", region: Region | None = None) -> Tones:
    """Return where the tones of `picture` (3, h, w) lie.

    They are equal thirds of its luma, from the 1st to the 99th percentile; what is darker or brighter is
    left out. In a picture of one luma all three are its mean. Beyond 65 536 pixels rows are left out.
    """
    pixels = counted(picture, region, MOST_PIXELS).pixels
    luma = weighted(pixels, encode_matrix(matrix)[0])
    cb, cr = plane_of(pixels, matrix)
    values = np.stack([luma, cb, cr]).reshape(3, -1)
    low, high = np.percentile(values[0], ENDS)
    edges = np.linspace(low, high, 4)
    third = [
        _mean(values[:, (values[0] >= below) & (values[0] <= above)]) for below, above in pairwise(edges)
    ]
    return Tones(*third)


def _mean(values: NDArray[np.float32]) -> Tone | None:
    if not values.size:
        return None
    luma, cb, cr = values.mean(axis=1, dtype=np.float64)
    return Tone(float(luma), float(cb), float(cr))
