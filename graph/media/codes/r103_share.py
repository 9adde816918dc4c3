"""How much of a picture EBU R 103 finds beyond, as `r103.judge` says, without looking where nothing can be.

A pixel that is beyond once the filter has passed has one beyond within the filter's reach, whose weights are
positive and add up to one. So the picture is cut into squares, the ends of their planes tell which may hold
such a pixel, and only those and the ones around them are judged.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.media.codes.decode_planes import Coded, chroma_weights, rgb_zero_and_span
from lamphouse.graph.media.codes.r103 import judge
from lamphouse.graph.media.codes.ycbcr import codes
from lamphouse.nodes.levels import Ends

SIDE: Final = 8  # pixels of a square: more than the reach of the filter, and whole chroma samples
MARGIN: Final = 2 * SIDE  # pixels around a part that the filter, and chroma under it, may see
OVERSHOOT: Final = 1.25  # what the weights that bring chroma up along one axis add up to, all taken positive

Plane = NDArray[Any]
Range = tuple[NDArray[Any], NDArray[Any]]  # the least and the most of each square


def share_beyond(picture: Coded, ends: Ends, *, is_interlaced: bool, is_filtered: bool) -> float:
    """Return what share of a picture lies beyond `ends` of the signal, 0..1: that of `judge`."""
    doubtful = _around(doubtful_squares(picture, ends))
    _, height, width = picture.shape
    beyond = 0
    for rows, columns in _parts(doubtful, height, width):
        part, inner = _cut(picture, rows, columns)
        judged = judge(part, is_interlaced=is_interlaced, is_filtered=is_filtered, ends=ends)
        beyond += int(np.count_nonzero(judged.beyond[inner]))
    return beyond / (height * width)


def doubtful_squares(picture: Coded, ends: Ends) -> NDArray[np.bool_]:
    """Return which squares of a picture may hold a pixel of R', G', B' or Y' beyond `ends`."""
    quarter = 0.25 / codes(picture.layout.bits, picture.coding.range_).luma_span
    low, high = ends[0] - quarter, ends[1] + quarter
    bounds = _of_ycbcr(picture) if picture.layout.family == "ycbcr" else _of_rgb(picture)
    first, *rest = ((least < low) | (most > high) for least, most in bounds)
    for other in rest:
        first |= other
    return np.asarray(first)


def _of_rgb(picture: Coded) -> Iterator[Range]:
    zero, span = rgb_zero_and_span(picture)
    is_grey = picture.layout.family == "grey"
    for plane in picture.planes[:1] if is_grey else picture.planes:
        yield tuple((end.astype(np.float32) - zero) / np.float32(span) for end in _ends(plane, SIDE, SIDE))  # type: ignore[misc]


def _of_ycbcr(picture: Coded) -> Iterator[Range]:
    over, down = picture.layout.subsampling
    weights, offsets, gain, zero = chroma_weights(picture)
    low, high = ((end.astype(np.float32) - zero) * gain for end in _ends(picture.planes[0], SIDE, SIDE))
    more = (OVERSHOOT ** ((over > 1) + (down > 1)) - 1) / 2
    chroma = [
        _reached(_ends(plane, SIDE // down, SIDE // over), more, low.shape) for plane in picture.planes[1:]
    ]
    yield low, high
    for channel in range(3):
        least, most = low + offsets[channel], high + offsets[channel]
        for weight, (bottom, top) in zip(weights[channel], chroma, strict=True):
            least += np.minimum(weight * bottom, weight * top)
            most += np.maximum(weight * bottom, weight * top)
        yield least, most


def _reached(ends: Range, more: float, shape: tuple[int, ...]) -> Range:
    """Return between what chroma may come up to in each square, which reads that of its neighbours too."""
    if not more:
        return ends
    rows, columns = (np.minimum(np.arange(n), m - 1) for n, m in zip(shape, ends[0].shape, strict=True))
    least, most = (end[np.ix_(rows, columns)].astype(np.float32) for end in ends)
    least, most = _widest(least, np.minimum), _widest(most, np.maximum)
    further = (most - least) * np.float32(more)
    return least - further, most + further


def _widest(squares: Plane, pick: np.ufunc) -> Plane:
    """Return for each square the least, or the most, of it and of those around it."""
    for axis in (0, 1):
        wide = np.pad(squares, [(1, 1) if n == axis else (0, 0) for n in range(2)], mode="edge")
        size = squares.shape[axis]
        parts = (np.take(wide, range(start, start + size), axis) for start in range(3))
        one, two, three = parts
        squares = pick(pick(one, two), three)
    return squares


def _ends(plane: Plane, high: int, wide: int) -> Range:
    """Return the least and the most code of each square of `high` by `wide` samples."""
    rows, columns = (-size % side for size, side in zip(plane.shape, (high, wide), strict=True))
    if rows or columns:
        plane = np.pad(plane, ((0, rows), (0, columns)), mode="edge")
    return _reduced(plane, high, wide, np.minimum), _reduced(plane, high, wide, np.maximum)


def _reduced(plane: Plane, high: int, wide: int, pick: np.ufunc) -> Plane:
    found = plane[::high]
    for row in range(1, high):
        found = pick(found, plane[row::high])
    return np.asarray(pick.reduce(found.reshape(len(found), -1, wide), axis=2))


def _around(squares: NDArray[np.bool_]) -> NDArray[np.bool_]:
    return np.asarray(_widest(squares, np.logical_or)) if squares.any() else squares


def _parts(squares: NDArray[np.bool_], height: int, width: int) -> Iterator[tuple[slice, slice]]:
    """Yield the parts of a picture, by rows and columns, that hold all that is doubtful."""
    lines = np.flatnonzero(squares.any(axis=1))
    for run in np.split(lines, np.flatnonzero(np.diff(lines) > 1) + 1) if len(lines) else ():
        across = np.flatnonzero(squares[run[0] : run[-1] + 1].any(axis=0))
        rows = slice(run[0] * SIDE, min((run[-1] + 1) * SIDE, height))
        yield rows, slice(across[0] * SIDE, min((across[-1] + 1) * SIDE, width))


def _cut(picture: Coded, rows: slice, columns: slice) -> tuple[Coded, tuple[slice, slice]]:
    """Return a part with what is around it, as far as the filter may see, and where the part lies in that."""
    over, down = picture.layout.subsampling
    top, left = max(rows.start - MARGIN, 0), max(columns.start - MARGIN, 0)
    bottom, right = rows.stop + MARGIN, columns.stop + MARGIN
    first, *rest = picture.planes
    chroma = [plane[top // down : -(-bottom // down), left // over : -(-right // over)] for plane in rest]
    part = replace(picture, planes=(first[top:bottom, left:right], *chroma))
    return part, (
        slice(rows.start - top, rows.stop - top),
        slice(columns.start - left, columns.stop - left),
    )
