"""Native planes of a decoded frame to R'G'B', by our own numbers.

Work goes band by band, so that what one step writes is still in the cache for the next.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from av import VideoFrame
from numpy.typing import NDArray

from lamphouse.graph.media.codes.chroma import LEFT, Siting, across, rows, taps
from lamphouse.graph.media.codes.pixel_layout import Layout, Part, layout_of
from lamphouse.graph.media.codes.ycbcr import codes, decode_matrix

BAND = 64  # rows at a time


@dataclass(frozen=True, slots=True)
class Coding:
    """How code values are meant: matrix (bt601, bt709, bt2020; None for R'G'B' and grey), range, siting."""

    matrix: str | None
    range_: str
    siting: Siting = LEFT


@dataclass(frozen=True, slots=True)
class Coded:
    """A picture in the codes that its file holds: a plane (h, w) of each component, and how they are meant.

    Grey stands three times. The planes are views: of the decoded frame's own memory, where there is one.
    """

    planes: tuple[NDArray[np.generic], ...]
    layout: Layout
    coding: Coding

    @property
    def shape(self) -> tuple[int, int, int]:
        """That of the picture as R'G'B': (3, height, width)."""
        height, width = self.planes[0].shape
        return 3, height, width

    @property
    def dtype(self) -> np.dtype[np.float32]:
        """That of the picture as R'G'B'."""
        return np.dtype(np.float32)


def coded(frame: VideoFrame, coding: Coding) -> Coded:
    """Return the codes of a decoded frame. Raises BadInput for a pixel format that is not read."""
    layout = layout_of(frame.format)
    planes = [_plane(frame, layout, index) for index in range(len(layout.parts))]
    return Coded(tuple(planes * 3 if layout.family == "grey" else planes), layout, coding)


def to_rgb(picture: Coded) -> NDArray[np.float32]:
    """Return a picture as R'G'B', float32, shape (3, height, width), 0 reference black, 1 reference white.

    Chroma is interpolated from where the coding's siting says its samples lie.
    """
    out = np.empty(picture.shape, np.float32)
    if picture.layout.family == "ycbcr":
        _from_ycbcr(picture, out)
        return out
    zero, span = rgb_zero_and_span(picture)
    for plane, channel in zip(picture.planes, out, strict=True):
        _scale(plane, zero, span, channel)
    return out


def picked(picture: Coded, step: int) -> NDArray[np.float32]:
    """Return every `step`-th pixel each way as R'G'B', as `to_rgb`, (3, rows, columns).

    Chroma that lies on those pixels is as it stands; only where none does, all of it is brought up first.
    """
    over, down = picture.layout.subsampling
    if step % over or step % down:
        return np.ascontiguousarray(to_rgb(picture)[:, ::step, ::step])
    steps = [(step, step), *[(step // down, step // over)] * (len(picture.planes) - 1)]
    planes = tuple(
        np.ascontiguousarray(plane[::high, ::wide])
        for plane, (high, wide) in zip(picture.planes, steps, strict=True)
    )
    return to_rgb(replace(picture, planes=planes, layout=replace(picture.layout, subsampling=(1, 1))))


def rgb_zero_and_span(picture: Coded) -> tuple[int, int]:
    """Return the codes of reference black, and from there to white, of R'G'B' as it lies in its samples."""
    numbers = codes(picture.layout.bits, picture.coding.range_)
    return numbers.luma_zero << picture.layout.shift, numbers.luma_span << picture.layout.shift


def rgb_ramp(picture: Coded) -> NDArray[np.float32]:
    """Return the signal of every code of an R'G'B' picture that it may hold, from 0 on."""
    zero, span = rgb_zero_and_span(picture)
    return (np.arange(1 << picture.layout.bits, dtype=np.float32) - np.float32(zero)) / np.float32(span)


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


def _from_ycbcr(picture: Coded, out: NDArray[np.float32]) -> None:
    luma, *chroma = picture.planes
    siting, (step, down) = picture.coding.siting, picture.layout.subsampling
    height, width = luma.shape
    read = taps(height, len(chroma[0]), down, siting.down)
    weights, offsets, gain, zero = chroma_weights(picture)
    for band in bands(height):
        blue, red = (
            plane[band].astype(np.float32) if down == 1 else rows(plane, read, band) for plane in chroma
        )
        base = luma[band].astype(np.float32)
        base -= zero
        base *= gain
        for channel in range(3):
            mixed = _mix(blue, red, weights[channel], offsets[channel])
            np.add(base, across(mixed, width, step, siting.across), out=out[channel, band])


def chroma_weights(
    picture: Coded,
) -> tuple[NDArray[np.float32], NDArray[np.float32], np.float32, np.float32]:
    """Return per channel what a code of Cb and of Cr adds, the constants, and gain and zero of luma."""
    assert picture.coding.matrix is not None
    numbers, shift = codes(picture.layout.bits, picture.coding.range_), picture.layout.shift
    weights = decode_matrix(picture.coding.matrix)[:, 1:] / (numbers.chroma_span << shift)
    offsets = -weights.sum(axis=1) * (numbers.chroma_zero << shift)
    gain = np.float32(1 / (numbers.luma_span << shift))
    zero = np.float32(numbers.luma_zero << shift)
    return weights.astype(np.float32), offsets.astype(np.float32), gain, zero


def _mix(
    blue: NDArray[np.float32], red: NDArray[np.float32], weights: NDArray[np.float32], offset: np.float32
) -> NDArray[np.float32]:
    """Return weights . (Cb, Cr) + offset."""
    mixed: NDArray[np.float32] = blue * weights[0]
    mixed += red * weights[1]
    mixed += offset
    return mixed
