"""Chroma brought up to the raster of luma, by straight lines between its samples.

Where the samples lie is a fact of the coding, not a matter of taste: half a sample
of neglect is a coloured fringe on every edge.
"""

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

Place = Literal["first", "middle"]


@dataclass(frozen=True, slots=True)
class Siting:
    """Where a chroma sample lies among the luma samples it covers, across and down."""

    across: Place
    down: Place


# ITU-T H.264 annex E, figure E-1, types 0 to 2, and ITU-T H.262 clause 6.1.1.8: both from memory.
LEFT: Final = Siting("first", "middle")
CENTRE: Final = Siting("middle", "middle")
TOP_LEFT: Final = Siting("first", "first")


def coordinates(
    luma: NDArray[np.intp], factor: int, place: Place, size: int
) -> tuple[NDArray[np.intp], NDArray[np.intp], NDArray[np.float32]]:
    """Return, for luma positions, the chroma samples before and after, and the weight of the one after.

    Beyond the first and the last of `size` chroma samples the outermost one is held.
    """
    offset = (factor - 1) / 2 if place == "middle" else 0.0
    at = (luma - offset) / factor
    before = np.floor(at).astype(np.intp)
    weight = (at - before).astype(np.float32)
    return np.clip(before, 0, size - 1), np.clip(before + 1, 0, size - 1), weight


def rows(
    plane: NDArray[np.generic], wanted: NDArray[np.intp], factor: int, place: Place
) -> NDArray[np.float32]:
    """Return a chroma plane (h, w) at the luma rows `wanted`, as float32 codes (len(wanted), w)."""
    if factor == 1:
        return plane[wanted[0] : wanted[-1] + 1].astype(np.float32)
    before, after, weight = coordinates(wanted, factor, place, len(plane))
    low = plane[before].astype(np.float32)
    high = plane[after].astype(np.float32)
    high -= low
    high *= weight[:, None]
    low += high
    return low


def add_across(into: NDArray[np.float32], chroma: NDArray[np.float32], factor: int, place: Place) -> None:
    """Add chroma (h, ceil(w / factor)) to `into` (h, w), each luma column its interpolated value."""
    if factor == 1:
        into += chroma
        return
    wide = np.empty((chroma.shape[0], chroma.shape[1] + 2), np.float32)
    wide[:, 1:-1] = chroma
    wide[:, 0], wide[:, -1] = chroma[:, 0], chroma[:, -1]
    steps = np.diff(wide, axis=1)
    for phase in range(min(factor, into.shape[1])):
        before, _, weight = coordinates(np.array([phase]) + factor, factor, place, 3)
        columns = into[:, phase::factor]
        start, count = int(before[0]), columns.shape[1]
        columns += wide[:, start : start + count]
        if weight[0]:
            columns += steps[:, start : start + count] * weight[0]
