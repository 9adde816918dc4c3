"""Scaling, moving and turning by named filters, as sums of a few samples along each axis, in a written order.

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

PARTS: Final = 4096  # of a sample, to which places are taken where each pixel has its own
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

    def shape(self, picture: Picture, axis: int) -> tuple[int, ...]:
        """Return the shape of what is made of `picture` along `axis`."""
        return tuple(len(self.first) if n == axis else size for n, size in enumerate(picture.shape))


@dataclass(frozen=True, slots=True)
class Line:
    """A line of `size` samples, and which of those that are made of it are wanted, by number.

    Number n lies at (n + 1/2 - offset) * step samples from the line's first edge.
    """

    size: int
    wanted: range
    step: float
    offset: float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Slant:
    """For each pixel of a result the first of the samples it reads, and by which row of `weights`.

    That is where its row, of `rows`, and its column, of `columns`, put it together, in 1/PARTS of a sample:
    the whole samples, and the parts beyond. `weights` is (PARTS, count). Ends of the line are held.
    """

    rows: NDArray[np.int32]
    columns: NDArray[np.int32]
    weights: NDArray[np.float32]

    def shape(self, picture: Picture, axis: int) -> tuple[int, ...]:
        """Return the shape of what is made of `picture` along `axis`."""
        return picture.shape[0], len(self.rows), len(self.columns)


Weigh = Callable[[Picture, Taps | Slant, int], Picture]


def weighted(picture: Picture, taps: Taps | Slant, axis: int) -> Picture:
    """Return the weighted sums along `axis`, 1 down or 2 across, of a (3, h, w) picture.

    This is the definition, in one order of sums: the first product, and then each of those after it added.
    """
    if isinstance(taps, Slant):
        return slanted(picture, taps, axis)
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
        size = picture.shape[axis]
        if size != wanted:
            picture = weigh(picture, taps(Line(size, range(wanted), size / wanted), filter_name), axis)
    return picture


@lru_cache(maxsize=8)
def taps(line: Line, filter_name: str) -> Taps:
    """Return the taps that make the samples of `line` that are wanted."""
    size, wanted = line.size, len(line.wanted)
    places, weights = _held(line, FILTERS[filter_name])
    read = np.abs(weights) > 0
    lowest = np.where(read, places, size).min(axis=1)
    count = int((np.where(read, places, -1).max(axis=1) - lowest).max()) + 1
    first = np.minimum(lowest, size - count)
    dense = np.zeros((wanted, count))
    row, column = np.nonzero(read)
    # At an edge several of a kernel's samples are the one that is held there.
    np.add.at(dense, (row, places[row, column] - first[row]), weights[row, column])
    return Taps(first.astype(np.int64), dense.astype(np.float32))


def _held(line: Line, shape: Filter) -> tuple[NDArray[np.intp], NDArray[np.float64]]:
    """Return for each sample wanted the samples it reads (held at the edges) and their weights, sum 1."""
    stretch = max(1.0, line.step)
    centres = (np.asarray(line.wanted) + 0.5 - line.offset) * line.step - 0.5
    first = np.floor(centres - shape.reach * stretch).astype(np.intp)
    places = first[:, None] + np.arange(ceil(2 * shape.reach * stretch) + 2)
    weights = shape.kernel((places - centres[:, None]) / stretch)
    weights /= weights.sum(axis=1, keepdims=True)
    return np.clip(places, 0, line.size - 1), weights


def slant(rows: NDArray[np.float64], columns: NDArray[np.float64], step: float, filter_name: str) -> Slant:
    """Return the sums of a line of samples that is read from `rows` + `columns`, in samples from its first.

    `step` is how far apart neighbours of a result read. Places are taken to the nearest 1/PARTS of a sample.
    """
    weights = _by_part(filter_name, max(1.0, step))
    before = weights.shape[1] // 2 - 1
    return Slant(_in_parts(rows - before), _in_parts(columns), weights)


def _in_parts(places: NDArray[np.float64]) -> NDArray[np.int32]:
    return np.rint(places * PARTS).astype(np.int32)


@lru_cache(maxsize=8)
def _by_part(filter_name: str, stretch: float) -> NDArray[np.float32]:
    """Return the weights of the samples about a place, for each part of a sample that it lies behind one."""
    shape = FILTERS[filter_name]
    reach = ceil(shape.reach * stretch)
    behind = np.arange(PARTS)[:, None] / PARTS
    weights = shape.kernel((np.arange(1 - reach, reach + 1) - behind) / stretch)
    return np.asarray(weights / weights.sum(axis=1, keepdims=True), np.float32)


def slanted(picture: Picture, slant: Slant, axis: int) -> Picture:
    """Return what `weighted` does, where each pixel reads from a place of its own."""
    out = np.empty((3, len(slant.rows), len(slant.columns)), np.float32)
    last = picture.shape[axis] - 1
    across = np.arange(len(slant.columns))
    for start in range(0, len(slant.rows), BAND):
        cut = slice(start, start + BAND)
        down = np.arange(start, start + len(slant.rows[cut]))[:, None]
        places = slant.rows[cut, None] + slant.columns
        first, part = places // PARTS, places % PARTS
        for tap in range(slant.weights.shape[1]):
            at = np.clip(first + tap, 0, last)
            read = picture[:, at, across] if axis == 1 else picture[:, down, at]
            product = read * slant.weights[part, tap]
            out[:, cut] = product if tap == 0 else out[:, cut] + product
    return out
