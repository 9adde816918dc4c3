"""Chroma brought up to the raster of luma, and down again, by filters that are each other's inverse.

Where the samples lie is a fact of the coding, not a matter of taste: half a sample of neglect is a coloured
fringe on every edge. And pictures go up and down once a generation: what is lost on the way is lost for good.
Each pair here is a lifting scheme (Sweldens 1996): whatever the way down makes of a picture, it adds nothing
where the picture is what the way up would have said. So down after up gives every sample back.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final, Literal

import numpy as np
from numpy.typing import NDArray

Sited = Literal["first", "middle"]
Signal = NDArray[np.float32]
Weights = tuple[float, ...]

OFFSETS: Final = (-1, 0, 1, 2)  # of the chroma samples that a luma sample reads, from the one that covers it

# Between samples: the cubic through the nearest four (Deslauriers and Dubuc 1989). From memory, as all here.
BETWEEN: Final[Weights] = (-1 / 16, 9 / 16, 9 / 16, -1 / 16)
# What a column lies off that cubic goes, halved, to the samples on both sides: the transform (4, 4) of
# Calderbank, Daubechies, Sweldens and Yeo 1998.
UPDATE: Final[Weights] = (-1 / 32, 9 / 32, 9 / 32, -1 / 32)
# A sample that is the mean of two rows: they lie off it by as much as their neighbours' means slope (average
# interpolation, Donoho 1993; the biorthogonal pair 1, 3 of Cohen, Daubechies and Feauveau 1992).
SLOPE: Final = 1 / 8
ITSELF: Final[Weights] = (0.0, 1.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True)
class Siting:
    """Where a chroma sample lies among the luma samples it covers, across and down."""

    across: Sited
    down: Sited


# ITU-T H.264 annex E, figure E-1, types 0 to 2, and ITU-T H.262 clause 6.1.1.8: both from memory.
LEFT: Final = Siting("first", "middle")
CENTRE: Final = Siting("middle", "middle")
TOP_LEFT: Final = Siting("first", "first")


def weights(factor: int, sited: Sited) -> tuple[Weights, ...]:
    """Return, for each luma sample that a chroma sample covers, its weights of the samples at OFFSETS.

    Of one in four (4:1:1, 4:1:0), which no master is written in, straight lines serve.
    """
    if factor == 2:
        return (
            (ITSELF, BETWEEN) if sited == "first" else ((SLOPE, 1.0, -SLOPE, 0.0), (-SLOPE, 1.0, SLOPE, 0.0))
        )
    offset = (factor - 1) / 2 if sited == "middle" else 0.0
    places = [(luma - offset) / factor for luma in range(factor)]
    return tuple(tuple(max(0.0, 1 - abs(at - sample)) for sample in OFFSETS) for at in places)


@dataclass(frozen=True, slots=True)
class Taps:
    """For every luma sample of a line: which chroma samples it reads, (n, 4), and their weights, (n, 4)."""

    samples: NDArray[np.int64]
    weights: Signal


def taps(luma: int, chroma: int, factor: int, sited: Sited, by: Sequence[Weights] = ()) -> Taps:
    """Return the taps of a line of `luma` samples over one of `chroma`, whose ends are held beyond it.

    The weights are ours, or those given.
    """
    at = np.arange(luma)
    samples = np.clip(at[:, None] // factor + np.array(OFFSETS), 0, chroma - 1)
    read = np.array(by or weights(factor, sited), np.float32)[at % factor]
    if is_alone(luma, factor, sited):
        read[-1] = ITSELF
    return Taps(samples.astype(np.int64), read)


def is_alone(luma: int, factor: int, sited: Sited) -> bool:
    """Say whether the last luma sample of a line has a chroma sample to itself that is the mean of two."""
    return factor == 2 and sited == "middle" and luma % 2 == 1


def weighted(samples: Sequence[Any], by: Sequence[Any]) -> Any:
    """Return the sum of `samples`, each times its weight, added in order; what has no weight is left out."""
    parts = [s * w for s, w in zip(samples, by, strict=True) if not isinstance(w, float) or w]
    total = parts[0]
    for part in parts[1:]:
        total += part
    return total


def rows(plane: NDArray[Any], read: Taps, band: slice | NDArray[np.intp]) -> Signal:
    """Return a chroma plane (h, w) at the luma rows of `band`, as float32 codes."""
    samples = (plane[read.samples[band, n]].astype(np.float32) for n in range(len(OFFSETS)))
    found: Signal = weighted(list(samples), [read.weights[band, n, None] for n in range(len(OFFSETS))])
    return found


def across(chroma: Signal, width: int, factor: int, sited: Sited) -> Signal:
    """Return chroma (h, ceil(width / factor)) at every luma column, (h, width)."""
    if factor == 1:
        return chroma
    out = np.empty((chroma.shape[0], width), np.float32)
    for phase, by in enumerate(weights(factor, sited)[:width]):
        into = out[:, phase::factor]
        into[:] = _beside(chroma, OFFSETS, by)[:, : into.shape[1]]
    if is_alone(width, factor, sited):
        out[:, -1] = chroma[:, -1]
    return out


def mean_weights(factor: int, sited: Sited) -> Weights:
    """Return the weights of the samples at OFFSETS in the mean of the luma samples that one covers."""
    return tuple(sum(by) / factor for by in zip(*weights(factor, sited), strict=True))


def weighted_rows(chroma: Signal, by: Weights) -> Signal:
    """Return `chroma` (h, w) with each sample the sum of those at OFFSETS from it along its row, weighted."""
    return _beside(chroma, OFFSETS, by)


def half_width(chroma: Signal) -> Signal:
    """Return `chroma` (h, w) at every other column, from the first, such that `across` undoes it.

    That is every other column, and what those between lie off their cubic; ends are held. As one filter it
    is (-1, 0, 18, -16, -63, 144, 348, 144, -63, -16, 18, 0, -1) / 512.
    """
    even, odd = chroma[:, 0::2], chroma[:, 1::2]
    if not odd.shape[1]:
        return even.copy()
    off = odd - _beside(even, OFFSETS, BETWEEN)[:, : odd.shape[1]]
    spread = _beside(off, [n - 1 for n in OFFSETS], UPDATE, even.shape[1])
    spread += even
    return spread


def half_height(chroma: Signal) -> Signal:
    """Return the means of pairs of rows of `chroma` (h, w); an odd last row stands for itself."""
    pairs = chroma.shape[0] // 2
    out = chroma[0::2] * np.float32(0.5)
    out[:pairs] += chroma[1::2] * np.float32(0.5)
    if pairs < out.shape[0]:
        out[-1] = chroma[-1]
    return out


def _beside(line: Signal, offsets: Sequence[int], by: Weights, count: int | None = None) -> Signal:
    """Return, for each of `count` places, the weighted sum of the samples of `line` (h, w) at offsets."""
    size = line.shape[1]
    before, after = -offsets[0], offsets[-1] + 1
    wide = np.empty((len(line), before + size + after), np.float32)
    wide[:, before : before + size] = line
    wide[:, :before], wide[:, before + size :] = line[:, :1], line[:, -1:]
    starts = (before + offset for offset in offsets)
    found: Signal = weighted([wide[:, s : s + (count or size)] for s in starts], by)
    return found
