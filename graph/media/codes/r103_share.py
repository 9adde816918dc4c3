"""How much of a picture EBU R 103 finds beyond, as `r103.judge` says, without looking where nothing can be.

A pixel that is beyond once the filter has passed has one beyond within the filter's reach, whose weights are
positive and add up to one; and where all around it are beyond at one end in one channel, it is so too. So the
picture is cut into squares, the ends of their planes tell which are in doubt, and only those are judged.
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
BAND: Final = 16  # rows of squares that are judged at once: they are still in the cache
APART: Final = 4  # squares between two parts of a band, so that they are judged by themselves
OVERSHOOT: Final = 1.25  # what the weights that bring chroma up along one axis add up to, all taken positive

Plane = NDArray[Any]
Squares = NDArray[np.bool_]
Range = tuple[NDArray[Any], NDArray[Any]]  # the least and the most of each square


def share_beyond(
    picture: Coded, ends: Ends, *, is_interlaced: bool, is_filtered: bool, ignored: float = 0.0
) -> float:
    """Return what share of a picture lies beyond `ends` of the signal, 0..1: that of `judge`.

    Where it cannot be more than `ignored` it is the most that it can be.
    """
    doubtful, sure = _sorted_out(picture, ends)
    _, height, width = picture.shape
    high, wide = (_sizes(size) for size in (height, width))
    beyond, most = (int(high @ squares @ wide) for squares in (sure, doubtful | sure))
    if most <= ignored * height * width:
        return most / (height * width)
    for rows, columns in _parts(doubtful & ~sure):
        part, inner = _cut(picture, rows, columns)
        judged = judge(part, is_interlaced=is_interlaced, is_filtered=is_filtered, ends=ends)
        known = sure[rows, columns].repeat(high[rows], axis=0).repeat(wide[columns], axis=1)
        beyond += int(np.count_nonzero(judged.beyond[inner] & ~known))
    return beyond / (height * width)


def _sorted_out(picture: Coded, ends: Ends) -> tuple[Squares, Squares]:
    """Return which squares may hold a pixel beyond `ends` once filtered, and which hold no other."""
    step = 1 / codes(picture.layout.bits, picture.coding.range_).luma_span
    low, high = np.float32(ends[0]), np.float32(ends[1])
    maybe, sure = None, None
    for least, most in _of_ycbcr(picture) if picture.layout.family == "ycbcr" else _of_rgb(picture):
        some = (least < low - step / 4) | (most > high + step / 4)
        maybe = some if maybe is None else maybe | some
        if not some.any():
            continue
        every = _widest(most < low - step, np.logical_and) | _widest(least > high + step, np.logical_and)
        sure = every if sure is None else sure | every
    assert maybe is not None
    around = _widest(maybe, np.logical_or) if maybe.any() else maybe
    return np.asarray(around), np.zeros_like(maybe) if sure is None else np.asarray(sure)


def _sizes(size: int) -> NDArray[np.int64]:
    """Return how many pixels each square of a line has: the last may be short."""
    return np.diff(np.minimum(np.arange(-(-size // SIDE) + 1) * SIDE, size))


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


def _parts(squares: Squares) -> Iterator[tuple[slice, slice]]:
    """Yield parts of a picture, in squares, that hold all of those that are marked."""
    for top in range(0, len(squares), BAND):
        band = squares[top : top + BAND]
        lines = np.flatnonzero(band.any(axis=1))
        if not len(lines):
            continue
        rows = slice(top + int(lines[0]), top + int(lines[-1]) + 1)
        across = np.flatnonzero(band.any(axis=0))
        for run in np.split(across, np.flatnonzero(np.diff(across) > APART) + 1):
            yield rows, slice(int(run[0]), int(run[-1]) + 1)


def _cut(picture: Coded, rows: slice, columns: slice) -> tuple[Coded, tuple[slice, slice]]:
    """Return a part with what is around it, as far as the filter may see, and where the part lies in that."""
    over, down = picture.layout.subsampling
    _, height, width = picture.shape
    margin = SIDE * max(1, over // 2)
    first, last = rows.start * SIDE, min(rows.stop * SIDE, height)
    begin, end = columns.start * SIDE, min(columns.stop * SIDE, width)
    top, left = max(first - margin, 0), max(begin - margin, 0)
    bottom, right = last + margin, end + margin
    luma, *rest = picture.planes
    chroma = [plane[top // down : -(-bottom // down), left // over : -(-right // over)] for plane in rest]
    part = replace(picture, planes=(luma[top:bottom, left:right], *chroma))
    return part, (slice(first - top, last - top), slice(begin - left, end - left))
