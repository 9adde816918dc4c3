"""Pictures judged by EBU R 103: how much of one lies beyond -5 to 105 per cent, once its filter has passed.

EBU R 103 v3.0 (May 2020), second-hand: R', G', B' and Y' alike, 20 to 984 in 10 bits and 5 to 246 in 8, after
a filter over both axes, down the lines of one field where there are two; a hundredth of the picture may lie
beyond.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.media.codes.decode_planes import Coded, to_rgb
from lamphouse.graph.media.codes.encode_planes import luma_of
from lamphouse.graph.media.codes.ycbcr import LUMA, codes
from lamphouse.nodes.corrections.limit import R103
from lamphouse.nodes.levels import Ends

ACROSS: Final = (1 / 16, 2 / 16, 3 / 16, 4 / 16, 3 / 16, 2 / 16, 1 / 16)
DOWN: Final = (1 / 4, 2 / 4, 1 / 4)
AREA: Final = 0.01  # of the picture, which may lie beyond

Signal = NDArray[np.float32]


@dataclass(frozen=True, slots=True)
class Judged:
    """Which pixels (h, w) lie beyond, and what share of the picture that is, 0..1."""

    beyond: NDArray[np.bool_]
    share: float

    @property
    def is_within(self) -> bool:
        """Whether no more lies beyond than may."""
        return self.share <= AREA


def judge(
    picture: Coded, *, is_interlaced: bool = False, is_filtered: bool = True, ends: Ends = R103
) -> Judged:
    """Return what EBU R 103 says of a picture in its codes, or what other `ends` of the signal would say.

    Levels are read to the nearest code. Without the filter every pixel is judged by itself.
    """
    rgb = to_rgb(picture)
    luma = luma_of(rgb, LUMA[picture.coding.matrix or "bt709"])
    half = 0.5 / codes(picture.layout.bits, picture.coding.range_).luma_span
    beyond = np.zeros(luma.shape, bool)
    for part in (*rgb, luma):
        level = filtered(part, is_interlaced=is_interlaced) if is_filtered else part
        beyond |= (level < ends[0] - half) | (level > ends[1] + half)
    return Judged(beyond, float(beyond.mean()))


def filtered(level: Signal, *, is_interlaced: bool = False) -> Signal:
    """Return a component (h, w) as the filter of EBU R 103 passes it; ends are held beyond the picture."""
    if not is_interlaced:
        return _weighted(_weighted(level, ACROSS, 1), DOWN, 0)
    out = np.empty_like(level)
    for field in (slice(0, None, 2), slice(1, None, 2)):
        out[field] = filtered(level[field])
    return out


def _weighted(level: Signal, taps: tuple[float, ...], axis: int) -> Signal:
    size, edge = level.shape[axis], len(taps) // 2
    if not size:
        return level
    sides = [(edge, edge) if n == axis else (0, 0) for n in range(2)]
    wide = np.moveaxis(np.pad(level, sides, mode="edge"), axis, 0)
    total = wide[:size] * np.float32(taps[0])
    for start, tap in enumerate(taps[1:], 1):
        total += wide[start : start + size] * np.float32(tap)
    return np.moveaxis(total, 0, axis)
