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
from lamphouse.graph.media.codes.ycbcr import codes
from lamphouse.nodes.corrections.limit import R103
from lamphouse.nodes.levels import Ends

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
    half = 0.5 / codes(picture.layout.bits, picture.coding.range_).luma_span
    levels = to_rgb(picture)  # and not Y' too, which lies between the least and the most of them
    if is_filtered:
        levels = np.stack([filtered(level, is_interlaced=is_interlaced) for level in levels])
    beyond = levels.min(axis=0) < np.float32(ends[0] - half)
    beyond |= levels.max(axis=0) > np.float32(ends[1] + half)
    return Judged(beyond, float(beyond.mean()))


def filtered(level: Signal, *, is_interlaced: bool = False) -> Signal:
    """Return a component (h, w) as the filter of EBU R 103 passes it; ends are held beyond the picture."""
    if not is_interlaced:
        return _down(_across(level))
    out = np.empty_like(level)
    for field in (slice(0, None, 2), slice(1, None, 2)):
        out[field] = filtered(level[field])
    return out


def _across(level: Signal) -> Signal:
    """Return 16 times what 1/16 2/16 3/16 4/16 3/16 2/16 1/16 makes of lines: it is 1 1 1 1 twice."""
    found = np.pad(level, ((0, 0), (3, 3)), mode="edge") if level.size else level
    for _ in range(2 if level.size else 0):
        found = found[:, :-1] + found[:, 1:]
        found = found[:, :-2] + found[:, 2:]
    return found


def _down(level: Signal) -> Signal:
    """Return a 16th of what 1/4 2/4 1/4 makes of columns: it is 1 1 twice."""
    if not level.size:
        return level
    found = np.concatenate([level[:1], level, level[-1:]])
    for _ in range(2):
        found = found[:-1] + found[1:]
    found *= np.float32(1 / 64)  # 16 * 4
    return found
