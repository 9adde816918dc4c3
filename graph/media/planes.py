"""Native planes of a decoded frame to R'G'B', by our own numbers.

Work goes band by band, so that what one step writes is still in the cache for the next.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from av import VideoFrame
from numpy.typing import NDArray

from lamphouse.graph.media.chroma import LEFT, Siting, add_across, rows
from lamphouse.graph.media.pixel_layout import Layout, Part, layout_of
from lamphouse.graph.media.ycbcr import Codes, codes, decode_matrix

BAND = 64  # rows at a time


@dataclass(frozen=True, slots=True)
class Coding:
    """How code values are meant: matrix (bt601, bt709, bt2020; None for R'G'B' and grey), range, siting."""

    matrix: str | None
    range_: str
    siting: Siting = LEFT


def to_rgb(frame: VideoFrame, coding: Coding) -> NDArray[np.float32]:
    """Return a frame as R'G'B', float32, shape (3, height, width), 0 reference black, 1 reference white.

    Chroma is interpolated linearly from where `coding.siting` says its samples lie.
    Raises BadInput for a pixel format that is not read.
    """
    layout = layout_of(frame.format)
    planes = [_plane(frame, layout, index) for index in range(len(layout.parts))]
    out = np.empty((3, frame.height, frame.width), np.float32)
    numbers = codes(layout.bits, coding.range_)
    if layout.family == "ycbcr":
        _from_ycbcr(planes, layout, numbers, coding, out)
        return out
    zero, span = numbers.luma_zero << layout.shift, numbers.luma_span << layout.shift
    for plane, channel in zip(planes, out, strict=False):
        _scale(plane, zero, span, channel)
    if layout.family == "grey":
        out[1:] = out[0]
    return out


def _plane(frame: VideoFrame, layout: Layout, index: int) -> NDArray[np.generic]:
    """Return one component as a view of the frame's own memory, (height, width) of that component."""
    part, component = layout.parts[index], frame.format.components[index]
    plane = frame.planes[part.plane]
    samples = np.frombuffer(plane, layout.dtype)  # type: ignore[call-overload]
    lines = samples.reshape(-1, abs(plane.line_size) // samples.itemsize)
    if plane.line_size < 0:  # stored from the bottom up
        lines = lines[::-1]
    return _cut(lines, part, component.height, component.width)


def _cut(lines: NDArray[np.generic], part: Part, height: int, width: int) -> NDArray[np.generic]:
    return lines[:height, part.first :: part.step][:, :width]


def _scale(plane: NDArray[np.generic], zero: int, span: int, out: NDArray[np.float32]) -> None:
    """Write (code - zero) / span: divided, so that code / span is the nearest float32."""
    for band in bands(len(out)):
        out[band] = plane[band]
        if zero:
            out[band] -= np.float32(zero)
        out[band] /= np.float32(span)


def bands(height: int) -> Iterator[slice]:
    """Yield slices of rows, small enough that what one step writes is in the cache for the next."""
    for start in range(0, height, BAND):
        yield slice(start, min(start + BAND, height))


def _from_ycbcr(
    planes: list[NDArray[np.generic]],
    layout: Layout,
    numbers: Codes,
    coding: Coding,
    out: NDArray[np.float32],
) -> None:
    luma, cb, cr = planes
    across, down = layout.subsampling
    weights, offsets, gain, zero = _weights(numbers, coding, layout.shift)
    for band in bands(luma.shape[0]):
        wanted = np.arange(band.start, band.stop)
        blue = rows(cb, wanted, down, coding.siting.down)
        red = rows(cr, wanted, down, coding.siting.down)
        base = luma[band].astype(np.float32)
        base -= zero
        base *= gain
        for channel in range(3):
            chroma = _mix(blue, red, weights[channel], offsets[channel])
            out[channel, band] = base
            add_across(out[channel, band], chroma, across, coding.siting.across)


def _weights(
    numbers: Codes, coding: Coding, shift: int
) -> tuple[NDArray[np.float32], NDArray[np.float32], np.float32, np.float32]:
    """Return per channel what a code of Cb and of Cr adds, the constants, and gain and zero of luma."""
    assert coding.matrix is not None
    scale = numbers.chroma_span << shift
    weights = decode_matrix(coding.matrix)[:, 1:] / scale
    offsets = -weights.sum(axis=1) * (numbers.chroma_zero << shift)
    gain = np.float32(1 / (numbers.luma_span << shift))
    return (
        weights.astype(np.float32),
        offsets.astype(np.float32),
        gain,
        np.float32(numbers.luma_zero << shift),
    )


def _mix(
    blue: NDArray[np.float32], red: NDArray[np.float32], weights: NDArray[np.float32], offset: np.float32
) -> NDArray[np.float32]:
    """Return weights . (Cb, Cr) + offset."""
    mixed: NDArray[np.float32] = blue * weights[0]
    mixed += red * weights[1]
    mixed += offset
    return mixed
