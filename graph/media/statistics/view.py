"""A frame as gauges see it: reduced rasters that are made once, and the codes at full raster.

All of it is the scan's own signal, R'G'B' or Y' from 0 reference black to 1 reference white, before its
encoding is undone. Measuring has to cost little beside decoding: luma is averaged, colours are picked here
and there.
"""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING, Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.media.codes.decode_planes import Coded, picked, rgb_zero_and_span
from lamphouse.graph.media.codes.shrink import means
from lamphouse.graph.media.codes.ycbcr import codes
from lamphouse.graph.media.statistics.thin import thin

if TYPE_CHECKING:
    from lamphouse.graph.media.scan.scan import Source

WIDEST: Final = 512  # columns of the reduced raster
GRID: Final = (72, 96)  # rows and columns of the small picture
GREEN: Final = 1
LEVELS: Final = 255
ENDLESS: Final = 65504.0  # what stands for an infinity: the largest half float (IEEE 754 binary16)

Picture = NDArray[np.float32]


class View:
    """One frame of a scan. `divide` is its raster over the reduced one."""

    def __init__(self, source: Source) -> None:
        self._source = source
        _, height, width = source.shape
        self.divide = max(1, 1 << max(0, (width - 1) // WIDEST).bit_length())
        self.divide = min(self.divide, max(1, height))

    @property
    def step(self) -> int:
        """Pixels from one of the `samples` to the next."""
        return 2 * int(self.divide)

    @cached_property
    def codes(self) -> NDArray[Any]:
        """Luma at full raster as the file holds it, (h, w); of R'G'B' and of floats the green."""
        source = self._source
        if isinstance(source, Coded):
            return np.asarray(source.planes[0 if source.layout.family == "ycbcr" else GREEN])
        return _finite(np.asarray(source[GREEN]))

    @cached_property
    def ends(self) -> tuple[float, float]:
        """The codes of reference black and reference white in `codes`."""
        if not isinstance(self._source, Coded):
            return 0.0, 1.0
        if self._source.layout.family == "ycbcr":
            layout = self._source.layout
            numbers = codes(layout.bits, self._source.coding.range_)
            zero, span = numbers.luma_zero << layout.shift, numbers.luma_span << layout.shift
        else:
            zero, span = rgb_zero_and_span(self._source)
        return float(zero), float(zero + span)

    @cached_property
    def luma(self) -> Picture:
        """`codes` as means of squares of `divide` pixels, from 0 to 1, float32 (h // divide, w // divide)."""
        zero, one = self.ends
        reduced = means(self.codes, self.divide, self.divide)
        reduced -= np.float32(zero)
        reduced *= np.float32(1 / (one - zero))
        return reduced

    @cached_property
    def levels(self) -> NDArray[np.uint8]:
        """`luma` in whole numbers from 0 to 255, uint8: for whoever compares many pixels."""
        levels = self.luma * np.float32(LEVELS)
        return np.clip(levels, 0, LEVELS, out=levels).astype(np.uint8)

    @cached_property
    def thin(self) -> NDArray[np.int16]:
        """How far what is thin stands out in each cell of the grid, in `levels`; below 0 where it is dark."""
        rows, columns = (_cells(size, cells)[1] for size, cells in zip(self.levels.shape, GRID, strict=True))
        return thin(self.levels, (rows, columns))

    @cached_property
    def samples(self) -> Picture:
        """One pixel of each two by two such squares as R'G'B', float32 (3, rows, columns)."""
        source, step = self._source, self.step
        if not isinstance(source, Coded):
            return _finite(np.ascontiguousarray(source[:, ::step, ::step]))
        return picked(source, step)

    @cached_property
    def picture(self) -> Picture:
        """Means of the samples over a grid, R'G'B', float32 (3, 72, 96)."""
        return over_grid(self.samples, GRID)


def over_grid(samples: Picture, grid: tuple[int, int]) -> Picture:
    """Return means of samples (3, h, w) over a grid of so many rows and columns, float32 (3, *grid)."""
    (high, rows), (wide, columns) = map(_cells, samples.shape[1:], grid)
    total = np.add.reduceat(np.add.reduceat(samples, columns, axis=2), rows, axis=1)
    return np.asarray(total / np.outer(high, wide), np.float32)


def _finite(picture: NDArray[Any]) -> NDArray[Any]:
    """Return a picture of floats with 0 where it has no number, as a still may."""
    if np.isfinite(picture).all():
        return picture
    return np.asarray(np.nan_to_num(picture, nan=0.0, posinf=ENDLESS, neginf=-ENDLESS))


def _cells(size: int, cells: int) -> tuple[NDArray[np.float32], NDArray[np.intp]]:
    """Return how many samples each cell of a line has, and where it begins; some may have to share one."""
    starts = np.asarray(np.arange(cells) * size // cells, np.intp)
    return np.maximum(np.diff(starts, append=size), 1).astype(np.float32), starts
