"""The codes of a scan carried into a master, where nothing is corrected on the way.

What goes through R'G'B' and back is reckoned twice and rounded twice. Where components and matrix are the
same there is no need: each code has its own in the master, found by whole numbers.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.media.codes.chroma import (
    Signal,
    Sited,
    Siting,
    across,
    half_height,
    half_width,
    rows,
    taps,
)
from lamphouse.graph.media.codes.decode_planes import Coded, bands
from lamphouse.graph.media.codes.encode_planes import SITING, Plane, PlaneCoding, quantise
from lamphouse.graph.media.codes.ycbcr import codes


def is_straight(source: Coded, coding: PlaneCoding) -> bool:
    """Say whether `source` holds the components of `coding`, by the same matrix. Grey has a place in all."""
    return source.layout.family == "grey" or source.coding.matrix == coding.matrix


def carry(source: Coded, planes: Sequence[Plane], coding: PlaneCoding) -> None:
    """Write the codes of `coding` that those of `source` stand for into component planes of the same raster.

    Equal depth and range: the very codes, whichever. Another depth: zero + span * signal by whole numbers,
    halves up; from 8 bits of video range to 10 that is four times the code, and back it is the same code. So
    what is reserved for timing (ITU-R BT.709-6 section 4) is neither made nor lost: keeping it off a wire is
    for what puts pictures there. Another range: held within what may be written. Chroma is filtered only
    where its raster or its siting differs, and is then a new signal, held so too.
    """
    luma, chroma = _lines(source, coding)
    if coding.matrix is None:
        for theirs, ours in zip(source.planes, planes, strict=True):
            _map(theirs, ours, source, coding, luma)
        return
    _map(source.planes[0], planes[0], source, coding, luma)
    for theirs, ours in zip(source.planes[1:], planes[1:], strict=True):
        if source.layout.family == "grey":
            ours[:] = coding.numbers.chroma_zero
        elif _grid(source.layout.subsampling, source.coding.siting) == _grid_of(coding):
            _map(theirs, ours, source, coding, chroma)
        else:
            _filter(theirs, ours, source, coding, chroma)


@dataclass(frozen=True, slots=True)
class _Lines:
    """Where a signal lies among the codes of a scan, and of a master: code = zero + span * signal."""

    zero: int
    span: int
    to_zero: int
    to_span: int


def _lines(source: Coded, coding: PlaneCoding) -> tuple[_Lines, _Lines]:
    """Return those of luma (or R'G'B') and of chroma."""
    own, to = codes(source.layout.bits, source.coding.range_), coding.numbers
    return (
        _Lines(own.luma_zero, own.luma_span, to.luma_zero, to.luma_span),
        _Lines(own.chroma_zero, own.chroma_span, to.chroma_zero, to.chroma_span),
    )


def _map(theirs: NDArray[Any], ours: Plane, source: Coded, coding: PlaneCoding, lines: _Lines) -> None:
    """Write the code that stands for each of a plane's."""
    shift = source.layout.shift
    same = (source.layout.bits, source.coding.range_) == (coding.layout.bits, coding.range_)
    table = _table(source, coding, lines).astype(ours.dtype)
    for band in bands(len(ours)):
        found = theirs[band] >> shift if shift else theirs[band]
        ours[band] = found if same else table.take(found, mode="clip")


def _table(source: Coded, coding: PlaneCoding, lines: _Lines) -> NDArray[np.int64]:
    """Return Floor(zero + span * signal + 1/2) for every code of `source`, in whole numbers."""
    signal = np.arange(1 << source.layout.bits, dtype=np.int64) - lines.zero
    twice = 2 * (signal * lines.to_span + lines.to_zero * lines.span)
    found = (twice + lines.span) // (2 * lines.span)
    if source.coding.range_ == coding.range_:
        return np.clip(found, 0, (1 << coding.layout.bits) - 1)
    return np.clip(found, coding.numbers.lowest, coding.numbers.highest)


Axis = tuple[int, Sited]  # luma samples for one of chroma, and where it lies among them


def _grid(subsampling: tuple[int, int], siting: Siting) -> tuple[Axis, Axis]:
    """Return how chroma lies across and down; where it has luma's raster, the same at every siting."""
    over, down = subsampling
    return (over, siting.across if over > 1 else "first"), (down, siting.down if down > 1 else "first")


def _grid_of(coding: PlaneCoding) -> tuple[Axis, Axis]:
    return _grid(coding.layout.subsampling, SITING)


def _filter(theirs: NDArray[Any], ours: Plane, source: Coded, coding: PlaneCoding, lines: _Lines) -> None:
    """Write a plane of chroma, band by band of luma, brought up and down where its grid differs."""
    height, width = source.planes[0].shape
    (over, down), (to_over, to_down) = (
        _grid(source.layout.subsampling, source.coding.siting),
        _grid_of(coding),
    )
    shift = source.layout.shift
    read = taps(height, len(theirs), *down)
    for band in bands(height):
        signal = (
            _at_rows(theirs, band, down[0]) if down == to_down or down[0] == 1 else rows(theirs, read, band)
        )
        if down != to_down and to_down[0] == 2:
            signal = half_height(signal)
        if over != to_over:
            signal = across(signal, width, *over)
            signal = half_width(signal) if to_over[0] == 2 else signal
        signal -= np.float32(lines.zero << shift)
        signal /= np.float32(lines.span << shift)
        quantise(signal, lines.to_zero, lines.to_span, coding, _at_band(ours, band, to_down[0]))


def _at_band(plane: NDArray[Any], band: slice, down: int) -> NDArray[Any]:
    """Return the rows of a plane of chroma that lie under a band of luma."""
    return plane[band.start // down : -(-band.stop // down)]


def _at_rows(plane: NDArray[Any], band: slice, down: int) -> Signal:
    return _at_band(plane, band, down).astype(np.float32)
