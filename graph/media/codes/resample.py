"""Scaling by named filters, as sums of a few samples along each axis, in an order that is written here.

A picture is scaled once a frame of the whole reel: the general library's resize takes ten
to thirty times as long as encoding, this a fraction of it. Tests hold it against that library. Products of
matrices would be as quick, but their order of sums is the processor's, and so would be the master's codes.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from math import ceil, isfinite
from typing import Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.nodes.errors import BadInput, near_names

Picture = NDArray[np.float32]
Kernel = Callable[[NDArray[np.float64]], NDArray[np.float64]]

BAND: Final = 32  # lines at a time: what is added to is still in the cache


@dataclass(frozen=True, slots=True)
class Filter:
    """A kernel over distance in samples, zero beyond `reach`."""

    kernel: Kernel
    reach: float


def _box(x: NDArray[np.float64]) -> NDArray[np.float64]:
    # Samples on the two edges count half each, so that a tie shifts nothing.
    return np.where(np.isclose(np.abs(x), 0.5), 0.5, np.abs(x) < 0.5)


def _triangle(x: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.asarray(np.maximum(1 - np.abs(x), 0))


def _cubic(b: float, c: float) -> Kernel:
    """Return the two-parameter cubic of Mitchell and Netravali, SIGGRAPH 1988 (from memory)."""

    def kernel(x: NDArray[np.float64]) -> NDArray[np.float64]:
        x = np.abs(x)
        near = (12 - 9 * b - 6 * c) * x**3 + (-18 + 12 * b + 6 * c) * x**2 + 6 - 2 * b
        far = (-b - 6 * c) * x**3 + (6 * b + 30 * c) * x**2 - (12 * b + 48 * c) * x + 8 * b + 24 * c
        return np.where(x < 1, near, np.where(x < 2, far, 0)) / 6

    return kernel


def _lanczos(lobes: int) -> Kernel:
    def kernel(x: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.where(np.abs(x) < lobes, np.sinc(x) * np.sinc(x / lobes), 0)

    return kernel


FILTERS: Final[Mapping[str, Filter]] = {
    "box": Filter(_box, 0.5),
    "triangle": Filter(_triangle, 1),
    "cubic": Filter(_cubic(0, 0.5), 2),  # the Catmull-Rom spline
    "mitchell": Filter(_cubic(1 / 3, 1 / 3), 2),
    "lanczos2": Filter(_lanczos(2), 2),
    "lanczos3": Filter(_lanczos(3), 3),
}


def check_filter(name: str) -> None:
    """Raise BadInput, with near names, where there is no filter `name`."""
    if name not in FILTERS:
        raise BadInput(f"There is no resize filter called {name}{near_names(name, FILTERS)}.")


@dataclass(frozen=True, slots=True, eq=False)
class Taps:
    """For each sample of a result, the first of the samples it reads, and the weight of it and those after.

    `first` is (n,) and `weights` (n, count); all that they read lies within the line.
    """

    first: NDArray[np.int64]
    weights: NDArray[np.float32]


Weigh = Callable[[Picture, Taps, int], Picture]


def weighted(picture: Picture, taps: Taps, axis: int) -> Picture:
    """Return the weighted sums along `axis`, 1 down or 2 across, of a (3, h, w) picture.

    This is the definition, in one order of sums: the first product, and then each of those after it added.
    """
    lines = np.ascontiguousarray(np.moveaxis(picture, axis, 1))
    out = np.empty((3, len(taps.first), lines.shape[2]), np.float32)
    for start in range(0, len(taps.first), BAND):
        cut = slice(start, start + BAND)
        first, weights = taps.first[cut], taps.weights[cut]
        made = lines[:, first] * weights[:, 0, None]
        for tap in range(1, weights.shape[1]):
            made += lines[:, first + tap] * weights[:, tap, None]
        out[:, cut] = made
    return np.ascontiguousarray(np.moveaxis(out, 1, axis))


def resize(picture: Picture, width: int, height: int, filter_name: str, weigh: Weigh = weighted) -> Picture:
    """Return a (3, h, w) picture scaled to `width` and `height`; edges are held beyond the picture.

    The outer edges of both rasters coincide, so nothing shifts. A kernel widens with the step
    where the result is smaller. A direction that keeps its size is not filtered. `weigh` does what
    `weighted` defines, to the bit.
    """
    check_filter(filter_name)
    if not isfinite(float(picture.sum())):
        # One such pixel would spread over all that reads it.
        picture = np.nan_to_num(picture, nan=0.0, posinf=1.0, neginf=0.0)
    for axis, wanted in ((1, height), (2, width)):
        if picture.shape[axis] != wanted:
            picture = weigh(picture, taps(picture.shape[axis], wanted, filter_name), axis)
    return picture


@lru_cache(maxsize=8)
def taps(size: int, wanted: int, filter_name: str) -> Taps:
    """Return the taps that scale a line of `size` samples to `wanted`."""
    places, weights = _held(size, wanted, FILTERS[filter_name])
    read = np.abs(weights) > 0
    lowest = np.where(read, places, size).min(axis=1)
    count = int((np.where(read, places, -1).max(axis=1) - lowest).max()) + 1
    first = np.minimum(lowest, size - count)
    dense = np.zeros((wanted, count))
    row, column = np.nonzero(read)
    # At an edge several of a kernel's samples are the one that is held there.
    np.add.at(dense, (row, places[row, column] - first[row]), weights[row, column])
    return Taps(first.astype(np.int64), dense.astype(np.float32))


def _held(size: int, wanted: int, shape: Filter) -> tuple[NDArray[np.intp], NDArray[np.float64]]:
    """Return for each sample wanted the samples it reads (held at the edges) and their weights, sum 1."""
    step = size / wanted
    stretch = max(1.0, step)
    centres = (np.arange(wanted) + 0.5) * step - 0.5
    first = np.floor(centres - shape.reach * stretch).astype(np.intp)
    places = first[:, None] + np.arange(ceil(2 * shape.reach * stretch) + 2)
    weights = shape.kernel((places - centres[:, None]) / stretch)
    weights /= weights.sum(axis=1, keepdims=True)
    return np.clip(places, 0, size - 1), weights
