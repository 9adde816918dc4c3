"""Scaling by named filters, as products with narrow bands of a matrix.

A picture is scaled once a frame of the whole reel: the general library's resize takes ten
to thirty times as long as encoding, this a fraction of it. Tests hold it against that library.
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

BAND: Final = 48  # rows or columns of the result that share one small matrix: fastest of those tried


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
        raise BadInput(f"there is no resize filter called {name}{near_names(name, FILTERS)}")


def resize(picture: Picture, width: int, height: int, filter_name: str) -> Picture:
    """Return a (3, h, w) picture scaled to `width` and `height`; edges are held beyond the picture.

    The outer edges of both rasters coincide, so nothing shifts. A kernel widens with the step
    where the result is smaller. A direction that keeps its size is not filtered.
    """
    check_filter(filter_name)
    if not isfinite(float(picture.sum())):
        # One such pixel would spread over a whole band.
        picture = np.nan_to_num(picture, nan=0.0, posinf=1.0, neginf=0.0)
    return _across(_down(picture, height, filter_name), width, filter_name)


def _down(picture: Picture, height: int, filter_name: str) -> Picture:
    if picture.shape[1] == height:
        return picture
    out = np.empty((3, height, picture.shape[2]), np.float32)
    for band in bands(picture.shape[1], height, filter_name):
        np.matmul(band.weights, picture[:, band.reads], out=out[:, band.writes])
    return out


def _across(picture: Picture, width: int, filter_name: str) -> Picture:
    if picture.shape[2] == width:
        return picture
    out = np.empty((3, picture.shape[1], width), np.float32)
    for band in bands(picture.shape[2], width, filter_name):
        np.matmul(picture[:, :, band.reads], band.weights.T, out=out[:, :, band.writes])
    return out


@dataclass(frozen=True, slots=True)
class Band:
    """Some samples of the result: which they are, which samples they read, with what weights."""

    writes: slice
    reads: slice
    weights: NDArray[np.float32]


@lru_cache(maxsize=8)
def bands(size: int, wanted: int, filter_name: str) -> tuple[Band, ...]:
    """Return the bands that scale a line of `size` samples to `wanted`."""
    places, weights = _taps(size, wanted, FILTERS[filter_name])
    out = []
    for start in range(0, wanted, BAND):
        stop = min(start + BAND, wanted)
        first, last = int(places[start:stop].min()), int(places[start:stop].max())
        matrix = np.zeros((stop - start, last + 1 - first))
        rows = np.arange(stop - start)[:, None]
        np.add.at(matrix, (rows, places[start:stop] - first), weights[start:stop])
        out.append(Band(slice(start, stop), slice(first, last + 1), matrix.astype(np.float32)))
    return tuple(out)


def _taps(size: int, wanted: int, shape: Filter) -> tuple[NDArray[np.intp], NDArray[np.float64]]:
    """Return for each sample wanted the samples it reads (held at the edges) and their weights, sum 1."""
    step = size / wanted
    stretch = max(1.0, step)
    centres = (np.arange(wanted) + 0.5) * step - 0.5
    first = np.floor(centres - shape.reach * stretch).astype(np.intp)
    places = first[:, None] + np.arange(ceil(2 * shape.reach * stretch) + 2)
    weights = shape.kernel((places - centres[:, None]) / stretch)
    weights /= weights.sum(axis=1, keepdims=True)
    return np.clip(places, 0, size - 1), weights
