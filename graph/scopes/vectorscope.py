"""The vectorscope: how much of the picture lies where on the plane of Cb and Cr, and the marks upon it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from itertools import product
from math import cos, radians, sin
from typing import Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.media.codes.ycbcr import encode_matrix
from lamphouse.graph.media.master.lineup import BARS as ALL_BARS
from lamphouse.graph.scopes.levels import bins
from lamphouse.graph.scopes.region import Picture, Region, counted

# Cb and Cr at the edge of the plane: a tenth of the whole range beyond the colours that a signal can carry.
EXTENT: Final = 0.6
SIZE: Final = 257  # odd, so that grey has one cell of its own in the middle
SHARES: Final = (0.75, 1.0)  # of the bars: common practice, no source

# The six bars that are no grey.
BARS: Final = {name: rgb for name, rgb in ALL_BARS.items() if len(set(rgb)) > 1}

# Skin of any shade lies near this angle, counted from +Cb towards +Cr: common practice, no source.
SKIN_DEGREES: Final = 123.0


@dataclass(frozen=True, slots=True)
class Plane:
    """Pixels counted, (size, size): Cr by row, Cb by column, both rising; of how many rows one was taken."""

    counts: NDArray[np.intp]
    every: int


@dataclass(frozen=True, slots=True)
class Target:
    """Where the bar `name` at `share` (0.75 or 1.0) of full signal stands on the plane."""

    name: str
    share: float
    cb: float
    cr: float


def vectorscope(
    picture: Picture, matrix: str = "bt709", region: Region | None = None, size: int = SIZE
) -> Plane:
    """Count where the pixels of `picture` (3, h, w) lie on the plane of Cb and Cr, -0.6 to 0.6 each.

    `matrix` is bt601, bt709 or bt2020. Beyond 270 000 pixels rows are left out.
    """
    part = counted(picture, region)
    cb, cr = plane_of(part.pixels, matrix)
    cells = bins(cr, -EXTENT, EXTENT, size)
    cells *= size
    cells += bins(cb, -EXTENT, EXTENT, size)
    counts = np.bincount(cells.ravel(), minlength=size * size)
    return Plane(counts.reshape(size, size), part.every)


def plane_of(picture: Picture, matrix: str) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Return Cb and Cr, (h, w) each, of `picture` (3, h, w); -0.5 to 0.5 for signal of 0 to 1."""
    _, cb, cr = encode_matrix(matrix)
    return weighted(picture, cb), weighted(picture, cr)


def weighted(picture: Picture, weights: NDArray[np.float64]) -> NDArray[np.float32]:
    """Return the sum of the channels of `picture` (3, h, w), each times its weight: (h, w)."""
    # In plain steps: with three columns that is several times quicker than a matrix product.
    red, green, blue = (np.float32(w) for w in weights)
    total: NDArray[np.float32] = np.multiply(picture[0], red, dtype=np.float32)
    total += green * picture[1]
    total += blue * picture[2]
    return total


def point_on_plane(cb: float, cr: float) -> tuple[float, float]:
    """Return how far across and how far up the plane a colour stands, each from 0 to 1; grey is 0.5, 0.5."""
    return (cb + EXTENT) / (2 * EXTENT), (cr + EXTENT) / (2 * EXTENT)


@cache
def bar_targets(matrix: str) -> tuple[Target, ...]:
    """Return the six bars at 75 and at 100 per cent of full signal, where `matrix` puts them."""
    _, cb, cr = encode_matrix(matrix)
    return tuple(
        Target(name, share, float(share * cb @ rgb), float(share * cr @ rgb))
        for share, (name, rgb) in product(SHARES, BARS.items())
    )


def skin_line(length: float = 0.5) -> tuple[float, float]:
    """Return Cb, Cr of the end of the line for skin, which begins at grey. Common practice, no source."""
    angle = radians(SKIN_DEGREES)
    return length * cos(angle), length * sin(angle)
