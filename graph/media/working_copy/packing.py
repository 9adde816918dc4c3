"""How the pictures of a working copy lie on disk: R'G'B', three codes of ten bits to a word, or half floats.

Of all that was tried (`tests/bench/working_copy.py`; one thread of a processor of 2021, 768x576, 4:4:4 with
the grain of film), words of three codes cost a picture least, both ways:

| coding | to make | to read | kB | error, rms of codes of 10 bits |
|---|---|---|---|---|
| words of three codes of ten bits, by NumPy | 3 ms | 0.7 ms | 1769 | 0 |
| v410, the same by FFmpeg; not in every build | 1 | 0.4 | 1769 | 0 |
| FFVHUFF | 4 | 10 | 1647 | 0 |
| FFV1 | 66 | 80 | 1176 | 0 |
| DNxHR 444 | 57 | 7 | 389 | 11 |
| ProRes 4444 | 200 | 9 | 388 | 10 |
| CineForm 4:2:2 | 6 | 6 | 245 | 14 |
| H.264, intra, qp 16 | 12 | 13 | 901 | 2 |
| H.265, intra, qp 16 | 93 | 40 | 435 | 6 |

Grain does not compress: what is lossless saves nothing worth its time, and what is lossy costs ten times as
much and more, to read and to make, of the two cores of a plain machine that the window wants as well. What is
paid is room on the disk, which is why that is bound. The word is that of OpenGL 3.3 (section 3.8.3, from
memory), UNSIGNED_INT_2_10_10_10_REV: red in its lowest bits.
"""

from __future__ import annotations

from enum import IntEnum
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.media.codes.decode_planes import Coded, Coding, bands
from lamphouse.graph.media.codes.encode_planes import PlaneCoding, quantise
from lamphouse.graph.media.codes.pixel_layout import Layout

Words = NDArray[Any]

_BITS: Final = 10
_TOP: Final = np.uint32((1 << _BITS) - 1)
_SHIFTS: Final = tuple(np.uint32(_BITS * channel) for channel in range(3))
_LAYOUT: Final = Layout("rgb", _BITS, 0, "<u2", ())
_LARGEST: Final = float(np.finfo(np.float16).max)


class Kept(IntEnum):
    """How a picture is kept: not at all, in ten bits of full or of video range, or as half floats."""

    NOT = 0
    FULL = 1
    VIDEO = 2
    HALF = 3


_RANGES: Final = {Kept.FULL: "full", Kept.VIDEO: "video"}


def kept_as(source: Coded | NDArray[np.float32], *, is_half: bool) -> Kept:
    """Return how a picture is kept: full range for R'G'B' that has it, whose codes nothing lies beyond.

    R'G'B' from Y'CbCr lies beyond 0 and 1, as floats may: it is held in video range, between -0.068 and 1.09.
    """
    if is_half:
        return Kept.HALF
    is_full = isinstance(source, Coded) and source.coding.matrix is None and source.coding.range_ == "full"
    return Kept.FULL if is_full else Kept.VIDEO


def bytes_a_pixel(*, is_half: bool) -> int:
    """Return the bytes that a pixel takes."""
    return 6 if is_half else 4


def packed(picture: NDArray[np.float32], kept: Kept) -> Words:
    """Return R'G'B' (3, h, w) as it is written: words (h, w), or halves (3, h, w)."""
    if kept is Kept.HALF:
        return np.clip(picture, -_LARGEST, _LARGEST).astype("<f2")
    coding = PlaneCoding(_LAYOUT, None, _RANGES[kept])
    codes = np.empty(picture.shape[1:], np.uint16)
    words = np.zeros(picture.shape[1:], "<u4")
    for channel, shift in zip(picture, _SHIFTS, strict=True):
        for band in bands(len(channel)):
            quantise(channel[band], coding.numbers.luma_zero, coding.numbers.luma_span, coding, codes[band])
            words[band] |= codes[band].astype(np.uint32) << shift
    return words


def unpacked(data: NDArray[np.uint8], height: int, width: int, kept: Kept) -> Coded | NDArray[np.float32]:
    """Return a picture from what was written of it, as a scan gives it."""
    if kept is Kept.HALF:
        return data.view("<f2").reshape(3, height, width).astype(np.float32)
    words = data.view("<u4").reshape(height, width)
    planes = np.empty((3, height, width), np.uint16)
    for band in bands(height):
        part = words[band]
        for plane, shift in zip(planes, _SHIFTS, strict=True):
            np.bitwise_and(part >> shift, _TOP, out=plane[band], casting="unsafe")
    return Coded(tuple(planes), _LAYOUT, Coding(None, _RANGES[kept]))
