"""The levels that a master keeps to: what lies beyond them, how it is brought in, and how much is cut.

`full` is whatever the codes can hold, `nominal` black to white, `r103` the tolerance of EBU R 103 about that.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from lamphouse.graph.media.codes.encode_planes import Cut, PlaneCoding, chroma_spans, luma_of
from lamphouse.graph.media.codes.ycbcr import LUMA
from lamphouse.nodes.corrections.limit import LIMITS, R103
from lamphouse.nodes.levels import Ends, brought_in
from lamphouse.nodes.trace import Expression, picture

Signal = NDArray[Any]

NOMINAL: Final[Ends] = LIMITS["nominal"]
HELD: Final[dict[str, Ends]] = {"nominal": NOMINAL, "r103": R103}
MEANT: Final = "meant"  # the name of the picture that is to be written
BAND: Final = 64  # rows at a time
# Codes by which a colour may come back beyond what it was: half a code of luma, and half of the difference
# times 2 * (1 - 0.0593) of BT.2020's blue, the largest there is, by 219 / 224.
ROUNDING: Final = 0.5 + 0.5 * 2 * (1 - LUMA["bt2020"][2]) * 219 / 224


@dataclass(frozen=True, slots=True)
class Bounds:
    """From where on a component is cut: one of R', G' and B', or, by a `matrix`, Y', B' - Y' and R' - Y'."""

    matrix: str | None
    lows: tuple[float, float, float]
    highs: tuple[float, float, float]


def bounds_of(coding: PlaneCoding) -> Bounds:
    """Return what cannot be written: half a code beyond the levels that are kept, or beyond the last code."""
    numbers, spans = coding.numbers, [float(coding.numbers.luma_span)] * 3
    zeros, matrix = [numbers.luma_zero] * 3, None
    if coding.levels == "full" and coding.matrix is not None:
        matrix, zeros = coding.matrix, [numbers.luma_zero, *[numbers.chroma_zero] * 2]
        spans[1:] = chroma_spans(coding)
    low, high = HELD.get(coding.levels, (-np.inf, np.inf))
    ends = [
        (
            max(low * span, numbers.lowest - zero) - 0.5,
            min(high * span, numbers.highest - zero) + 0.5,
        )
        for zero, span in zip(zeros, spans, strict=True)
    ]
    lows, highs = ([float(e[n] / span) for e, span in zip(ends, spans, strict=True)] for n in (0, 1))
    return Bounds(matrix, (lows[0], lows[1], lows[2]), (highs[0], highs[1], highs[2]))


def cut_of(meant: Signal, coding: PlaneCoding) -> Cut:
    """Return how many pixels of R'G'B' (3, h, w) cannot be written as they are meant; nan is not counted."""
    bounds, below, above = bounds_of(coding), 0, 0
    with np.errstate(invalid="ignore"):  # infinite less infinite
        for start in range(0, meant.shape[1], BAND):
            parts = _components(meant[:, start : start + BAND], bounds.matrix)
            below += _count(np.less, parts, bounds.lows)
            above += _count(np.greater, parts, bounds.highs)
    return Cut(below, above)


def _components(rgb: Signal, matrix: str | None) -> Signal:
    if matrix is None:
        return rgb
    luma = luma_of(rgb, LUMA[matrix])
    return np.stack([luma, rgb[2] - luma, rgb[0] - luma])


def _count(is_beyond: Any, parts: Signal, ends: tuple[float, ...]) -> int:
    found = is_beyond(parts, np.array(ends, np.float32)[:, None, None])
    return int(np.count_nonzero(found.any(axis=0)))


@lru_cache(maxsize=64)
def look_of(coding: PlaneCoding) -> Expression | None:
    """Return the maths that brings MEANT, R'G'B', in to the levels of `coding`; None where they are full."""
    end = HELD.get(coding.levels)
    if end is None:
        return None
    if end != NOMINAL and coding.matrix is not None:
        room = ROUNDING / coding.numbers.luma_span
        end = end[0] + room, end[1] - room
    weights = np.array(LUMA[coding.matrix or "bt709"])[:, None]
    held: Expression = brought_in(picture(MEANT), weights, NOMINAL, end)
    return held
